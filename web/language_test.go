package web

import (
	"bytes"
	"encoding/json"
	"flag"
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"html"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	templates "github.com/a-h/templ/parser/v2"

	"pinwright/arrange"
	teeth "pinwright/arrange/comb"
	"pinwright/arrange/phrase"
	"pinwright/pinmap/project"
)

var update = flag.Bool("update", false, "write the list of phrases anew")

// word is what makes a text one of a language: two letters together.
var word = regexp.MustCompile(`\pL\pL`)

// tables gives the words that Go code keeps in English and templates give to say, by the expression that they give.
func tables() map[string][]string {
	var labels, units, files, sheets, chosen, kept []string
	for name, s := range settings {
		labels, units = append(labels, labelOf(name)), append(units, s.unit)
	}
	labels = append(labels, labelOf("excerpt.fromBar"), labelOf("excerpt.toBar"))
	for _, name := range sortedKeys(fileWords) {
		files = append(files, File{Name: name}.words())
	}
	for _, p := range papers {
		sheets = append(sheets, p.Name)
	}
	lists := [][]option{lengthWords, angleWords, namingWords, roleOptions(project.PartView{}), roleOptions(project.PartView{Percussion: true})}
	for _, list := range slices.Concat(lists, slices.Collect(maps.Values(choices))) {
		for _, o := range list {
			chosen = append(chosen, o.Words)
		}
	}
	for _, s := range []Shown{{Lengths: Inches}, {Angles: Sixties}, {Lengths: Inches, Angles: Sixties}} {
		kept = append(kept, s.fieldsTakeMeasures())
	}
	kept = append(kept, Shown{Notes: German}.fieldsTakeNames())
	return map[string][]string{
		"labelOf(name)":             labels,
		"settings[name].unit":       units,
		"unit":                      units,
		"fileWords[name]":           files,
		"f.words()":                 files,
		"p.Name":                    sheets,
		"o.Words":                   chosen,
		"words":                     kept,
		"string(n.Role)":            {string(arrange.Lead), string(arrange.Bass), string(arrange.Fill), string(arrange.Off)},
		"t.GovernedBy":              {string(teeth.Damper), string(teeth.Holes), string(teeth.Measured)},
		"them(v.Result.Comb.Spare)": {them(1), them(2)},
		"d.bassSide()":              {Drawing{BassBottom: true}.bassSide(), Drawing{}.bassSide()},
		"moreWords(f)":              {moreWords(findingView{}), moreWords(findingView{Mending: make([]remedyView, 1)})},
		"foundHead(m.Result)":       {foundHead(&project.Result{ClearToDrill: true}), foundHead(&project.Result{})},
	}
}

// spoken gives all phrases of the package: what is given to say as it stands, and the tables.
func spoken(t *testing.T) []string {
	t.Helper()
	paths, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	all, used, said := map[string]bool{}, map[string]bool{}, tables()
	for _, path := range paths {
		if strings.HasSuffix(path, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			call, is := isSay(n)
			if !is {
				return true
			}
			phrase, is := literal(call.Args[1])
			if !is {
				table := types.ExprString(call.Args[1])
				if said[table] == nil {
					t.Errorf("%s says %s, which is neither a phrase nor one of the tables", path, table)
				}
				for _, words := range said[table] {
					if word.MatchString(words) { // else a sign, such as °
						all[words] = true
					}
				}
				used[table] = true
				return true
			}
			all[phrase] = true
			var want []string
			for i := range call.Args[2:] {
				want = append(want, "{"+strconv.Itoa(i+1)+"}")
			}
			if got := blanksOf(phrase); !slices.Equal(got, want) {
				t.Errorf("%s: %q has the values %v and is given %d", path, phrase, got, len(want))
			}
			return true
		})
	}
	for table := range said {
		if !used[table] {
			t.Errorf("nothing says the table %s", table)
		}
	}
	return sortedKeys(all)
}

