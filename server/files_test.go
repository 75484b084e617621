package main

import (
	"archive/zip"
	"bytes"
	"net/http"
	"slices"
	"testing"

	"pinwright/arrange/tune/tunetest"
)

// TestFilesAreTheirOwn: what is kept at hand is given for nothing else: not for another paper, tune, name, setup or revision.
func TestFilesAreTheirOwn(t *testing.T) {
	s := newSite(t)
	other := part{"tune", "scale.mid", string(tunetest.File(96, tunetest.Track(tunetest.Note(0, 1, 72, 96), tunetest.Note(0, 1, 76, 96))))}
	wider := part{"setup", "", `{"cylinder": {"diameterMm": 20}}`}
	file := func(address string, parts ...part) string {
		return string(s.upload("/api/files/"+address, parts...).wantStatus(t, http.StatusOK).body)
	}
	ask := []func() string{
		func() string { return file("drill-map.html", tunePart) },
		func() string { return file("drill-map.html?paper=a3", tunePart) },
		func() string { return file("drill-map.html", other) },
		func() string { return file("drill-map.html", tunePart, wider) },
		func() string { return file("holes.csv", tunePart) },
		func() string { return file("holes.csv", tunePart, wider) },
		func() string { return file("project.json", tunePart) },
		func() string { return file("project.json", part{"tune", "other.mid", tunePart.content}) },
	}
	var first []string
	for _, f := range ask {
		first = append(first, f())
	}
	for i := range first {
		if slices.Contains(first[:i], first[i]) {
			t.Errorf("file %d is one of those before", i)
		}
		if ask[i]() != first[i] {
			t.Errorf("file %d is another when it is asked for again", i)
		}
	}
	p := s.create()
	before := s.get("/api/projects/" + p.edit() + "/files/holes.csv").body
	s.decide(p.edit(), 0, `{"kind":"leave-out","note":"`+p.Pins[0].Note+`"}`).wantStatus(t, http.StatusOK)
	if bytes.Equal(before, s.get("/api/projects/"+p.edit()+"/files/holes.csv").body) {
		t.Error("after a decision the file is the one before")
	}
}

// TestZipGivesOnlyWhatIsAllowed: the view link's zip holds the files that the owner allows, the edit link's all.
func TestZipGivesOnlyWhatIsAllowed(t *testing.T) {
	s := newSite(t)
	p := s.create()
	s.decide(p.edit(), 0, `{"kind":"setup","setup":{"share":{"files":["bench.zip","comb.csv"]}}}`).wantStatus(t, http.StatusOK)
	for token, want := range map[string]int{p.edit(): 16, p.view(): 2} {
		for range 2 { // the second is at hand
			body := s.get("/api/projects/"+token+"/files/bench.zip").wantStatus(t, http.StatusOK).body
			z, err := zip.NewReader(bytes.NewReader(body), int64(len(body)))
			if err != nil {
				t.Fatal(err)
			}
			if len(z.File) != want {
				t.Errorf("the zip has %d files; want %d", len(z.File), want)
			}
		}
	}
}
