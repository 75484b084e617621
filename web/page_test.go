package web

import (
	"bytes"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"github.com/a-h/templ"

	"pinwright/arrange"
	"pinwright/arrange/phrase"
	"pinwright/pinmap"
)

func itoa(n int) string { return strconv.Itoa(n) }

func render(t *testing.T, c templ.Component) *goquery.Document {
	t.Helper()
	var b strings.Builder
	if err := c.Render(t.Context(), &b); err != nil {
		t.Fatal(err)
	}
	doc, err := goquery.NewDocumentFromReader(strings.NewReader(b.String()))
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

func pages() map[string]templ.Component {
	conflict := model()
	conflict.Conflict = &Conflict{Had: 5, Now: 7, Added: []string{"C5 in bar 3 left out"}, Decision: arrange.Decision{Kind: arrange.LeaveOut, Note: "n12"}}
	problem := model()
	problem.Problem = &Problem{Title: "The diameter is 500 mm", Detail: "Give 3 to 400 mm.", Pointer: "/cylinder/diameterMm"}
	clear := model()
	clear.Result.ClearToDrill = true
	clear.Result.Findings = nil
	mistaken := model()
	mistaken.Problem = &Problem{Title: "The ratio is 0", Detail: "Give 1 to 1000.", Pointer: "/bench/headRatio"}
	geared := model()
	geared.Result.Setup.Bench.Method = pinmap.Head
	geared.Files = files("/e/SECRET/files/")
	return map[string]templ.Component{
		"bench":    BenchPage(model()),
		"geared":   BenchPage(geared),
		"mistaken": BenchPage(mistaken),
		"drill":    DrillPage(DrillModel{Result: result(), PageURL: "/e/SECRET/drill", ProjectURL: "/e/SECRET", DrilledURL: "/d"}),
		"home":     Home(HomeModel{MaxMiB: 8}),
		"refused":  Home(HomeModel{Problem: "This is not a MIDI file", Detail: "Give a Standard MIDI File."}),
		"project":  ProjectPage(model()),
		"clear":    ProjectPage(clear),
		"advised":  ProjectPage(advised()),
		"settling": ProjectPage(settling()),
		"looked":   ViewPage(ViewModel{Result: result(), PageURL: "/v/LOOK", CopyURL: "/v/LOOK/copy", Advice: adviceFor(result())}),
		"conflict": ProjectPage(conflict),
		"problem":  ProjectPage(problem),
		"view":     ViewPage(ViewModel{Result: result(), PageURL: "/v/LOOK", CopyURL: "/v/LOOK/copy", Files: files("/v/LOOK/files/")}),
		"error":    ErrorPage(ErrorModel{Status: http.StatusNotFound, Title: "There is no project at this address", Detail: "Check the link."}),
	}
}

func eachPage(t *testing.T, check func(t *testing.T, doc *goquery.Document)) {
	for name, page := range pages() {
		t.Run(name, func(t *testing.T) { check(t, render(t, page)) })
	}
}

func TestEveryControlHasALabel(t *testing.T) {
	eachPage(t, func(t *testing.T, doc *goquery.Document) {
		doc.Find("input, select, textarea").Each(func(_ int, control *goquery.Selection) {
			if kind, _ := control.Attr("type"); kind == "hidden" {
				return
			}
			if control.Closest("label").Length() > 0 {
				return
			}
			id, _ := control.Attr("id")
			label := doc.Find("label").FilterFunction(func(_ int, l *goquery.Selection) bool { return id != "" && l.AttrOr("for", "") == id })
			if label.Length() != 1 || strings.TrimSpace(label.Text()) == "" {
				html, _ := goquery.OuterHtml(control)
				t.Errorf("%d labels for %s", label.Length(), html)
			}
		})
		doc.Find("button, a[href]").Each(func(_ int, control *goquery.Selection) {
			if strings.TrimSpace(control.Text()) == "" && control.AttrOr("aria-label", "") == "" {
				html, _ := goquery.OuterHtml(control)
				t.Errorf("no words on %s", html)
			}
		})
	})
}

func TestIDsAreUniqueAndLinksLeadSomewhere(t *testing.T) {
	eachPage(t, func(t *testing.T, doc *goquery.Document) {
		seen := map[string]bool{}
		doc.Find("[id]").Each(func(_ int, e *goquery.Selection) {
			id := e.AttrOr("id", "")
			if seen[id] {
				t.Errorf("two elements have the id %q", id)
			}
			seen[id] = true
		})
		for _, attribute := range []string{"href", "for", "list", "aria-labelledby", "aria-describedby", "data-copy"} {
			doc.Find("[" + attribute + "]").Each(func(_ int, e *goquery.Selection) {
				value := e.AttrOr(attribute, "")
				if attribute == "href" {
					fragment, is := strings.CutPrefix(value, "#")
					if !is || fragment == "closed" { // an address of nothing closes a panel
						return
					}
					value = fragment
				}
				for id := range strings.FieldsSeq(value) {
					if !seen[id] {
						t.Errorf("%s=%q leads nowhere", attribute, value)
					}
				}
			})
		}
	})
}

func TestNothingOfThePageNeedsALooserPolicy(t *testing.T) {
	eachPage(t, func(t *testing.T, doc *goquery.Document) {
		if n := doc.Find("[style], style").Length(); n != 0 {
			t.Errorf("%d inline styles", n)
		}
		doc.Find("script").Each(func(_ int, e *goquery.Selection) {
			if e.AttrOr("type", "") == "application/json" {
				return // data, which the policy does not let run
			}
			if e.AttrOr("src", "") == "" || e.Text() != "" {
				t.Error("an inline script")
			}
		})
		doc.Find("*").Each(func(_ int, e *goquery.Selection) {
			for _, a := range e.Get(0).Attr {
				if strings.HasPrefix(a.Key, "on") {
					t.Errorf("<%s> has the handler %s", e.Get(0).Data, a.Key)
				}
			}
		})
		doc.Find("[src], link[href]").Each(func(_ int, e *goquery.Selection) {
			at := e.AttrOr("src", "") + e.AttrOr("href", "")
			if !strings.HasPrefix(at, "/static/") {
				t.Errorf("%q is not one of the server's own files", at)
			}
		})
	})
}

func TestEveryPageHasItsFrame(t *testing.T) {
	eachPage(t, func(t *testing.T, doc *goquery.Document) {
		for _, test := range []struct {
			selector string
			want     int
		}{{"html[lang=en]", 1}, {"title", 1}, {"h1", 1}, {"main#project", 1}, {"a.skip", 1}} {
			selection := doc.Find(test.selector)
			if test.selector == "title" {
				selection = doc.Find("head > title")
			}
			if selection.Length() != test.want {
				t.Errorf("%d of %s, want %d", selection.Length(), test.selector, test.want)
			}
		}
		last := 1
		doc.Find("h1, h2, h3").Each(func(_ int, h *goquery.Selection) {
			level := int(goquery.NodeName(h)[1] - '0')
			if level > last+1 {
				t.Errorf("heading %q skips a level", h.Text())
			}
			last = level
		})
	})
}

func TestEveryChangeCarriesTheRevision(t *testing.T) {
	m := model()
	m.Note = m.Result.Tune.Notes[0].ID
	doc := render(t, ProjectPage(m))
	forms := doc.Find("main form")
	if forms.Length() < 10 {
		t.Fatalf("%d forms on the page", forms.Length())
	}
	forms.Each(func(_ int, form *goquery.Selection) {
		want := "/e/SECRET/decisions"
		if form.Closest(".panel").Length() > 0 {
			want += "?note=" + m.Note // which stays open
		}
		if form.AttrOr("method", "") != "post" || form.AttrOr("action", "") != want {
			t.Errorf("a form with method %q and action %q", form.AttrOr("method", ""), form.AttrOr("action", ""))
		}
		if got := form.Find("input[name=revision][type=hidden]").AttrOr("value", ""); got != "4" {
			t.Errorf("a form with revision %q, want 4", got)
		}
	})
}

// Every button must do what it says: the form that it sends is read as a decision.
func TestEveryButtonSendsADecision(t *testing.T) {
	m := model()
	m.Result.CanRedo = true
	buttons := 0
	try := func(_ int, button *goquery.Selection) {
		form := url.Values{button.AttrOr("name", ""): {button.AttrOr("value", "")}}
		button.Closest("form").Find("input[name]").Each(func(_ int, input *goquery.Selection) {
			form.Set(input.AttrOr("name", ""), input.AttrOr("value", ""))
		})
		if form.Get("do") == doPlace {
			form.Set("tooth", "3")
		}
		if form.Get("do") == doAdd {
			form.Set("pitch", "C5")
		}
		if _, err := DecisionFromForm(form, m.Result.Setup); err != nil {
			t.Errorf("%q: %v", strings.TrimSpace(button.Text()), err)
		}
		buttons++
	}
	render(t, ProjectPage(m)).Find("form[data-decide] button[name]").Each(try)
	for _, n := range m.Result.Tune.Notes {
		m.Note = n.ID
		render(t, NotePart(m)).Find("form[data-decide] button[name]").Each(try)
	}
	if buttons < 100 {
		t.Errorf("%d buttons were tried", buttons)
	}
}

// The forms of the setup hold what the setup holds: sent as they stand, they change nothing; and none of its fields is
// left out.
func TestTheFormsOfTheSetupShowAllOfIt(t *testing.T) {
	m := model()
	form := url.Values{}
	read := func(_ int, control *goquery.Selection) {
		value := control.AttrOr("value", "")
		switch goquery.NodeName(control) {
		case "select":
			value = control.Find("option[selected]").AttrOr("value", "")
		case "textarea":
			value = control.Text()
		}
		if _, ticked := control.Attr("checked"); control.AttrOr("type", "") == "checkbox" && !ticked {
			return
		}
		form.Add(control.AttrOr("name", ""), value)
	}
	for _, page := range []templ.Component{ProjectPage(m), BenchPage(m)} {
		render(t, page).Find("form.setup").Find("input, select, textarea").Each(read)
	}
	for name := range formValues(m.Result.Setup) {
		if !form.Has(name) {
			t.Errorf("no form has the field %s", name)
		}
	}
	if change, err := SetupChange(form, m.Result.Setup); err != nil || change != nil {
		t.Errorf("the forms as they stand change %s, %v", change, err)
	}
}

func TestTheViewPageGivesNoWayToChange(t *testing.T) {
	var b strings.Builder
	if err := pages()["view"].Render(t.Context(), &b); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(b.String(), "SECRET") {
		t.Error("the view page holds the edit token")
	}
	doc := render(t, pages()["view"])
	if forms := doc.Find("main form"); forms.Length() != 1 || forms.AttrOr("action", "") != "/v/LOOK/copy" {
		t.Errorf("%d forms, the first to %q; want the one that copies", forms.Length(), forms.AttrOr("action", ""))
	}
	if n := doc.Find("[name=revision], [name=decision], [data-decide]").Length(); n != 0 {
		t.Errorf("%d parts of a form that decides", n)
	}
}

func TestTheFirstScreenAnswersThreeQuestions(t *testing.T) {
	doc := render(t, ProjectPage(model()))
	answers := doc.Find(".answers")
	for _, want := range []string{
		"98 of 101 notes play.",
		"Three notes left out, two notes moved by octaves, one note shifted in time.",
		"Not clear to drill: one thing stands in the way.",
		"C7 comes again after 137 ms. This tooth needs 226 ms; its damper governs.",
	} {
		if !strings.Contains(answers.Text(), want) {
			t.Errorf("the answers do not say %q", want)
		}
	}
	if got := answers.Find("button").Text(); got != "Use the twin tooth" {
		t.Errorf("the remedy offered is %q, want the one that costs least", got)
	}
	clear := render(t, pages()["clear"]).Find(".answers .verdict")
	if !strings.Contains(clear.Text(), "Clear to drill.") || clear.Find("button").Length() != 0 {
		t.Errorf("a clear cylinder says %q", clear.Text())
	}
}

func TestAConflictOffersTheChangeAgain(t *testing.T) {
	notice := render(t, pages()["conflict"]).Find("#problem")
	for _, want := range []string{"revision 5 → 7", "C5 in bar 3 left out", "Your change was not saved; here it is again: E6 in bar 1 beat 4 left out."} {
		if !strings.Contains(strings.Join(strings.Fields(notice.Text()), " "), want) {
			t.Errorf("the notice does not say %q: %s", want, notice.Text())
		}
	}
	if got := notice.Find("button").AttrOr("value", ""); got != `{"kind":"leave-out","note":"n12"}` {
		t.Errorf("offered again: %s", got)
	}
}

func TestARefusedFormKeepsWhatWasTyped(t *testing.T) {
	m := model()
	m.Problem = &Problem{Title: "500 mm cannot be used", Pointer: "/cylinder/diameterMm"}
	m.Form = url.Values{"cylinder.diameterMm": {"500"}, "revision": {"3"}}
	doc := render(t, ProjectPage(m))
	field := doc.Find("[name='cylinder.diameterMm']")
	if field.AttrOr("value", "") != "500" || field.AttrOr("aria-invalid", "") != "true" {
		t.Errorf("the field holds %q, marked %q", field.AttrOr("value", ""), field.AttrOr("aria-invalid", ""))
	}
	if n := doc.Find("[aria-invalid=true]").Length(); n != 1 {
		t.Errorf("%d fields are marked, want the one at fault", n)
	}
}

func TestAConflictShowsTheFieldsAsTheyStand(t *testing.T) {
	m := model()
	m.Conflict = &Conflict{Had: 3, Now: 4}
	m.Form = url.Values{"cylinder.diameterMm": {"500"}}
	if got := render(t, ProjectPage(m)).Find("[name='cylinder.diameterMm']").AttrOr("value", ""); got != "13" {
		t.Errorf("the field holds %q, want 13 as it stands", got)
	}
}

func TestFindingsAndPinsLeadToEachOther(t *testing.T) {
	m := model()
	m.PageURL = "/edit/SECRET"
	doc := render(t, ProjectPage(m))
	if n := doc.Find(".panel").Length(); n != 0 {
		t.Errorf("%d panels are open that nobody asked for", n)
	}
	finding := doc.Find(".finding.bad").First()
	link := finding.Find(".at a").First().AttrOr("href", "")
	to, err := url.Parse(link)
	if err != nil {
		t.Fatal(err)
	}
	m.Note = to.Query().Get("note")
	panel := render(t, ProjectPage(m)).Find("#open-note > .panel#" + to.Fragment)
	if panel.Length() != 1 || to.Path != m.PageURL {
		t.Fatalf("a finding leads to %q, where %d panels are", link, panel.Length())
	}
	if back := panel.Find(".says a").AttrOr("href", ""); back != "#"+finding.AttrOr("id", "") {
		t.Errorf("the panel leads back to %q, want %q", back, finding.AttrOr("id", ""))
	}
	id := strings.TrimPrefix(panel.AttrOr("id", ""), "note-")
	if got := doc.Find("#pin-"+id).AttrOr("href", ""); got != link {
		t.Errorf("the pin leads to %q", got)
	}
}

func TestTheViewPageTellsEveryFinding(t *testing.T) {
	r := result()
	list := render(t, ViewPage(ViewModel{Result: r, CopyURL: "/v/LOOK/copy"})).Find("#findings li")
	if list.Length() != len(r.Findings) {
		t.Fatalf("%d findings are told, want %d", list.Length(), len(r.Findings))
	}
	for i, f := range r.Findings {
		if text := list.Eq(i).Text(); !strings.Contains(text, f.Text.String()) || list.Eq(i).HasClass("bad") != f.Blocks {
			t.Errorf("finding %s is told as %q", f.ID, text)
		}
	}
	r.Findings = nil
	if n := render(t, ViewPage(ViewModel{Result: r})).Find("#findings").Length(); n != 0 {
		t.Error("there is a list of no findings")
	}
}

const hostile = `"><script>alert(1)</script><img src=x onerror=alert(1)>'&amp;`

func TestHostileTextStaysText(t *testing.T) {
	m := model()
	r := m.Result
	r.Title, r.Setup.Title, r.Tune.Title = hostile, hostile, hostile
	said := phrase.Of("{1}", hostile)
	r.Tune.Parts[0].Name, r.Tune.Remarks, r.Tune.Division = hostile, []phrase.Phrase{said}, said
	r.Findings[0].Text, r.Findings[0].ID = said, hostile
	r.Findings[0].Remedies[0].Label, r.Findings[0].Remedies[0].Effect = said, said
	r.Findings[0].Remedies[0].Decision.Note = hostile
	r.Arrangement.Dropped[0].Reason = said
	r.Decisions[0].Text = said
	r.Comb.Teeth[0].GovernedBy = hostile
	m.DecideURL, m.EditURL, m.RedoText = "javascript:alert(1)", hostile, hostile
	m.Conflict = &Conflict{Added: []string{hostile}, Decision: arrange.Decision{Kind: arrange.LeaveOut, Note: hostile}, Text: hostile}
	m.Problem = &Problem{Title: hostile, Detail: hostile, Pointer: hostile}
	m.Form = url.Values{"title": {hostile}, "comb.recoveryMs": {hostile}}
	plain := model()
	for name, pair := range map[string][2]templ.Component{
		"project": {ProjectPage(m), ProjectPage(plain)},
		"view":    {ViewPage(ViewModel{Result: r}), ViewPage(ViewModel{Result: plain.Result})},
		"home":    {Home(HomeModel{Problem: hostile, Detail: hostile}), Home(HomeModel{})},
		"error":   {ErrorPage(ErrorModel{Title: hostile, Detail: hostile, Ref: hostile}), ErrorPage(ErrorModel{})},
	} {
		t.Run(name, func(t *testing.T) {
			got, want := render(t, pair[0]), render(t, pair[1])
			for _, selector := range []string{"script", "img", "[onerror]"} {
				if g, w := got.Find(selector).Length(), want.Find(selector).Length(); g != w {
					t.Errorf("%d of %s, want the page's own %d", g, selector, w)
				}
			}
			if n := got.Find("[action^='javascript'], [href^='javascript']").Length(); n != 0 {
				t.Errorf("%d addresses are programs", n)
			}
			if !strings.Contains(got.Text(), hostile) {
				t.Error("the text is not shown as it is")
			}
		})
	}
}

// TestPagesStaySmall also writes every page to the directory that PINWRIGHT_SAMPLES names, to be looked at.
func TestPagesStaySmall(t *testing.T) {
	dir := os.Getenv("PINWRIGHT_SAMPLES")
	if dir == "" {
		dir = t.TempDir()
	}
	for name, page := range pages() {
		var b bytes.Buffer
		if err := page.Render(t.Context(), &b); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, name+".html"), b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		if b.Len() > 352<<10 {
			t.Errorf("the page %s of a hundred notes has %d bytes, want at most 352 KiB", name, b.Len())
		}
	}
}