func isSay(n ast.Node) (*ast.CallExpr, bool) {
	call, is := n.(*ast.CallExpr)
	if !is {
		return nil, false
	}
	name, is := call.Fun.(*ast.Ident)
	return call, is && name.Name == "say" && len(call.Args) >= 2
}

func literal(n ast.Node) (string, bool) {
	l, is := n.(*ast.BasicLit)
	if !is || l.Kind != token.STRING {
		return "", false
	}
	text, err := strconv.Unquote(l.Value)
	return text, err == nil
}

// told gives all phrases of the core: what is given to phrase.Of, which must stand there as it is.
func told(t *testing.T) []string {
	t.Helper()
	all := map[string]bool{}
	read := func(path string, _ fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		if err != nil {
			return err
		}
		ast.Inspect(file, func(n ast.Node) bool {
			call, is := n.(*ast.CallExpr)
			if !is || types.ExprString(call.Fun) != "phrase.Of" {
				return true
			}
			words, is := whole(call.Args[0])
			if !is {
				t.Errorf("%s tells %s, which is not written out", path, types.ExprString(call.Args[0]))
				return true
			}
			all[words] = true
			var want []string
			for i := range call.Args[1:] {
				want = append(want, "{"+strconv.Itoa(i+1)+"}")
			}
			if got := blanksOf(words); !slices.Equal(got, want) {
				t.Errorf("%s: %q has the values %v and is given %d", path, words, got, len(want))
			}
			return true
		})
		return nil
	}
	for _, tree := range []string{"../arrange", "../pinmap"} {
		if err := filepath.WalkDir(tree, read); err != nil {
			t.Fatal(err)
		}
	}
	return sortedKeys(all)
}

// whole is literal for a text that may be put together of several.
func whole(n ast.Node) (string, bool) {
	sum, is := n.(*ast.BinaryExpr)
	if !is || sum.Op != token.ADD {
		return literal(n)
	}
	a, written := whole(sum.X)
	b, too := whole(sum.Y)
	return a + b, written && too
}

func TestCatalogue(t *testing.T) {
	keepList(t, "catalogue/en.json", spoken(t))
	keepList(t, "catalogue/core.json", told(t))
}

