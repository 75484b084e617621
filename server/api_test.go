package main

import (
	"bytes"
	"context"
	"encoding/json"
	"net/http"
	"slices"
	"strings"
	"sync"
	"testing"

	"pinwright/arrange"
	"pinwright/arrange/tune"
	"pinwright/arrange/tune/tunetest"
	"pinwright/pinmap/bench"
	"pinwright/pinmap/project"
)

func TestUploadsAreRefusedWithAReason(t *testing.T) {
	sound := string(scale(8))
	setup := func(text string) []part { return []part{tunePart, {"setup", "", text}} }
	tests := []struct {
		name    string
		parts   []part
		status  int
		pointer string
		words   []string
	}{
		{"no part at all", nil, 422, "", []string{"tune", "missing"}},
		{"an empty tune", []part{{"tune", "a.mid", ""}}, 422, "", []string{"tune", "missing"}},
		{"a setup alone", []part{{"setup", "", "{}"}}, 422, "", []string{"tune", "missing"}},
		{"two tunes", []part{tunePart, tunePart}, 422, "", []string{"tune", "twice"}},
		{"two setups", append(setup("{}"), part{"setup", "", "{}"}), 422, "", []string{"setup", "twice"}},
		{"a field of another name", []part{tunePart, {"tunes", "a.mid", sound}}, 422, "", []string{"tunes", "tune and setup"}},
		{"a setup that is not JSON", setup("{"), 422, "", []string{"not JSON"}},
		{"an unknown field of the setup", setup(`{"cylinder":{"diameter":3}}`), 422, "/cylinder/diameter", nil},
		{"a figure out of range", setup(`{"cylinder":{"diameterMm":2}}`), 422, "/cylinder/diameterMm", []string{"2", "3", "400"}},
		{"a bar that is not there", setup(`{"excerpt":{"fromBar":1,"toBar":99}}`), 422, "/excerpt/toBar", []string{"99"}},
		{"a setup that is too long", setup(`{"title":"` + strings.Repeat("x", maxSetup) + `"}`), 413, "", []string{"512 KiB"}},
		{"a tune over its limit", []part{{"tune", "a.mid", sound + strings.Repeat("\x00", 100_000)}}, 413, "", []string{"96 KiB"}},
		{"a body over its limit", []part{{"tune", "a.mid", sound + strings.Repeat("\x00", 600_000)}}, 413, "", []string{"96 KiB"}},
		{"a first part over the body's limit", []part{{"other", "a", strings.Repeat("\x00", 600_000)}, tunePart}, 422, "", []string{"other"}},
	}
	s := newSite(t, func(c *Config) { c.Limits.Bytes = 96 << 10 })
	for _, address := range []string{"/api/arrange", "/api/advice", "/api/files/holes.csv", "/api/projects"} {
		for _, test := range tests {
			t.Run(address+" "+test.name, func(t *testing.T) {
				p := s.upload(address, test.parts...).wantStatus(t, test.status).problem(t)
				if p.Status != test.status || p.Pointer != test.pointer || p.Title == "" || p.Detail == "" {
					t.Errorf("got %+v; want status %d, pointer %q, and words", p, test.status, test.pointer)
				}
				wantWords(t, p.Title+" "+p.Detail, test.words...)
			})
		}
	}
	if projects, _ := s.stored(); projects != 0 {
		t.Errorf("%d projects are stored; want none", projects)
	}
}

func TestBodiesThatAreNotAFormAreRefused(t *testing.T) {
	body, contentType := form(t, tunePart)
	tests := []struct {
		name, contentType string
		body              []byte
		status            int
	}{
		{"no media type", "", body, 415},
		{"JSON", "application/json", []byte("{}"), 415},
		{"a plain form", "application/x-www-form-urlencoded", []byte("tune=x"), 415},
		{"a tune as it is", "audio/midi", scale(8), 415},
		{"no boundary", "multipart/form-data", body, 400},
		{"another boundary", "multipart/form-data; boundary=other", body, 400},
		{"a body that breaks off", contentType, body[:len(body)/2], 400},
		{"an empty body", contentType, nil, 400},
	}
	s := newSite(t)
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			a := ask{"POST", "/api/projects", test.body, map[string]string{"Content-Type": test.contentType}}
			s.do(a).wantStatus(t, test.status).problem(t)
		})
	}
	if projects, _ := s.stored(); projects != 0 {
		t.Errorf("%d projects are stored; want none", projects)
	}
}

