package bench

import (
	"encoding/json"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pinwright/pinmap/project"
)

// severalJob is the demo with two other tunes on its cylinder, or with one on a comb of its own.
func severalJob(t testing.TB, layout string) Job {
	t.Helper()
	demo := demoJob(t)
	other := string(project.Encode(project.File{FileName: "other.mid", Tune: demo.Tune, Setup: demo.Setup}))
	projects := []string{other, other}
	if layout == "combs" {
		projects = projects[:1]
	}
	change, err := json.Marshal(map[string]any{"kind": "setup", "setup": map[string]any{"title": "First <of> three", "cylinder": map[string]any{"toothSpacingMm": 2.4},
		"beside": map[string]any{"layout": layout, "gapMm": map[string]float64{"shift": 0, "combs": 5}[layout], "projects": []json.RawMessage{}}}})
	if err != nil {
		t.Fatal(err)
	}
	line := strings.Replace(string(change), `"projects":[]`, `"projects":[`+strings.Join(projects, ",")+`]`, 1)
	return jobOf(t, demo.FileName, demo.Tune, nil, json.RawMessage(line))
}

// TestSeveralTunesInEveryFile: each hole of each tune stands in each file once, in its place.
func TestSeveralTunesInEveryFile(t *testing.T) {
	for _, layout := range []string{"shift", "combs"} {
		t.Run(layout, func(t *testing.T) {
			j := severalJob(t, layout)
			holes := j.Result.Holes()
			if len(holes) < len(j.Result.Pins)*2-5 || len(j.Result.Beside) == 0 {
				t.Fatalf("%d holes of %d pins and the other tunes", len(holes), len(j.Result.Pins))
			}
			// holes.csv
			_, rows := table(t, made(t, "holes.csv", j))
			if len(rows) != len(holes) {
				t.Fatalf("holes.csv has %d rows; want %d", len(rows), len(holes))
			}
			numbers := map[string]bool{}
			for i, h := range holes {
				axial, _ := strconv.ParseFloat(rows[i]["axialMm"], 64)
				angle, _ := strconv.ParseFloat(rows[i]["angleDeg"], 64)
				if rows[i]["tune"] != project.TuneLetter(h.Tune) || rows[i]["note"] != h.Note || !near(axial, float64(h.AxialMm), 1e-6) || !near(angle, float64(h.AngleDeg), 1e-6) ||
					rows[i]["noteName"] != j.Result.ToothOf(h).Note {
					t.Fatalf("hole %d is %v; want %+v on %s", i+1, rows[i], h, j.Result.ToothOf(h).Note)
				}
				numbers[rows[i]["hole"]+string(rune('a'+h.Tune))] = true
			}
			if len(numbers) != len(holes) {
				t.Errorf("%d numbers for %d holes", len(numbers), len(holes))
			}
			// the map
			m := readMap(t, string(made(t, "drill-map.html", j)))
			seen := map[int]bool{}
			for _, sheet := range m.sheets {
				for _, c := range sheet.circles {
					h := holes[c.pin-1]
					seen[c.pin] = true
					if c.tooth != h.Tooth || !near(c.angle, float64(h.AngleDeg), 1e-6) {
						t.Fatalf("circle %+v; want the hole %+v", c, h)
					}
				}
				for _, words := range []string{"a: First <of> three", "b: ", "farther from the bass-end face"} {
					if !strings.Contains(sheet.text, words) {
						t.Errorf("a sheet does not say %q", words)
					}
				}
			}
			if len(seen) != len(holes) {
				t.Errorf("%d of %d holes are on the map", len(seen), len(holes))
			}
			for number := range numbers {
				if !strings.Contains(m.raw, ">"+number+"<") {
					t.Errorf("the number %s stands nowhere on the map", number)
					break
				}
			}
			// the drawings and the programs
			for _, file := range []struct{ name, pattern string }{
				{"map.svg", `<circle cx="(?P<arc>[^"]+)" cy="(?P<axial>[^"]+)"`},
				{"map.dxf", `(?s)CIRCLE\r?\n.{0,20}?HOLES\r?\n *10\r?\n *(?P<arc>\S+)\r?\n *20\r?\n *(?P<axial>\S+)`},
				{"drill.ngc", `(?m)^G0 A(?P<angle>\S+)\nG98 G8[13] X(?P<axial>\S+)`},
			} {
				pattern := regexp.MustCompile(file.pattern)
				visited := make([]bool, len(holes))
				found := pattern.FindAllStringSubmatch(string(made(t, file.name, j)), -1)
				for _, f := range found {
					angle := 0.0
					if i := pattern.SubexpIndex("angle"); i >= 0 {
						angle, _ = strconv.ParseFloat(f[i], 64)
					} else {
						arc, _ := strconv.ParseFloat(f[pattern.SubexpIndex("arc")], 64)
						angle = arc / float64(j.Result.Cylinder.CircumferenceMm) * 360
					}
					axial, _ := strconv.ParseFloat(f[pattern.SubexpIndex("axial")], 64)
					i := slices.IndexFunc(holes, func(h project.Hole) bool {
						return math.Abs(math.Remainder(angle-float64(h.AngleDeg), 360)) < 0.001 && near(axial, float64(h.AxialMm), 0.001)
					})
					if i < 0 || visited[i] {
						t.Fatalf("%s: a hole at %v° and %v mm is none, or is there twice", file.name, angle, axial)
					}
					visited[i] = true
				}
				if len(found) != len(holes) {
					t.Errorf("%s has %d of %d holes", file.name, len(found), len(holes))
				}
			}
			// what is of one tune stays so
			alone := j
			one := *j.Result
			one.Beside = nil
			alone.Result = &one
			for _, name := range []string{"arrangement.mid", "audition.wav"} {
				if string(made(t, name, j)) != string(made(t, name, alone)) {
					t.Errorf("%s is of more than the project's own tune", name)
				}
			}
		})
	}
}