func TestRemediesOfManyFindingsAreFoldedAway(t *testing.T) {
	m := model()
	first := m.Result.Findings[0]
	m.Result.Findings = nil
	for i := range mostUnfolded + 3 {
		f := first
		f.ID += itoa(i)
		m.Result.Findings = append(m.Result.Findings, f)
	}
	doc := render(t, ProjectPage(m))
	if got := doc.Find(".finding.bad > .remedies").Length(); got != mostUnfolded {
		t.Errorf("%d findings show their remedies at once, want %d", got, mostUnfolded)
	}
	if got := doc.Find(".finding.bad > details .remedies").Length(); got != 3 {
		t.Errorf("%d findings fold their remedies away, want 3", got)
	}
}

func TestRemediesOfOneFindingTellThemselvesApart(t *testing.T) {
	notes := map[string]arrange.Note{"n1": {ID: "n1", Bar: 2, Beat: 2.25}, "n2": {ID: "n2", Bar: 2, Beat: 2.5}, "n3": {ID: "n3", Bar: 8, Beat: 1}}
	leave := func(note string) arrange.Decision { return arrange.Decision{Kind: arrange.LeaveOut, Note: note} }
	list := Shown{}.mending(arrange.Finding{Bar: 2, Remedies: []arrange.Remedy{
		{Label: phrase.Text("Retune it"), Decision: arrange.Decision{Kind: arrange.Change}},
		{Label: phrase.Text("Leave D6 out"), ValueChange: -10, Decision: leave("n1"), Raises: []string{"left-out-n1"}},
		{Label: phrase.Text("Leave D6 out"), ValueChange: -2.5, Decision: arrange.Decision{Kind: arrange.Several, Decisions: []arrange.Decision{{Kind: arrange.Release, Note: "n2"}, leave("n2")}},
			Effect: phrase.Text("1 note fewer played"), Clears: []string{"a", "b"}, Raises: []string{"left-out-n2", "repeat-n3-n2", "moved-n3"}},
		{Label: phrase.Text("Leave D6 out"), ValueChange: 3, Decision: leave("n3")},
	}}, notes)
	for i, want := range []remedyView{
		{Label: "Retune it", Cost: "costs nothing"},
		{Label: "Leave D6 out, beat 2.25", Cost: "costs 10.00"},
		{Label: "Leave D6 out, beat 2.5", Cost: "costs 2.50", Effect: "1 note fewer played · clears two findings · raises one other finding"},
		{Label: "Leave D6 out, bar 8", Cost: "brings 3.00"},
	} {
		if got := list[i]; got.Label != want.Label || got.Cost != want.Cost || got.Effect != want.Effect {
			t.Errorf("got %q, %q, %q; want %q, %q, %q", got.Label, got.Effect, got.Cost, want.Label, want.Effect, want.Cost)
		}
	}
}