func TestMalformedTunesAreRefusedByName(t *testing.T) {
	s := newSite(t)
	broken := tunetest.Malformed()
	if len(broken) < 60 {
		t.Errorf("%d malformed tunes; want at least 60", len(broken))
	}
	for _, b := range broken {
		t.Run(b.Name, func(t *testing.T) {
			for _, address := range []string{"/api/arrange", "/api/files/drill-map.html", "/api/projects"} {
				g := s.upload(address, part{"tune", "a.mid", string(b.Data)})
				if g.StatusCode < 400 || g.StatusCode > 499 {
					t.Fatalf("%s answers %d; want 4xx", address, g.StatusCode)
				}
				p := g.problem(t)
				if len(b.Data) > 0 { // of an empty file the form says so before it is read
					wantWords(t, p.Detail, b.Words)
				}
			}
		})
	}
	if projects, _ := s.stored(); projects != 0 {
		t.Errorf("%d projects are stored; want none", projects)
	}
}

func TestLimitsOfTheConfigurationHold(t *testing.T) {
	many := tunetest.File(96, tunetest.Track(tunetest.Note(0, 1, 72, 96)), tunetest.Track(), tunetest.Track())
	tests := []struct {
		name string
		tune []byte
		set  func(*tune.Limits)
	}{
		{"bytes", scale(8), func(l *tune.Limits) { l.Bytes = 50 }},
		{"events", scale(40), func(l *tune.Limits) { l.Events = 20 }},
		{"tracks", many, func(l *tune.Limits) { l.Tracks = 2 }},
		{"hours", scale(40), func(l *tune.Limits) { l.MusicMs = 1000 }},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			upload := part{"tune", "a.mid", string(test.tune)}
			newSite(t).upload("/api/arrange", upload).wantStatus(t, http.StatusOK)
			s := newSite(t, func(c *Config) { test.set(&c.Limits) })
			s.upload("/api/arrange", upload).wantStatus(t, http.StatusRequestEntityTooLarge).problem(t)
		})
	}
}

func TestArrangeAndProjectGiveTheSameResult(t *testing.T) {
	s := newSite(t)
	setup := part{"setup", "setup.json", `{"title":"Evening","comb":{"teeth":12}}`}
	arranged := s.upload("/api/arrange", tunePart, setup).wantStatus(t, http.StatusOK)
	created := s.upload("/api/projects", tunePart, setup).wantStatus(t, http.StatusCreated)
	p := created.project(t)
	read := s.get("/api/projects/"+p.edit()).wantStatus(t, http.StatusOK)
	var results []string
	for _, g := range []got{arranged, created, read} {
		var fields map[string]json.RawMessage
		if err := json.Unmarshal(g.body, &fields); err != nil {
			t.Fatal(err)
		}
		for _, own := range []string{"editUrl", "viewUrl", "revision"} {
			delete(fields, own)
		}
		text, err := json.Marshal(fields)
		if err != nil {
			t.Fatal(err)
		}
		results = append(results, string(text))
	}
	if results[0] != results[1] || results[1] != results[2] {
		t.Error("the same tune and setup give different results")
	}
	if p.Revision != 0 || p.Setup.Title != "Evening" || len(p.Pins) == 0 {
		t.Errorf("got %+v; want a project at revision 0 with title and pins", p)
	}
	if created.Header.Get("Location") != "/api/projects/"+p.edit() || created.Header.Get("ETag") != `"0"` {
		t.Errorf("headers %v", created.Header)
	}
}

func TestTheSetupIsStoredComplete(t *testing.T) {
	s := newSite(t)
	p := s.create(tunePart, part{"setup", "", `{"title":"Evening"}`})
	ref, err := s.store.Find(t.Context(), p.edit())
	if err != nil {
		t.Fatal(err)
	}
	stored, err := s.store.Load(t.Context(), ref.ID)
	if err != nil {
		t.Fatal(err)
	}
	again, err := project.ParseSetup(stored.Setup)
	if err != nil {
		t.Fatal(err)
	}
	want := project.DefaultSetup()
	want.Title = "Evening"
	a, _ := json.Marshal(again)
	b, _ := json.Marshal(want)
	if !bytes.Equal(a, b) || !bytes.Equal(stored.Setup, b) {
		t.Errorf("stored %s\nread again %s\nwant %s", stored.Setup, a, b)
	}
}