// keepList holds a file to a list of phrases.
func keepList(t *testing.T, path string, list []string) {
	t.Helper()
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(list); err != nil {
		t.Fatal(err)
	}
	if *update {
		if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if old, err := os.ReadFile(path); err != nil || !bytes.Equal(old, b.Bytes()) {
		t.Errorf("%s is not the list of the phrases as they stand (%v); run go test ./web -run TestCatalogue -update", path, err)
	}
}

// Words that stand in a template without say, and may: the name, which is the same in every language.
var names = []string{"Pinwright", " · Pinwright"}

// These are given to count, which makes English of them. To be said in other languages each needs its forms for one and for many there.
var counted = []string{"finding more is", "findings more are", "remedy", "remedies", "note more has", "notes more have", "tooth stays", "teeth stay", "more is", "more are", "more"}

// shownAttributes are those whose words a reader meets.
var shownAttributes = []string{"alt", "aria-description", "aria-label", "aria-roledescription", "aria-valuetext", "label", "placeholder", "title"}

func TestTemplatesHoldNoBareText(t *testing.T) {
	paths, err := filepath.Glob("*.templ")
	if err != nil || len(paths) < 10 {
		t.Fatal(paths, err)
	}
	counts := map[string]bool{}
	for _, path := range paths {
		file, err := templates.Parse(path)
		if err != nil {
			t.Fatal(err)
		}
		for _, n := range file.Nodes {
			if template, is := n.(*templates.HTMLTemplate); is {
				for _, bare := range bareText(t, template.Children) {
					if slices.Contains(counted, bare) {
						counts[bare] = true
					} else {
						t.Errorf("%s: %q is not said in the reader's language", path, bare)
					}
				}
			}
		}
	}
	for _, words := range counted {
		if !counts[words] {
			t.Errorf("%q is listed as bare and stands nowhere", words)
		}
	}
}

// The law sees what it is to see.
func TestBareTextIsFound(t *testing.T) {
	for _, row := range []struct{ name, body, want string }{
		{"text", `<p>Some words</p>`, "Some words"},
		{"text in a branch", "if a {\n<p>Some words</p>\n} else {\n<b>{ b }</b> and\n}", "Some words|and"},
		{"an attribute", `<p aria-label="Some words">{ a }</p>`, "Some words"},
		{"an attribute on a condition", `<p if a { title="Some words" }></p>`, "Some words"},
		{"an expression", `<p>{ "for: " + a }</p>`, "for: "},
		{"an expression of an attribute", `<p title={ "for: " + a }></p>`, "for: "},
		{"an argument", `@part("name", "Some words")`, "Some words"},
		{"a value of a phrase", `<p>{ say(ctx, "In {1}", words(1, "tooth")) }</p>`, "tooth"},
		{"spread attributes", `<p { scrolls(3, "Some words")... }></p>`, "Some words"},
		{"nothing", `<p class="some words">{ say(ctx, "Some words") } 12 % <a title={ say(ctx, "x") }>Pinwright</a></p>`, ""},
	} {
		t.Run(row.name, func(t *testing.T) {
			file, err := templates.ParseString("package web\n\ntempl x() {\n\t" + row.body + "\n}\n")
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for _, n := range file.Nodes {
				if template, is := n.(*templates.HTMLTemplate); is {
					got = append(got, bareText(t, template.Children)...)
				}
			}
			if strings.Join(got, "|") != row.want {
				t.Errorf("found %q, want %q", got, row.want)
			}
		})
	}
}

// bareText gives what stands in a template in words of no language but English.
func bareText(t *testing.T, nodes []templates.Node) (found []string) {
	add := func(text string, is bool) {
		if _, field := settings[text]; is && !field && word.MatchString(text) && !slices.Contains(names, text) {
			found = append(found, text)
		}
	}
	expression := func(code string, arguments bool) {
		for _, text := range literals(t, code) {
			// A name of a file or of a field, which an argument may be too, has no space.
			add(text, !arguments || strings.Contains(strings.TrimSpace(text), " "))
		}
	}
	var attributes func(list []templates.Attribute)
	attributes = func(list []templates.Attribute) {
		for _, a := range list {
			switch a := a.(type) {
			case *templates.ConstantAttribute:
				add(html.UnescapeString(a.Value), slices.Contains(shownAttributes, a.Key.String()))
			case *templates.ExpressionAttribute:
				if slices.Contains(shownAttributes, a.Key.String()) {
					expression(a.Expression.Value, false)
				}
			case *templates.SpreadAttributes:
				expression(a.Expression.Value, true)
			case *templates.ConditionalAttribute:
				attributes(a.Then)
				attributes(a.Else)
			}
		}
	}
	var walk func(list []templates.Node)
	walk = func(list []templates.Node) {
		for _, n := range list {
			switch n := n.(type) {
			case *templates.Text:
				add(strings.TrimSpace(html.UnescapeString(n.Value)), true)
			case *templates.StringExpression:
				expression(n.Expression.Value, false)
			case *templates.TemplElementExpression:
				expression(n.Expression.Value, true)
				walk(n.Children)
			case *templates.CallTemplateExpression:
				expression(n.Expression.Value, true)
			case *templates.Element:
				attributes(n.Attributes)
				walk(n.Children)
			case *templates.IfExpression:
				walk(n.Then)
				for _, e := range n.ElseIfs {
					walk(e.Then)
				}
				walk(n.Else)
			case *templates.SwitchExpression:
				for _, c := range n.Cases {
					walk(c.Children)
				}
			case *templates.ForExpression:
				walk(n.Children)
			}
		}
	}
	walk(nodes)
	return found
}

// literals gives the texts of an expression that are not phrases.
func literals(t *testing.T, code string) (found []string) {
	t.Helper()
	expression, err := parser.ParseExpr(code)
	if err != nil {
		t.Fatalf("%s: %v", code, err)
	}
	phrase := map[ast.Node]bool{}
	ast.Inspect(expression, func(n ast.Node) bool {
		if call, is := isSay(n); is {
			phrase[call.Args[1]] = true
		}
		if text, is := literal(n); is && !phrase[n] {
			found = append(found, text)
		}
		return true
	})
	return found
}

func TestSay(t *testing.T) {
	german := WithLanguage(t.Context(), Language{Tag: "de", Phrases: map[string]string{"one": "eins", "{1} of {2}": "von {2} {1}"}})
	for _, row := range []struct {
		name, got, want string
	}{
		{"English is the phrase", say(t.Context(), "one"), "one"},
		{"with values", say(t.Context(), "{1} of {2}", 3, "x"), "3 of x"},
		{"braces of a value stay", say(t.Context(), "{1} of {2}", "{2}", "{1}"), "{2} of {1}"},
		{"braces that are no value stay", say(t.Context(), "{0} {2} {x} {1} {", 3), "{0} {2} {x} 3 {"},
		{"another language", say(german, "one"), "eins"},
		{"in its own order", say(german, "{1} of {2}", 3, "x"), "von x 3"},
		{"what it lacks", say(german, "two {1}", 2), "two 2"},
		{"what the core says", tell(german, phrase.Of("{1} of {2}", phrase.Of("one"), 2)), "von 2 eins"},
		{"what the core says, in English", tell(t.Context(), phrase.Of("{1} of {2}", phrase.Of("one"), 2)), "one of 2"},
		{"the zero language", say(WithLanguage(german, Language{}), "one"), "one"},
	} {
		if row.got != row.want {
			t.Errorf("%s: %q, want %q", row.name, row.got, row.want)
		}
	}
}

func TestReadLanguage(t *testing.T) {
	known := []string{"{1} of {2}", "one"}
	for _, row := range []struct{ name, file, fault string }{
		{"all", `{"one":"eins","{1} of {2}":"von {2} {1}"}`, ""},
		{"a part", `{"one":"eins"}`, ""},
		{"a value twice", `{"{1} of {2}":"{1}, von {2} {1}"}`, ""},
		{"not known", `{"two":"zwei"}`, `"two"`},
		{"nothing said", `{"one":""}`, "by nothing"},
		{"a value missing", `{"{1} of {2}":"{1}"}`, "[{1} {2}]"},
		{"a value too many", `{"one":"{1}"}`, "[{1}]"},
		{"no object", `["one"]`, "cannot unmarshal"},
	} {
		l, err := readLanguage("de", []byte(row.file), known)
		switch {
		case row.fault == "" && (err != nil || l.Tag != "de" || len(l.Phrases) == 0):
			t.Errorf("%s: %v, %v", row.name, l, err)
		case row.fault != "" && (err == nil || !strings.Contains(err.Error(), row.fault) || l.Phrases != nil):
			t.Errorf("%s: %v, %v; want an error with %s", row.name, l, err, row.fault)
		}
	}
}

func TestLanguages(t *testing.T) {
	files, err := fs.Glob(catalogue, "catalogue/*.json")
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		tag := strings.TrimSuffix(strings.TrimPrefix(file, "catalogue/"), ".json")
		if tag == "scripts" || tag == "core" {
			continue // no languages, but the lists of what scripts and the core say
		}
		if l, err := LanguageOf(tag); err != nil || l.Tag != tag {
			t.Errorf("%s: %q, %v", file, l.Tag, err)
		}
	}
	for _, tag := range []string{"", "xx", "../catalogue/en", "en/", "scripts", "core"} {
		if l, err := LanguageOf(tag); err == nil {
			t.Errorf("there is a language %q: %v", tag, l)
		}
	}
}

