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
	"github.com/a-h/templ"
	templates "github.com/a-h/templ/parser/v2"
	"golang.org/x/text/language"

	"pinwright/arrange"
	teeth "pinwright/arrange/comb"
	"pinwright/arrange/phrase"
	"pinwright/pinmap"
	"pinwright/pinmap/bench"
	"pinwright/pinmap/indexing"
	"pinwright/pinmap/project"
)

var update = flag.Bool("update", false, "write the list of phrases anew")

// word is what makes a text one of a language: two letters together.
var word = regexp.MustCompile(`\pL\pL`)

// tables gives the words that Go code keeps in English and that are given to say later, by the expression that gives them.
func tables() map[string][]string {
	var labels, inside, units, files, sheets, chosen, named, kept []string
	for name, s := range settings {
		labels, units = append(labels, labelOf(name)), append(units, s.unit)
	}
	for _, label := range labels {
		inside = append(inside, lower(label))
	}
	labels = append(labels, labelOf("excerpt.fromBar"), labelOf("excerpt.toBar"))
	for _, name := range bench.Names() {
		files = append(files, File{Name: name}.words())
	}
	for _, p := range papers {
		sheets = append(sheets, p.Name)
	}
	lists := [][]option{sharings, lengthWords, angleWords, namingWords, roleOptions(project.PartView{}), roleOptions(project.PartView{Percussion: true})}
	for _, list := range slices.Concat(lists, slices.Collect(maps.Values(choices))) {
		for _, o := range list {
			chosen = append(chosen, o.Words)
		}
	}
	for _, o := range slices.Concat(slices.Collect(maps.Values(choices))...) {
		named = append(named, lower(o.Words))
	}
	for _, s := range []Shown{{Lengths: Inches}, {Angles: Sixties}, {Lengths: Inches, Angles: Sixties}} {
		kept = append(kept, s.fieldsTakeMeasures())
	}
	kept = append(kept, Shown{Notes: German}.fieldsTakeNames())
	return map[string][]string{
		"labelOf(name)":                  labels,
		"settings[name].label":           labels,
		"lower(field.label)":             inside,
		"settings[name].unit":            units,
		"field.unit":                     units,
		"unit":                           units,
		"bench.About(name)":              files,
		"f.words()":                      files,
		"p.Name":                         sheets,
		"o.Words":                        chosen,
		"lower(choices[name][at].Words)": named,
		"lengthWords[s.Lengths].Words":   {lengthWords[Millimetres].Words, lengthWords[Inches].Words},
		"numerals[n]":                    slices.Concat(numerals[:1], numerals[2:]), // of one thing its phrase says so
		"words":                          kept,
		"string(n.Role)":                 {string(arrange.Lead), string(arrange.Bass), string(arrange.Fill), string(arrange.Off)},
		"t.GovernedBy":                   {string(teeth.Damper), string(teeth.Holes), string(teeth.Measured)},
		"d.bassSide()":                   {Drawing{BassBottom: true}.bassSide(), Drawing{}.bassSide()},
		"moreWords(f)":                   {moreWords(findingView{}), moreWords(findingView{Mending: make([]remedyView, 1)})},
		"foundHead(m.Result)":            {foundHead(&project.Result{ClearToDrill: true}), foundHead(&project.Result{})},
	}
}

// code gives the package's Go files, those of the templates too, without tests.
func code(t *testing.T) map[string]*ast.File {
	t.Helper()
	paths, err := filepath.Glob("*.go")
	if err != nil || len(paths) < 20 {
		t.Fatal(paths, err)
	}
	files := map[string]*ast.File{}
	for _, path := range paths {
		if strings.HasSuffix(path, "_test.go") {
			continue
		}
		if files[path], err = parser.ParseFile(token.NewFileSet(), path, nil, 0); err != nil {
			t.Fatal(err)
		}
	}
	return files
}