func TestLinksAreWhatTheReaderMayHave(t *testing.T) {
	s := newSite(t)
	p := s.create()
	if !strings.HasPrefix(p.EditURL, s.URL+"/edit/") || !strings.HasPrefix(p.ViewURL, s.URL+"/view/") {
		t.Errorf("links %q and %q; want them on %s", p.EditURL, p.ViewURL, s.URL)
	}
	asEditor := s.get("/api/projects/"+p.edit()).wantStatus(t, 200).project(t)
	if asEditor.EditURL != p.EditURL || asEditor.ViewURL != p.ViewURL {
		t.Errorf("an editor is shown %q and %q; want %q and %q", asEditor.EditURL, asEditor.ViewURL, p.EditURL, p.ViewURL)
	}
	g := s.get("/api/projects/"+p.view()).wantStatus(t, 200)
	if asViewer := g.project(t); asViewer.EditURL != "" || asViewer.ViewURL != p.ViewURL || bytes.Contains(g.body, []byte(p.edit())) {
		t.Errorf("a viewer is shown %q and %q", asViewer.EditURL, asViewer.ViewURL)
	}

	behindProxy := newSite(t, func(c *Config) { c.BaseURL = "https://pins.example" })
	if p := behindProxy.create(); !strings.HasPrefix(p.EditURL, "https://pins.example/edit/") {
		t.Errorf("edit link %q; want it on the base URL", p.EditURL)
	}
}

func TestDecisionsAreRefusedWithAReason(t *testing.T) {
	s := newSite(t)
	p := s.create()
	token, decision := p.edit(), `{"kind":"setup","setup":{"title":"x"}}`
	asJSON := map[string]string{"Content-Type": "application/json", "If-Match": `"0"`}
	without := func(name string) map[string]string {
		return map[string]string{"Content-Type": asJSON["Content-Type"], "If-Match": asJSON["If-Match"], name: ""}
	}
	with := func(name, value string) map[string]string {
		h := without(name)
		h[name] = value
		return h
	}
	tests := []struct {
		name, token, body string
		header            map[string]string
		status            int
		pointer           string
		words             []string
	}{
		{"unknown token", strings.Repeat("A", 32), decision, asJSON, 404, "", []string{"link"}},
		{"a token with a slash", "a%2Fb", decision, asJSON, 404, "", nil},
		{"view token", p.view(), decision, asJSON, 403, "", []string{"edit link"}},
		{"no media type", token, decision, without("Content-Type"), 415, "", []string{"application/json"}},
		{"a form", token, decision, with("Content-Type", "application/x-www-form-urlencoded"), 415, "", []string{"application/json"}},
		{"no If-Match", token, decision, without("If-Match"), 428, "", []string{"If-Match", `"0"`}},
		{"an old revision", token, decision, with("If-Match", `"7"`), 412, "", []string{"revision 0"}},
		{"no revision at all", token, decision, with("If-Match", "now"), 412, "", []string{"revision 0"}},
		{"an empty body", token, "", asJSON, 422, "", []string{"JSON"}},
		{"not JSON", token, "{", asJSON, 422, "", []string{"JSON"}},
		{"no kind", token, "{}", asJSON, 422, "/kind", nil},
		{"an unknown kind", token, `{"kind":"paint"}`, asJSON, 422, "/kind", []string{"paint", "undo"}},
		{"an unknown field", token, `{"kind":"undo","colour":1}`, asJSON, 422, "/colour", nil},
		{"a note that is not there", token, `{"kind":"leave-out","note":"n999"}`, asJSON, 422, "/note", []string{"n999"}},
		{"undo with nothing to undo", token, `{"kind":"undo"}`, asJSON, 422, "/kind", []string{"take back"}},
		{"redo with nothing to redo", token, `{"kind":"redo"}`, asJSON, 422, "/kind", []string{"again"}},
		{"a setup out of range", token, `{"kind":"setup","setup":{"cylinder":{"gapDeg":400}}}`, asJSON, 422, "/setup/cylinder/gapDeg", []string{"400", "350"}},
		{"a body that is too long", token, `{"kind":"undo","note":"` + strings.Repeat("x", maxSetup) + `"}`, asJSON, 413, "", []string{"512 KiB"}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			g := s.do(ask{"POST", "/api/projects/" + test.token + "/decisions", []byte(test.body), test.header}).wantStatus(t, test.status)
			pr := g.problem(t)
			if pr.Pointer != test.pointer {
				t.Errorf("pointer %q; want %q", pr.Pointer, test.pointer)
			}
			wantWords(t, pr.Title+" "+pr.Detail, test.words...)
			if test.status == 412 && (pr.Revision == nil || *pr.Revision != 0 || g.Header.Get("ETag") != `"0"`) {
				t.Errorf("a conflict without the revision: %s %v", g.body, g.Header)
			}
		})
	}
	if _, decisions := s.stored(); decisions != 0 {
		t.Errorf("%d decisions are stored; want none", decisions)
	}
}