// marked is a language that sets every phrase between marks.
func marked(t *testing.T) Language {
	t.Helper()
	pages, err := phrases("en")
	if err != nil {
		t.Fatal(err)
	}
	scripts, err := phrases("scripts")
	if err != nil {
		t.Fatal(err)
	}
	core, err := phrases("core")
	if err != nil {
		t.Fatal(err)
	}
	l := Language{Tag: "qaa", Phrases: map[string]string{}}
	for _, phrase := range slices.Concat(pages, core, scripts) {
		l.Phrases[phrase] = "«" + phrase + "»"
	}
	l.scripts = l.of(scripts)
	return l
}

func renderIn(t *testing.T, l Language, page string) *goquery.Document {
	t.Helper()
	var b bytes.Buffer
	if err := pages()[page].Render(WithLanguage(t.Context(), l), &b); err != nil {
		t.Fatal(err)
	}
	doc, err := goquery.NewDocumentFromReader(&b)
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

func TestPagesSpeakTheLanguageOfTheirReader(t *testing.T) {
	l := marked(t)
	for page, want := range map[string][]string{
		"home":     {"«Lay out this tune»", "«Small drills break. Wear eye protection, feed slowly, and wear no gloves near the spindle.»"},
		"project":  {"«Bare diameter»", "«mm»", "«Fills the turn»", "«{1} ticks a quarter note»", "«1 track without End of Track (track {1}, byte {2}).»", "«{1} of {2}»", "«From bar»", "«Circumference {1} at the bare surface, {2} over the paper. Length {3}. A pin carries its tooth through {4} before it drops.»", "«damper»", "«decimal degrees, 12.34°»"},
		"view":     {"«Copy as my own»", "«every hole: angle, arc, distance from the bass-end face»", "«What stands in the way, and what was changed»"},
		"error":    {"«To the first page»", "«Answer {1}.»"},
		"advised":  {"«What each tooth brings»", "«lost without it»"},
		"settling": {"«Do all of this»"},
	} {
		t.Run(page, func(t *testing.T) {
			doc := renderIn(t, l, page)
			if got := doc.Find("html").AttrOr("lang", ""); got != "qaa" {
				t.Errorf("the page says that it is in %q", got)
			}
			text := strings.Join(strings.Fields(doc.Text()), " ")
			for _, phrase := range want {
				pattern := blanks.ReplaceAllString(phrase, "\x00")
				pattern = strings.ReplaceAll(regexp.QuoteMeta(pattern), "\x00", ".{1,40}?")
				if !regexp.MustCompile(pattern).MatchString(text) {
					t.Errorf("it does not say %s", phrase)
				}
			}
		})
	}
}

// The page brings its scripts what they say; in English they need nothing.
func TestPagesBringTheWordsOfTheirScripts(t *testing.T) {
	l := marked(t)
	for _, page := range []string{"home", "project", "view"} {
		var said map[string]string
		if err := json.Unmarshal([]byte(renderIn(t, l, page).Find("script#words").Text()), &said); err != nil || len(said) != len(l.scripts) || said["datum line"] != "«datum line»" {
			t.Errorf("%s: %d phrases, %v", page, len(said), err)
		}
		if n := renderIn(t, Language{}, page).Find("script#words").Length(); n != 0 {
			t.Errorf("%s: English brings words", page)
		}
	}
}

// The first page is all phrases: nothing on it is left in English.
func TestTheFirstPageIsSaidInFull(t *testing.T) {
	doc := renderIn(t, marked(t), "home")
	texts := 0
	check := func(text string) {
		if text = strings.TrimSpace(text); word.MatchString(text) && text != "Pinwright" {
			texts++
			if !strings.HasPrefix(text, "«") {
				t.Errorf("%q is in English", text)
			}
		}
	}
	doc.Find("title, body *").Contents().Each(func(_ int, s *goquery.Selection) {
		if goquery.NodeName(s) == "#text" {
			check(s.Text())
		}
	})
	for _, attribute := range shownAttributes {
		doc.Find("[" + attribute + "]").Each(func(_ int, s *goquery.Selection) { check(s.AttrOr(attribute, "")) })
	}
	check(doc.Find("meta[name=description]").AttrOr("content", ""))
	if texts < 30 {
		t.Errorf("%d texts were looked at", texts)
	}
}
