package web

import (
	"embed"
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strings"
)

// catalogue holds the lists of all phrases, en.json those of the pages, core.json those of the core and scripts.json those of the scripts, which
// tests keep, and for every other language its phrases by the English ones.
//
//go:embed catalogue/*.json
var catalogue embed.FS

// LanguageOf gives the language of a tag, exactly as its file in the catalogue is named. Errors say what the file lacks or has too much; there
// is one too where no file has that tag.
func LanguageOf(tag string) (Language, error) {
	if tag == "en" {
		return Language{Tag: tag}, nil
	}
	known, err := phrases("en")
	if err != nil {
		return Language{}, err
	}
	core, err := phrases("core")
	if err != nil {
		return Language{}, err
	}
	scripts, err := phrases("scripts")
	if err != nil {
		return Language{}, err
	}
	file, err := catalogue.ReadFile("catalogue/" + tag + ".json")
	if err != nil {
		return Language{}, fmt.Errorf("no language %q: %w", tag, err)
	}
	l, err := readLanguage(tag, file, slices.Concat(known, core, scripts))
	if err != nil {
		return Language{}, err
	}
	l.scripts = l.of(scripts)
	return l, nil
}

// Languages gives all languages of the catalogue, English first, the others by their tags. Errors are those of LanguageOf.
func Languages() ([]Language, error) {
	files, err := catalogue.ReadDir("catalogue")
	if err != nil {
		return nil, err
	}
	all := []Language{{Tag: "en"}}
	for _, file := range files {
		tag := strings.TrimSuffix(file.Name(), ".json")
		if tag == "en" || tag == "core" || tag == "scripts" { // the lists of what is said
			continue
		}
		l, err := LanguageOf(tag)
		if err != nil {
			return nil, err
		}
		all = append(all, l)
	}
	return all, nil
}

// of gives the phrases of a list that the language has.
func (l Language) of(list []string) map[string]string {
	some := map[string]string{}
	for _, phrase := range list {
		if said, ok := l.Phrases[phrase]; ok {
			some[phrase] = said
		}
	}
	return some
}

// phrases gives the phrases of a list, in English, sorted.
func phrases(list string) (all []string, err error) {
	file, err := catalogue.ReadFile("catalogue/" + list + ".json")
	if err == nil {
		err = json.Unmarshal(file, &all)
	}
	return all, err
}

// blanks are the places of values in a phrase.
var blanks = regexp.MustCompile(`\{[0-9]+\}`)

// blanksOf gives the places in a phrase, each once, sorted.
func blanksOf(phrase string) []string {
	list := blanks.FindAllString(phrase, -1)
	slices.Sort(list)
	return slices.Compact(list)
}

// readLanguage reads a file of phrases by the English ones. It may lack some. A phrase that is not known, an empty one and one whose places of
// values are not those of the English one are errors.
func readLanguage(tag string, file []byte, known []string) (Language, error) {
	l := Language{Tag: tag}
	if err := json.Unmarshal(file, &l.Phrases); err != nil {
		return Language{}, fmt.Errorf("language %q: %w", tag, err)
	}
	for _, phrase := range sortedKeys(l.Phrases) {
		said := l.Phrases[phrase]
		switch want, got := blanksOf(phrase), blanksOf(said); {
		case !slices.Contains(known, phrase):
			return Language{}, fmt.Errorf("language %q: no page has the phrase %q", tag, phrase)
		case said == "":
			return Language{}, fmt.Errorf("language %q: %q is said by nothing; leave it out to have it in English", tag, phrase)
		case !slices.Equal(want, got):
			return Language{}, fmt.Errorf("language %q: %q has the values %v, %q has %v", tag, phrase, want, said, got)
		}
	}
	return l, nil
}