func TestIfMatchTakesEveryWayToNameARevision(t *testing.T) {
	s := newSite(t)
	p := s.create()
	for i, condition := range []string{`"0"`, `W/"1"`, `*`, `"9", W/"3"`, `4`, ` "5" `} {
		g := s.do(ask{"POST", "/api/projects/" + p.edit() + "/decisions", []byte(`{"kind":"setup","setup":{"title":"x"}}`),
			map[string]string{"Content-Type": "application/json; charset=utf-8", "If-Match": condition}})
		if got := g.wantStatus(t, http.StatusOK).project(t).Revision; got != i+1 || g.Header.Get("ETag") != etag(i+1) {
			t.Errorf("If-Match: %s leads to revision %d, ETag %s; want %d", condition, got, g.Header.Get("ETag"), i+1)
		}
	}
}

func TestUndoAndRedoLeadBackAndForth(t *testing.T) {
	s := newSite(t)
	p := s.create()
	start := s.get("/api/projects/" + p.edit()).body
	note := p.Tune.Notes[3].ID
	steps := []struct {
		name, decision   string
		pins             int
		canUndo, canRedo bool
	}{
		{"leave out", `{"kind":"leave-out","note":"` + note + `"}`, len(p.Pins) - 1, true, false},
		{"undo", `{"kind":"undo"}`, len(p.Pins), false, true},
		{"redo", `{"kind":"redo"}`, len(p.Pins) - 1, true, false},
		{"undo again", `{"kind":"undo"}`, len(p.Pins), false, true},
	}
	for i, step := range steps {
		now := s.decide(p.edit(), i, step.decision).wantStatus(t, http.StatusOK).project(t)
		if now.Revision != i+1 || len(now.Pins) != step.pins || now.CanUndo != step.canUndo || now.CanRedo != step.canRedo {
			t.Errorf("%s: revision %d, %d pins, undo %v, redo %v; want %d, %d, %v, %v", step.name,
				now.Revision, len(now.Pins), now.CanUndo, now.CanRedo, i+1, step.pins, step.canUndo, step.canRedo)
		}
	}
	// But for the revision and what can be made again, all is as it was.
	want := strings.NewReplacer(`"revision":0`, `"revision":4`, `"canRedo":false`, `"canRedo":true`).Replace(string(start))
	if end := s.get("/api/projects/" + p.edit()).body; string(end) != want {
		t.Error("a decision that was taken back left something behind")
	}
}

func TestOfTwoEditorsTheSecondIsTold(t *testing.T) {
	first, second := `{"kind":"setup","setup":{"title":"first"}}`, `{"kind":"setup","setup":{"title":"second"}}`
	for name, order := range map[string][]string{"one after the other": {first, second}, "the other way round": {second, first}} {
		t.Run(name, func(t *testing.T) {
			s := newSite(t)
			p := s.create()
			s.decide(p.edit(), 0, order[0]).wantStatus(t, http.StatusOK)
			lost := s.decide(p.edit(), 0, order[1]).wantStatus(t, http.StatusPreconditionFailed).problem(t)
			if lost.Revision == nil || *lost.Revision != 1 {
				t.Errorf("the second editor is told %+v; want revision 1", lost)
			}
			s.decide(p.edit(), 1, order[1]).wantStatus(t, http.StatusOK)
		})
	}
}

