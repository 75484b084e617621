package project_test

import (
	"fmt"
	"testing"

	"pinwright/pinmap/project"
)

// TestFound holds cases that generated tunes brought to light to the laws that they broke.
func TestFound(t *testing.T) {
	for _, row := range []struct{ name, file string }{
		{"a second place in a pitch class gains what locked notes may and free ones may not", `{"schema":"pinwright/project/1","tune":"TVRoZAAAAAYAAQAEAGBNVHJrAAAAKwD/UQMDDUAA/1gEAQIYCGD/WAQDAhgIgiz/UQMGGoBU/1gEBQMYCAD/LwBNVHJrAAAAVgKQOFAGgDhAMJBQUBiAUEAwkDhQGIA4QIFIkDhQBoA4QACQOFAYgDhABpBEUACAREAwkERQGIBEQIFIkDpQBoA6QDCQOlAAgDpABpA4UACAOEAA/y8ATVRyawAAABQGkT9QGIE/QAyRM1AGgTNAAP8vAE1UcmsAAAB+AJJNUAaCTUCBSJJLUACCS0BgklJQGIJSQIFIkmpQBoJqQACSS1AAgktAAJJSUAaCUkAAkk9QGIJPQACSS1AAgktADJJNUBiCTUAAkktQBoJLQDCSalAAgmpAAJJLUAaCS0AAkktQBoJLQAGSUlAAglJAYJJLUACCS0AA/y8A","setup":{"tempo":{"mode":"written","revolutionMs":30000},"comb":{"teeth":6,"low":"E2","high":"G6","maxTwins":1,"recoveryMs":{"C5":400,"E5":30,"G5":1}},"cylinder":{"toothSpacingMm":1.2}},"decisions":[{"kind":"place","note":"n9","pitch":"A#3","twin":1},{"kind":"octave","note":"n7","octaves":1}]}`},
		{"a note shifted back across the datum line, near the last one of the turn",
			string(project.Encode(project.File{Tune: melody(played{0, c5}, played{1919, c5}, played{960, d5}), Decisions: decide(t, `{"kind": "shift", "note": "n1", "ms": -10}`),
				Setup: parse(t, `{"comb": {"mode": "fixed", "pitches": ["C5", "D5"], "dampingCycles": 0, "leastRingMs": 0, "recoveryMs": {"C5": 8}}, "transpose": {"min": 0, "max": 0},
					"cylinder": {"gapDeg": 0, "pinDiameterMm": 0.05, "holeWebMm": 0, "liftMm": 0.01, "diameterMm": 400}, "tempo": {"mode": "written"}}`)}))},
		{"a note a little after the end of the turn", string(project.Encode(project.File{Tune: melody(played{0, c5}, played{961, d5}),
			Setup: parse(t, `{"tempo": {"mode": "written", "revolutionMs": 5000}, "cylinder": {"gapDeg": 0}, "excerpt": {"fromBar": 1, "toBar": 3}}`)}))},
	} {
		t.Run(row.name, func(t *testing.T) {
			f, err := project.Decode([]byte(row.file))
			if err != nil {
				t.Fatal(err)
			}
			tn := read(t, f.Tune)
			if bad := recompute(t, tn, f.Decisions, derive(t, tn, f.Setup, f.Decisions, false)); len(bad) > 0 {
				t.Error(fmt.Sprint(bad))
			}
			checkRemedies(t, tn, f.Setup, f.Decisions)
		})
	}
}