func TestMoreRemediesCanBeAskedFor(t *testing.T) {
	m := model()
	m.PageURL = "/edit/SECRET"
	last := len(m.Result.Findings) - 1
	m.Result.Findings[last].RemediesLater = true
	m.Result.Findings[0].RemediesLater, m.Result.Findings[0].Remedies = true, nil
	doc := render(t, ProjectPage(m))
	for i, words := range map[int]string{0: "Work out remedies", last: "Work out more remedies"} {
		id := m.Result.Findings[i].ID
		link := doc.Find("#finding-" + anchor(id) + " .at a[href*='finding=']")
		if want := "/edit/SECRET?finding=" + url.QueryEscape(id) + "#finding-" + anchor(id); link.AttrOr("href", "") != want || !strings.HasPrefix(link.Text(), words+" for:") {
			t.Errorf("%q leads to %q; want %q to %q", link.Text(), link.AttrOr("href", ""), words, want)
		}
	}
	if n := doc.Find(".finding .at a[href*='finding=']").Length(); n != 2 {
		t.Errorf("%d findings offer more; want 2", n)
	}
	m.Finding = m.Result.Findings[last].ID
	if n := render(t, ProjectPage(m)).Find("#finding-" + anchor(m.Finding) + " > .remedies").Length(); n != 1 {
		t.Error("the remedies of the finding that was asked for are folded away")
	}
}

func TestARefusedFieldIsNamedInWords(t *testing.T) {
	m := model()
	m.Problem = &Problem{Title: "A value cannot be used", Detail: "900 mm cannot be used; give 3 to 400", Pointer: "/cylinder/diameterMm"}
	notice := render(t, ProjectPage(m)).Find("#problem")
	if want := "Bare diameter: 900 mm cannot be used; give 3 to 400."; !strings.Contains(notice.Text(), want) {
		t.Errorf("%q does not say %q", notice.Text(), want)
	}
	if to := notice.Find("a").AttrOr("href", ""); to != "#f-cylinder-diameterMm" {
		t.Errorf("the notice leads to %q", to)
	}
	m.Problem = &Problem{Title: "A value cannot be used", Detail: "no tooth is free", Pointer: "/tooth"}
	if text := render(t, ProjectPage(m)).Find("#problem").Text(); !strings.Contains(text, "No tooth is free.") {
		t.Errorf("the notice says %q", text)
	}
}