func TestOfManyEditorsAtOnceOneWins(t *testing.T) {
	s := newSite(t)
	p := s.create()
	const editors, rounds = 4, 5
	for revision := range rounds {
		statuses := make([]int, editors)
		var group sync.WaitGroup
		for i := range editors {
			group.Go(func() {
				statuses[i] = s.decide(p.edit(), revision, `{"kind":"setup","setup":{"title":"x"}}`).StatusCode
			})
		}
		group.Wait()
		slices.Sort(statuses)
		if want := []int{200, 412, 412, 412}; !slices.Equal(statuses, want) {
			t.Fatalf("revision %d: statuses %v; want %v", revision, statuses, want)
		}
	}
}

func TestFilesOfAnUploadAndOfAProjectAreTheSame(t *testing.T) {
	s := newSite(t)
	p := s.create()
	for _, name := range bench.Names() {
		t.Run(name, func(t *testing.T) {
			maker, ok := bench.File(name)
			if !ok {
				t.Fatal("it is offered and not made")
			}
			posted := s.upload("/api/files/"+name, tunePart).wantStatus(t, http.StatusOK)
			want := posted.body
			if strings.HasPrefix(name, "drill-map.") || name == "bench.zip" { // the map of a project has its link as well, which TestMapCarriesTheViewLink reads
				want = s.get("/api/projects/" + p.edit() + "/files/" + name).body
			}
			for _, token := range []string{p.edit(), p.view()} {
				read := s.get("/api/projects/"+token+"/files/"+name).wantStatus(t, http.StatusOK)
				if !bytes.Equal(want, read.body) || len(read.body) == 0 {
					t.Error("the file of the upload is not that of the project")
				}
				for _, g := range []got{posted, read} {
					if g.Header.Get("Content-Type") != maker.MediaType || g.Header.Get("Content-Disposition") != `attachment; filename="`+name+`"` {
						t.Errorf("headers %v", g.Header)
					}
				}
				if read.Header.Get("ETag") != `"0"` {
					t.Errorf("ETag %q", read.Header.Get("ETag"))
				}
			}
		})
	}
}

func TestATurnTooLongToHearIsRefused(t *testing.T) {
	s := newSite(t)
	g := s.upload("/api/files/audition.wav", tunePart, part{"setup", "", `{"tempo": {"revolutionMs": 600001}}`}).wantStatus(t, http.StatusUnprocessableEntity)
	pr := g.problem(t)
	wantWords(t, pr.Detail, "600 s", "arrangement.mid")
	if pr.Pointer != "/tempo/revolutionMs" {
		t.Errorf("it points at %q", pr.Pointer)
	}
}

func TestFilesThatAreNotMadeAreNamed(t *testing.T) {
	s := newSite(t)
	p := s.create()
	for _, name := range []string{"map.pdf", "drill-map.HTML", "..", "%2e%2e%2fpinwright.db"} {
		for _, g := range []got{
			s.upload("/api/files/"+name, tunePart),
			s.get("/api/projects/" + p.edit() + "/files/" + name),
		} {
			if pr := g.wantStatus(t, http.StatusNotFound).problem(t); name == "map.pdf" {
				wantWords(t, pr.Detail, "map.pdf", "drill-map.html", "holes.csv")
			}
		}
	}
	s.get("/api/projects/nobody/files/drill-map.html").wantStatus(t, http.StatusNotFound).problem(t)
}

