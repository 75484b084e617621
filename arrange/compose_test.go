package arrange_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange"
	"pinwright/arrange/unit"
)

// TestCompose: merging and roles where they change (design 4): 10 ms is together, more is not, and both are counted from the first.
func TestCompose(t *testing.T) {
	for _, row := range []struct {
		name    string
		sources []arrange.Source
		ids     []string
		roles   []arrange.Role
	}{
		{"ten ms apart", []arrange.Source{{ID: "a", Pitch: 60}, {ID: "b", AtMs: 10, Pitch: 60}}, []string{"a"}, []arrange.Role{"lead"}},
		{"more than ten", []arrange.Source{{ID: "a", Pitch: 60}, {ID: "b", AtMs: 10.001, Pitch: 60}}, []string{"a", "b"}, []arrange.Role{"lead", "lead"}},
		{"from the first, not from the last", []arrange.Source{{ID: "a", Pitch: 60}, {ID: "b", AtMs: 8, Pitch: 60}, {ID: "c", AtMs: 16, Pitch: 60}},
			[]string{"a", "c"}, []arrange.Role{"lead", "lead"}},
		{"a chord", []arrange.Source{{ID: "a", Pitch: 60}, {ID: "b", Pitch: 64}, {ID: "c", AtMs: 10, Pitch: 67}}, []string{"a", "b", "c"}, []arrange.Role{"bass", "fill", "lead"}},
		{"a chord and a note after it", []arrange.Source{{ID: "a", Pitch: 60}, {ID: "b", AtMs: 9, Pitch: 64}, {ID: "c", AtMs: 11, Pitch: 67}},
			[]string{"a", "b", "c"}, []arrange.Role{"bass", "lead", "lead"}},
		{"a set role stays", []arrange.Source{{ID: "a", Pitch: 60, Role: "lead"}, {ID: "b", Pitch: 64, Role: "fill"}}, []string{"a", "b"}, []arrange.Role{"lead", "fill"}},
		{"merged, the better set role", []arrange.Source{{ID: "a", Pitch: 60, Role: "fill"}, {ID: "b", AtMs: 1, Pitch: 60, Role: "bass"}}, []string{"a"}, []arrange.Role{"bass"}},
		{"merged, a set role below its place", []arrange.Source{{ID: "a", Pitch: 60, Role: "fill"}, {ID: "b", AtMs: 1, Pitch: 60}}, []string{"a"}, []arrange.Role{"lead"}},
		{"merged, a set role above its place", []arrange.Source{{ID: "a", Pitch: 60, Role: "lead"}, {ID: "b", Pitch: 60}, {ID: "c", Pitch: 64}}, []string{"a", "c"}, []arrange.Role{"lead", "lead"}},
	} {
		var ids []string
		var roles []arrange.Role
		for _, n := range arrange.Compose(row.sources) {
			ids, roles = append(ids, n.ID), append(roles, n.Role)
		}
		if !slices.Equal(ids, row.ids) || !slices.Equal(roles, row.roles) {
			t.Errorf("%s: %v %v, want %v %v", row.name, ids, roles, row.ids, row.roles)
		}
	}
}

// TestComposeAll holds merging and roles against a version that tries all pairs.
func TestComposeAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sources := make([]arrange.Source, rapid.IntRange(0, 24).Draw(t, "sources"))
		for i := range sources {
			sources[i] = arrange.Source{ID: string(rune('a' + i)), AtMs: unit.Milliseconds(rapid.IntRange(0, 60).Draw(t, "ms")),
				Pitch: unit.Pitch(60 + rapid.IntRange(0, 4).Draw(t, "pitch")), Role: rapid.SampledFrom([]arrange.Role{"", "", "lead", "bass", "fill"}).Draw(t, "role")}
		}
		notes := arrange.Compose(sources)
		slices.SortStableFunc(sources, func(a, b arrange.Source) int {
			if a.AtMs != b.AtMs {
				return int(a.AtMs - b.AtMs)
			}
			return int(a.Pitch - b.Pitch)
		})
		first := make([]int, len(sources)) // the source that each is merged into
		for i, s := range sources {
			first[i] = i
			for j := range i {
				if first[j] == j && sources[j].Pitch == s.Pitch && s.AtMs-sources[j].AtMs <= 10 {
					first[i] = j
				}
			}
		}
		at, start := 0, 0
		for i, s := range sources {
			if first[i] != i {
				continue
			}
			if s.AtMs-sources[start].AtMs > 10 {
				start = i
			}
			highest, lowest := true, true
			for j, o := range sources {
				if first[j] == j && o.AtMs >= sources[start].AtMs && o.AtMs-sources[start].AtMs <= 10 && j >= start {
					highest, lowest = highest && o.Pitch <= s.Pitch, lowest && o.Pitch >= s.Pitch
				}
			}
			best := arrange.Role("")
			for j, o := range sources {
				if first[j] != i {
					continue
				}
				role := o.Role
				if role == "" {
					role = map[[2]bool]arrange.Role{{true, true}: "lead", {true, false}: "lead", {false, true}: "bass", {false, false}: "fill"}[[2]bool{highest, lowest}]
				}
				if role.Value() > best.Value() {
					best = role
				}
			}
			if at >= len(notes) || notes[at].ID != s.ID || notes[at].Role != best || notes[at].Value != best.Value() || notes[at].Pitch != s.Pitch || notes[at].OnsetMs != s.AtMs {
				t.Fatalf("note %d is not %+v as %s: %+v", at, s, best, notes)
			}
			at++
		}
		if at != len(notes) {
			t.Fatalf("%d notes, want %d", len(notes), at)
		}
	})
}
