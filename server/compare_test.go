package main

import (
	"encoding/json"
	"net/http"
	"strings"
	"testing"

	"pinwright/fixtures"
	"pinwright/pinmap/project"
)

func TestCompareTunes(t *testing.T) {
	s := newSite(t)
	demo := part{"tune", "demo.mid", string(fixtures.DemoTune)}
	for name, parts := range map[string][]part{
		"two on a comb to be cut": {demo, tunePart, {"setup", "", `{"comb":{"teeth":6}}`}},
		"two on a given comb":     {demo, shortComb, tunePart},
		"one alone":               {tunePart},
	} {
		t.Run(name, func(t *testing.T) {
			var c project.Comparison
			if err := json.Unmarshal(s.upload("/api/compare", parts...).wantStatus(t, http.StatusOK).body, &c); err != nil {
				t.Fatal(err)
			}
			tunes := 0
			for _, p := range parts {
				if p.field == "tune" {
					tunes++
				}
			}
			if len(c.Tunes) != tunes || (c.Together != nil) != (tunes > 1) {
				t.Fatalf("%d tunes, together %+v", len(c.Tunes), c.Together)
			}
			if tunes > 1 && (c.Tunes[0].Kept < c.Tunes[1].Kept || !c.Together.Proven || len(c.Together.Tunes) != tunes) {
				t.Errorf("%+v", c)
			}
		})
	}
}

func TestCompareRefusesWithAReason(t *testing.T) {
	s := newSite(t)
	for _, row := range []struct {
		name   string
		parts  []part
		status int
		words  []string
	}{
		{"no tune", nil, 422, []string{"tune", "missing"}},
		{"one of two is no tune", []part{tunePart, {"tune", "notes.txt", "do re mi"}}, 422, []string{"notes.txt", "MIDI"}},
		{"too many", thirteen(tunePart), 422, []string{"12"}},
		{"a part that one file lacks", []part{tunePart, {"setup", "", `{"parts":[{"id":"t9c9","role":"lead"}]}`}}, 422, []string{"scale.mid", "t9c9"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			p := s.upload("/api/compare", row.parts...).wantStatus(t, row.status).problem(t)
			wantWords(t, p.Title+" "+p.Detail, row.words...)
		})
	}
}

func thirteen(p part) (all []part) {
	for range 13 {
		all = append(all, p)
	}
	return all
}

func TestCompareRefusesASecondTuneThatIsTooLarge(t *testing.T) {
	s := newSite(t, func(c *Config) { c.Limits.Bytes = len(tunePart.content) + 100 })
	large := part{"tune", "large.mid", tunePart.content + strings.Repeat("\x00", 200)}
	p := s.upload("/api/compare", tunePart, large).wantStatus(t, http.StatusRequestEntityTooLarge).problem(t)
	wantWords(t, p.Title, "tune", "large")
}