func TestPaperOfTheMap(t *testing.T) {
	s := newSite(t)
	p := s.create()
	seen := map[string]string{}
	for _, paper := range []string{"a4", "a3", "letter"} {
		g := s.get("/api/projects/"+p.edit()+"/files/drill-map.html?paper="+paper).wantStatus(t, http.StatusOK)
		for other, body := range seen {
			if body == string(g.body) {
				t.Errorf("the map is the same on %s and %s", paper, other)
			}
		}
		seen[paper] = string(g.body)
	}
	if plain := s.get("/api/projects/" + p.edit() + "/files/drill-map.html"); string(plain.body) != seen["a4"] {
		t.Error("without a paper the map is not on A4")
	}
	pr := s.get("/api/projects/"+p.edit()+"/files/drill-map.html?paper=a5").wantStatus(t, http.StatusUnprocessableEntity).problem(t)
	wantWords(t, pr.Detail, "a5", "a4", "a3", "letter")
	s.upload("/api/files/drill-map.html?paper=a5", tunePart).wantStatus(t, http.StatusUnprocessableEntity).problem(t)
}

func TestAllRemediesOfOneFinding(t *testing.T) {
	s := newSite(t)
	type finding struct {
		ID            string
		Remedies      []json.RawMessage
		RemediesLater bool
	}
	findings := func(g got) (list []finding) {
		t.Helper()
		var result struct{ Findings []finding }
		if err := json.Unmarshal(g.wantStatus(t, http.StatusOK).body, &result); err != nil {
			t.Fatal(err)
		}
		return result.Findings
	}
	// Every call for the remedies of all finds its budget spent at once.
	whole := s.app.desk.derive
	s.app.desk.derive = func(session *project.Session, ctx context.Context, log []arrange.Decision, o project.Options) (*project.Result, error) {
		all := o.Finding == ""
		r, err := whole(session, ctx, log, project.Options{Remedies: !all, Finding: o.Finding})
		r.Findings = slices.Clone(r.Findings)
		for i := range r.Findings {
			r.Findings[i].RemediesLater = r.Findings[i].RemediesLater || all
		}
		return r, err
	}
	parts := []part{tunePart, {"setup", "", `{"transpose":{"min":0,"max":0},"comb":{"high":"B5"}}`}}
	p := s.create(parts...)
	plain := findings(s.get("/api/projects/" + p.edit()))
	if len(plain) < 2 || !plain[0].RemediesLater {
		t.Fatalf("findings %+v; want some whose remedies come later", plain)
	}
	wanted := plain[1].ID
	for _, g := range []got{s.get("/api/projects/" + p.view() + "?finding=" + wanted), s.upload("/api/arrange?finding="+wanted, parts...)} {
		for i, f := range findings(g) {
			if f.ID != plain[i].ID || f.RemediesLater != (f.ID != wanted) || (len(f.Remedies) > 0) != (f.ID == wanted) {
				t.Errorf("finding %s has %d remedies, later %v", f.ID, len(f.Remedies), f.RemediesLater)
			}
		}
	}
	s.get("/edit/"+p.edit()+"?finding="+wanted).wantStatus(t, http.StatusOK).page(t)
	s.get("/edit/"+p.edit()+"?finding=none").wantStatus(t, http.StatusNotFound).page(t)
	s.get("/api/projects/"+p.edit()+"?finding=none").wantStatus(t, http.StatusNotFound).problem(t)
	s.upload("/api/arrange?finding=none", parts...).wantStatus(t, http.StatusNotFound).problem(t)
}

func TestTooth(t *testing.T) {
	s := newSite(t)
	plain := `{"lengthMm":18,"widthMm":0.9,"thicknessMm":0.6,"root":"rigid"}`
	tests := []struct {
		name, contentType, body string
		status                  int
		pointer                 string
	}{
		{"plain", "application/json", plain, 200, ""},
		{"weight for a pitch", "application/json", `{"lengthMm":18,"widthMm":0.9,"thicknessMm":0.6,"weight":{"lengthMm":5,"widthMm":0.9},"targetHz":880}`, 200, ""},
		{"a pitch that no weight brings", "application/json", `{"lengthMm":18,"widthMm":0.9,"thicknessMm":0.6,"weight":{"lengthMm":5,"widthMm":0.9},"targetHz":9}`, 422, "/targetHz"},
		{"no length", "application/json", `{"widthMm":0.9,"thicknessMm":0.6}`, 422, "/lengthMm"},
		{"an unknown field", "application/json", `{"lengthMm":18,"widthMm":0.9,"thicknessMm":0.6,"colour":1}`, 422, "/colour"},
		{"not JSON", "application/json", `{`, 422, ""},
		{"another media type", "text/plain", plain, 415, ""},
		{"too long", "application/json", `"` + strings.Repeat("x", maxSetup) + `"`, 413, ""},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			g := s.do(ask{"POST", "/api/tooth", []byte(test.body), map[string]string{"Content-Type": test.contentType}}).wantStatus(t, test.status)
			if test.status != http.StatusOK {
				if p := g.problem(t); p.Pointer != test.pointer {
					t.Errorf("pointer %q; want %q", p.Pointer, test.pointer)
				}
			}
		})
	}
	// Finite elements of the plain tooth: 1549.16 Hz (values.md, "Finite elements of a tooth", CalculiX); 0.05 %.
	g := s.do(ask{"POST", "/api/tooth", []byte(plain), map[string]string{"Content-Type": "application/json"}})
	var answer struct{ FrequencyHz float64 }
	if err := json.Unmarshal(g.body, &answer); err != nil {
		t.Fatal(err)
	}
	if off := answer.FrequencyHz/1549.16 - 1; off < -0.0005 || off > 0.0005 {
		t.Errorf("the tooth sounds %v Hz; want 1549.16 ± 0.05 %%", answer.FrequencyHz)
	}
}

