package main

import (
	"bytes"
	"net/http"
	"path"
	"strings"
	"testing"
)

// TestProjectFileComesBack saves projects and takes them in again, by the API and by the first page: the same pins and the same file.
func TestProjectFileComesBack(t *testing.T) {
	s := newSite(t)
	demo := path.Base(s.fill("/demo", nil, nil).leads(t))
	written := path.Base(s.fill("/blank", map[string][]string{"bars": {"2"}, "beats": {"4"}, "bpm": {"96"}}, nil).leads(t))
	s.decide(written, 0, `{"kind":"add","pitch":"C5","bar":1,"beat":2}`).wantStatus(t, http.StatusOK)
	s.decide(demo, len(s.get("/api/projects/"+demo).project(t).Decisions), setup("Renamed")).wantStatus(t, http.StatusOK)
	untitled := path.Base(s.upload("/tunes", tunePart).leads(t))
	for name, token := range map[string]string{"the demo, with its decisions": demo, "a tune written by hand": written, "an upload": untitled} {
		t.Run(name, func(t *testing.T) {
			file := s.get("/api/projects/"+token+"/files/project.json").wantStatus(t, http.StatusOK).body
			pins := s.get("/api/projects/" + token + "/files/holes.csv").body
			saved := part{"tune", "project.json", string(file)}
			again := s.create(saved)
			page := path.Base(s.upload("/tunes", saved).leads(t))
			for way, there := range map[string]string{"the API": path.Base(again.EditURL), "the first page": page} {
				if got := s.get("/api/projects/" + there + "/files/project.json").body; !bytes.Equal(got, file) {
					t.Errorf("through %s it comes back as\n%.300s\nwant\n%.300s", way, got, file)
				}
				if got := s.get("/api/projects/" + there + "/files/holes.csv").body; !bytes.Equal(got, pins) {
					t.Errorf("through %s the pins are others", way)
				}
			}
			if got := s.upload("/api/files/project.json", saved).wantStatus(t, http.StatusOK).body; !bytes.Equal(got, file) {
				t.Error("a file made of it is another")
			}
		})
	}
}

func TestProjectFilesThatCannotBeUsed(t *testing.T) {
	s := newSite(t)
	projects, decisions := s.stored()
	whole := string(s.upload("/api/files/project.json", tunePart).wantStatus(t, http.StatusOK).body)
	for name, test := range map[string]struct {
		parts  []part
		status int
		words  string
	}{
		"a setup beside it":         {[]part{{"tune", "p.json", whole}, {"setup", "", "{}"}}, 422, "has its own setup"},
		"JSON that is no project":   {[]part{{"tune", "p.json", `{"a": 1}`}}, 422, "needs the schema"},
		"cut off":                   {[]part{{"tune", "p.json", whole[:len(whole)/2]}}, 422, "not a JSON object"},
		"a later version":           {[]part{{"tune", "p.json", strings.Replace(whole, "project/1", "project/9", 1)}}, 422, "this program reads"},
		"a tune that is none":       {[]part{{"tune", "p.json", `{"schema": "pinwright/project/1", "fileName": "a", "tune": "AAAA", "setup": {}, "decisions": []}`}}, 422, "not a Standard MIDI File"},
		"a decision that is none":   {[]part{{"tune", "p.json", strings.Replace(whole, `"decisions": []`, `"decisions": [{"kind": "dance"}]`, 1)}}, 422, "not a kind of decision"},
		"a bar that is not there":   {[]part{{"tune", "p.json", strings.Replace(whole, `"excerpt": null`, `"excerpt": {"fromBar": 7000, "toBar": 7001}`, 1)}}, 422, "bar"},
		"larger than a project is":  {[]part{{"tune", "p.json", "{" + strings.Repeat(" ", 16<<20)}}, 413, "8 MiB"},
		"a tune larger than a tune": {[]part{{"tune", "a.mid", strings.Repeat("x", 9<<20)}}, 413, "8 MiB"},
		"a project to compare":      {[]part{{"tune", "p.json", whole}}, 422, "not a Standard MIDI File"},
	} {
		t.Run(name, func(t *testing.T) {
			address := "/api/projects"
			if strings.HasSuffix(name, "compare") {
				address = "/api/compare"
			}
			g := s.upload(address, test.parts...).wantStatus(t, test.status)
			if !strings.Contains(string(g.body), test.words) {
				t.Errorf("%s does not say %q", g.body, test.words)
			}
		})
	}
	if p, d := s.stored(); p != projects || d != decisions {
		t.Errorf("%d projects and %d decisions are stored; %d and %d were before", p, d, projects, decisions)
	}
}
