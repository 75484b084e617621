package main

import (
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"pinwright/pinmap/project"
	"pinwright/web"
)

// TestTheLanguageIsTheReaders goes through a catalogue made up: the tag on the page, the words, and what is kept of it.
func TestTheLanguageIsTheReaders(t *testing.T) {
	made := func(tag, words string) web.Language {
		return web.Language{Tag: tag, Phrases: map[string]string{"To the work": words}}
	}
	some := []web.Language{{Tag: "en"}, made("de", "Zur Arbeit"), made("pt-BR", "Ao trabalho")}
	for _, row := range []struct {
		name, accept string
		all          []web.Language
		tag, words   string
	}{
		{"asks for nothing", "", some, "en", "To the work"},
		{"asks for English", "en-GB,en;q=0.9,de;q=0.5", some, "en", "To the work"},
		{"asks for another", "de", some, "de", "Zur Arbeit"},
		{"with a region", "de-CH", some, "de", "Zur Arbeit"},
		{"by its weight", "en;q=0.4, de;q=0.7", some, "de", "Zur Arbeit"},
		{"another region's", "pt", some, "pt-BR", "Ao trabalho"},
		{"the next that there is", "ja, pt-BR;q=0.8, en;q=0.1", some, "pt-BR", "Ao trabalho"},
		{"one that there is not", "ja", some, "en", "To the work"},
		{"no language at all", ";;q=x,\xff", some, "en", "To the work"},
		{"very many", strings.Repeat("de-x-a,", 5000), some, "en", "To the work"},
		{"there is English only", "de", some[:1], "en", "To the work"},
	} {
		t.Run(row.name, func(t *testing.T) {
			page := inLanguage(row.all)(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
				if err := web.Home(web.HomeModel{}).Render(r.Context(), w); err != nil {
					t.Error(err)
				}
			}))
			r := httptest.NewRequest(http.MethodGet, "/", nil)
			r.Header.Set("Accept-Language", row.accept)
			w := httptest.NewRecorder()
			page.ServeHTTP(w, r)
			doc, err := goquery.NewDocumentFromReader(w.Body)
			if err != nil {
				t.Fatal(err)
			}
			if tag := doc.Find("html").AttrOr("lang", ""); tag != row.tag {
				t.Errorf("the page is in %q; want %q", tag, row.tag)
			}
			if words := doc.Find("a.skip").Text(); words != row.words {
				t.Errorf("it says %q; want %q", words, row.words)
			}
			if varies := slices.Contains(w.Header().Values("Vary"), "Accept-Language"); varies != (len(row.all) > 1) {
				t.Errorf("of %d languages the answer varies: %v", len(row.all), varies)
			}
		})
	}
}

// TestARefusalIsSaidInTheReadersLanguage: what a form is refused for is written where no reader is known.
func TestARefusalIsSaidInTheReadersLanguage(t *testing.T) {
	german := web.Language{Tag: "de", Phrases: map[string]string{"{1} is not a whole number.": "{1} ist keine ganze Zahl."}}
	_, err := web.DecisionFromForm(map[string][]string{"comb.teeth": {"many"}}, project.DefaultSetup())
	f := faultOf(err)
	if want := `"many" is not a whole number.`; f.detail != want || f.told(t.Context()) != want {
		t.Errorf("in English %q and %q; want %q", f.detail, f.told(t.Context()), want)
	}
	if got, want := f.told(web.WithLanguage(t.Context(), german)), `"many" ist keine ganze Zahl.`; got != want {
		t.Errorf("%q; want %q", got, want)
	}
}