func TestAddressesAndMethodsThatAreNotThere(t *testing.T) {
	s := newSite(t)
	p := s.create()
	s.get("/api/nothing").wantStatus(t, http.StatusNotFound).problem(t)
	s.get("/api/projects/"+strings.Repeat("A", 32)).wantStatus(t, http.StatusNotFound).problem(t)
	for address, allow := range map[string]string{"/api/arrange": "POST", "/api/projects/" + p.edit(): "GET"} {
		g := s.do(ask{method: "DELETE", path: address}).wantStatus(t, http.StatusMethodNotAllowed)
		if g.problem(t); g.Header.Get("Allow") != allow {
			t.Errorf("%s allows %q; want %q", address, g.Header.Get("Allow"), allow)
		}
	}
	if g := s.do(ask{method: "HEAD", path: "/api/projects/" + p.edit()}).wantStatus(t, http.StatusOK); g.Header.Get("ETag") != `"0"` || len(g.body) != 0 {
		t.Errorf("HEAD answers %v", g.Header)
	}
}

func TestDescriptionIsServed(t *testing.T) {
	g := newSite(t).get("/api/openapi.json").wantStatus(t, http.StatusOK)
	if !bytes.Equal(g.body, description) || g.Header.Get("Content-Type") != "application/json" {
		t.Errorf("served %d bytes as %s", len(g.body), g.Header.Get("Content-Type"))
	}
}

func TestHealthAndReadiness(t *testing.T) {
	s := newSite(t)
	s.get("/healthz").wantStatus(t, http.StatusOK)
	s.get("/readyz").wantStatus(t, http.StatusOK)
	if err := s.store.Close(); err != nil {
		t.Fatal(err)
	}
	s.get("/healthz").wantStatus(t, http.StatusOK)
	g := s.get("/readyz").wantStatus(t, http.StatusServiceUnavailable)
	if g.problem(t); g.Header.Get("Retry-After") == "" {
		t.Error("no Retry-After")
	}
	broken := s.upload("/api/projects", tunePart).wantStatus(t, http.StatusInternalServerError).problem(t)
	if broken.Request == "" || !strings.Contains(s.log.String(), broken.Request) {
		t.Errorf("the log does not hold request %q", broken.Request)
	}
}

func TestNothingIsStoredWhereTheResultFails(t *testing.T) {
	s := newSite(t)
	p := s.create()
	whole := s.app.desk.derive
	s.app.desk.derive = func(session *project.Session, ctx context.Context, log []arrange.Decision, o project.Options) (*project.Result, error) {
		if len(log) == 0 {
			return whole(session, ctx, log, o)
		}
		return nil, context.DeadlineExceeded
	}
	g := s.decide(p.edit(), 0, `{"kind":"setup","setup":{"title":"x"}}`).wantStatus(t, http.StatusServiceUnavailable)
	if g.problem(t); g.Header.Get("Retry-After") == "" {
		t.Error("no Retry-After")
	}
	if _, decisions := s.stored(); decisions != 0 {
		t.Errorf("%d decisions are stored; want none", decisions)
	}
}