// spoken gives all phrases of the package: what is said as it stands, and the tables.
func spoken(t *testing.T) []string {
	t.Helper()
	all, used, said := map[string]bool{}, map[string]bool{}, tables()
	for path, file := range code(t) {
		ast.Inspect(file, func(n ast.Node) bool {
			phrases, values := saying(n)
			for i, expression := range phrases {
				phrase, is := literal(expression)
				if !is {
					table := types.ExprString(expression)
					if said[table] == nil {
						t.Errorf("%s says %s, which is neither a phrase nor one of the tables", path, table)
					}
					for _, words := range said[table] {
						if word.MatchString(words) { // else a sign, such as °
							all[words] = true
						}
					}
					used[table] = true
					continue
				}
				all[phrase] = true
				var want []string
				for i := range values {
					want = append(want, "{"+strconv.Itoa(i+1)+"}")
				}
				got := blanksOf(phrase)
				if one := len(phrases) == 2 && i == 0; one && !slices.ContainsFunc(got, func(blank string) bool { return !slices.Contains(want[1:], blank) }) {
					continue // has its number in words, and need not have all that many have
				}
				if !slices.Equal(got, want) {
					t.Errorf("%s: %q has the values %v and is given %d", path, phrase, got, len(want))
				}
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

// saying gives what a call says, two phrases where they are for one and for many, and how many values they have. One that hands on what it was
// given itself says nothing.
func saying(n ast.Node) (phrases []ast.Expr, values int) {
	call, is := n.(*ast.CallExpr)
	if !is || call.Ellipsis.IsValid() {
		return nil, 0
	}
	switch name, n := types.ExprString(call.Fun), len(call.Args); {
	case name == "say" && n >= 2:
		return call.Args[1:2], n - 2
	case (name == "phrase.Of" || strings.HasSuffix(name, ".say")) && n >= 1:
		return call.Args[:1], n - 1
	case strings.HasSuffix(name, ".count") && n >= 3:
		return call.Args[1:3], n - 2
	}
	return nil, 0
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

// shownAttributes are those whose words a reader meets.
var shownAttributes = []string{"alt", "aria-description", "aria-label", "aria-roledescription", "aria-valuetext", "label", "placeholder", "title"}

func TestTemplatesHoldNoBareText(t *testing.T) {
	paths, err := filepath.Glob("*.templ")
	if err != nil || len(paths) < 10 {
		t.Fatal(paths, err)
	}
	for _, path := range paths {
		file, err := templates.Parse(path)
		if err != nil {
			t.Fatal(err)
		}
		for _, n := range file.Nodes {
			if template, is := n.(*templates.HTMLTemplate); is {
				for _, bare := range bareText(t, template.Children) {
					t.Errorf("%s: %q is not said in the reader's language", path, bare)
				}
			}
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
		{"a value of a count", `<p>{ s.count(n, "one bell, {2}", "{1} bells, {2}", "of brass") }</p>`, "of brass"},
		{"what is made of a phrase", `<p>{ sentence(s.say("some words")) + "and" }</p>`, "and"},
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
		said, _ := saying(n)
		for _, p := range said {
			phrase[p] = true
		}
		if text, is := literal(n); is && !phrase[n] {
			found = append(found, text)
		}
		return true
	})
	return found
}

// TestCodeHoldsNoBareText looks for what Go code says past the catalogue: texts of more than one word. Those of one word are met on the pages.
func TestCodeHoldsNoBareText(t *testing.T) {
	kept := slices.Concat(slices.Collect(maps.Values(tables()))...)
	kept = append(kept, " mm") // as Text reads it, which puts the reader's unit in its place
	for path, file := range code(t) {
		if strings.HasSuffix(path, "_templ.go") {
			continue
		}
		for _, text := range bareTexts(file) {
			if !slices.Contains(kept, text) {
				t.Errorf("%s: %q is not said in the reader's language", path, text)
			}
		}
	}
}

// The law sees what it is to see.
func TestBareTextOfCodeIsFound(t *testing.T) {
	for _, row := range []struct{ name, body, want string }{
		{"a sentence", `return "Some words."`, "Some words."},
		{"a piece of one", `return "tooth " + number`, "tooth "},
		{"a format", `return fmt.Sprintf("%d of them", 3)`, "%d of them"},
		{"a value of a phrase", `return s.say("In {1}", "some words")`, "some words"},
		{"a fault", `return &FieldError{"bars", phrase.Text("Some words.")}`, "Some words."},
		{"phrases", `return s.say("some words") + s.count(2, "one word", "{1} words") + phrase.Of("more words") + say(ctx, "some words")`, ""},
		{"what no reader meets", `if bad { panic("web: some words") }; return fmt.Errorf("some words %w", err)`, ""},
		{"one word", `return "hidden" + " · "`, ""},
		{"a path", `return fmt.Sprintf("M%s %sL%s %sz", a, b, c, d)`, ""},
	} {
		t.Run(row.name, func(t *testing.T) {
			file, err := parser.ParseFile(token.NewFileSet(), "", "package web\nfunc x() any {\n"+row.body+"\n}\nfunc xClass() string { return \"some class\" }", 0)
			if err != nil {
				t.Fatal(err)
			}
			if got := strings.Join(bareTexts(file), "|"); got != row.want {
				t.Errorf("found %q, want %q", got, row.want)
			}
		})
	}
}

// verbs are those of a format.
var verbs = regexp.MustCompile(`%[a-z]`)

// bareTexts gives the texts in Go code, with a space in them, that are no phrases. Errors are for the operator, and classes for the style sheet.
func bareTexts(file *ast.File) (found []string) {
	phrases := map[ast.Node]bool{}
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.FuncDecl:
			return !strings.HasSuffix(n.Name.Name, "Class")
		case *ast.Field: // its tag
			return false
		case *ast.CallExpr:
			if name := types.ExprString(n.Fun); name == "panic" || name == "fmt.Errorf" || name == "regexp.MustCompile" {
				return false
			}
			said, _ := saying(n)
			for _, p := range said {
				phrases[p] = true
			}
		case *ast.BasicLit:
			if text, is := literal(n); is && !phrases[n] && word.MatchString(verbs.ReplaceAllString(text, " ")) && strings.Contains(text, " ") {
				found = append(found, text)
			}
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
		{"what the core says", ShownIn(german).Say(phrase.Of("{1} of {2}", phrase.Of("one"), 2)), "von 2 eins"},
		{"what the core says, in English", ShownIn(t.Context()).Say(phrase.Of("{1} of {2}", phrase.Of("one"), 2)), "one of 2"},
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
	all, err := Languages()
	if err != nil || len(all) != len(files)-2 || all[0].Tag != "en" { // scripts.json and core.json are no languages, but the lists of what scripts and the core say
		t.Errorf("%d languages of %d files: %v", len(all), len(files), err)
	}
	for _, l := range all {
		if _, err := language.Parse(l.Tag); err != nil {
			t.Errorf("%q is no tag: %v", l.Tag, err)
		}
		if again, err := LanguageOf(l.Tag); err != nil || again.Tag != l.Tag || !maps.Equal(again.Phrases, l.Phrases) {
			t.Errorf("%s: %q, %v", l.Tag, again.Tag, err)
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
	return renderPage(t, l, pages()[page])
}

func renderPage(t *testing.T, l Language, page templ.Component) *goquery.Document {
	t.Helper()
	var b bytes.Buffer
	if err := page.Render(WithLanguage(t.Context(), l), &b); err != nil {
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

// foreign is what the pages of the tests hold in English that is not of this package: what a user or a file is called, and what the core and the
// server say.
func foreign() []string {
	r, a, s := result(), adviceFor(result()), settling().Settlement
	list := []string{r.Title, "Pinwright"}
	told := append([]phrase.Phrase{r.Tune.Division}, append(r.Tune.Remarks, a.Sentences...)...)
	for _, p := range r.Tune.Parts {
		list = append(list, p.Name)
	}
	for _, f := range slices.Concat(r.Findings, s.Left) {
		told = append(told, f.Text)
		for _, remedy := range f.Remedies {
			told = append(told, remedy.Label, remedy.Effect)
		}
	}
	for _, step := range s.Steps {
		told = append(told, step.Text, step.Label, step.Effect)
	}
	for _, d := range r.Arrangement.Dropped {
		told = append(told, d.Reason)
	}
	for _, d := range r.Decisions {
		told = append(told, d.Text)
	}
	for _, p := range told {
		list = append(list, p.String())
	}
	list = slices.Concat(list, bench.Names(), []string{"C5 in bar 3 left out", "There is no project at this address", "Check the link.", "This is not a MIDI file", "Give a Standard MIDI File.",
		"The diameter is 500 mm", "Give 3 to 400 mm.", "The ratio is 0", "Give 1 to 1000."})
	b := r.Setup.Bench
	b.Method = pinmap.Head
	table := indexing.Of(b, r.Cylinder.Cylinder, r.Cylinder.RevolutionMs, r.Pins)
	for _, row := range table.Rows { // words for the bench
		list = append(list, table.Setting(row), table.MoveWords(row))
	}
	slices.SortFunc(list, func(a, b string) int { return len(b) - len(a) }) // a longer one before what it holds
	return slices.DeleteFunc(list, func(text string) bool { return text == "" })
}

// markedBetween is a language that sets what stands between the values of a phrase between marks, so that a value is seen.
func markedBetween(t *testing.T) Language {
	t.Helper()
	l := marked(t)
	for phrase := range l.Phrases {
		l.Phrases[phrase] = "«" + blanks.ReplaceAllString(phrase, "»$0«") + "»"
	}
	return l
}

var markedOff = regexp.MustCompile(`«[^«»]*»`)

// unsaid gives what of a text is not between marks.
func unsaid(text string) string { return markedOff.ReplaceAllString(text, " ") }

// The pages are said in full: what is left when phrases and what is not of this package are taken away has no word.
func TestPagesAreSaidInFull(t *testing.T) {
	l, others := markedBetween(t), foreign()
	for name, page := range pages() {
		t.Run(name, func(t *testing.T) {
			doc, texts := renderPage(t, l, page), 0
			check := func(text string) {
				left := unsaid(strings.ReplaceAll(text, "\u00a0", " "))
				if strings.Contains(text, "«") {
					texts++
				}
				for _, other := range others {
					left = strings.ReplaceAll(strings.ReplaceAll(left, other, " "), sentence(other), " ")
				}
				if word.MatchString(left) {
					t.Errorf("%q is in English, in %q", strings.TrimSpace(left), text)
				}
			}
			doc.Find("script, style").Remove()
			doc.Find("title, body *").Contents().Each(func(_ int, s *goquery.Selection) {
				if goquery.NodeName(s) == "#text" {
					check(s.Text())
				}
			})
			for _, attribute := range shownAttributes {
				doc.Find("[" + attribute + "]").Each(func(_ int, s *goquery.Selection) { check(s.AttrOr(attribute, "")) })
			}
			doc.Find("meta[name=description], meta[property='og:description'], meta[property='og:image:alt']").Each(func(_ int, s *goquery.Selection) { check(s.AttrOr("content", "")) })
			if texts < 3 {
				t.Errorf("%d texts were looked at", texts)
			}
		})
	}
}
