package project_test

import (
	"testing"

	"pinwright/arrange"
)

// TestCoarseTools: a tool that rounds farther than a note may be shifted stands in the way, though no repeat breaks.
func TestCoarseTools(t *testing.T) {
	tn := read(t, melody(played{0, c5}, played{960, d5}, played{1300, c5 + 4}))
	for _, row := range []struct {
		name, bench string
		coarse      bool
	}{
		{"20 divisions, 9° from one to the next", `{"method": "wheel", "wheelDivisions": 20}`, true},
		{"360 divisions, half a degree off at most, 20 ms", `{"method": "wheel", "wheelDivisions": 360}`, false},
		{"one circle of a hole", `{"method": "head", "headCircles": [1]}`, true},
		{"the wrap rounds nothing", `{"method": "wrap"}`, false},
	} {
		t.Run(row.name, func(t *testing.T) {
			r := derive(t, tn, parse(t, `{"bench": `+row.bench+`}`), nil, true)
			f := find(r, "indexing-coarse")
			if (f != nil) != row.coarse || row.coarse == r.ClearToDrill {
				t.Fatalf("the finding is %v, clear to drill %v", f, r.ClearToDrill)
			}
			if f == nil {
				return
			}
			if !f.Blocks || f.Have.Value <= f.Need.Value || f.Need.Value != 25 || len(f.Remedies) == 0 {
				t.Errorf("it has %v, needs %v, %d remedies", f.Have, f.Need, len(f.Remedies))
			}
			for _, remedy := range f.Remedies {
				then := derive(t, tn, parse(t, `{"bench": `+row.bench+`}`), []arrange.Decision{remedy.Decision}, false)
				if find(then, "indexing-coarse") != nil {
					t.Errorf("%s does not mend it", remedy.Label)
				}
			}
		})
	}
}
