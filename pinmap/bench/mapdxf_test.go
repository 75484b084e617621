package bench

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/pinmap"
	"pinwright/pinmap/project"
)

// pair is a group code with its value.
type pair struct {
	code  int
	value string
}

// pairs reads a DXF file strictly: two lines a pair, ASCII without control characters, no longer than release 12 takes.
func pairs(t fataler, data []byte) []pair {
	t.Helper()
	lines := strings.Split(strings.TrimSuffix(string(data), "\n"), "\n")
	if len(lines)%2 != 0 {
		t.Fatalf("%d lines, want two for each pair", len(lines))
	}
	var read []pair
	for i := 0; i < len(lines); i += 2 {
		code, err := strconv.Atoi(strings.TrimSpace(lines[i]))
		if err != nil {
			t.Fatalf("line %d is no group code: %q", i+1, lines[i])
		}
		if strings.ContainsFunc(lines[i+1], func(r rune) bool { return r < ' ' || r > '~' }) || len(lines[i+1]) > 255 {
			t.Fatalf("line %d cannot be read: %q", i+2, lines[i+1])
		}
		read = append(read, pair{code, lines[i+1]})
	}
	return read
}

// entity is one of the drawing, its values by group code; of an entity no code comes twice.
type entity map[int]string

func (e entity) number(t fataler, code int) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(e[code], 64)
	if err != nil {
		t.Fatalf("group %d of %v: %v", code, e, err)
	}
	return v
}

// entities gives those of the section of that name.
func entities(t fataler, read []pair) []entity {
	t.Helper()
	from := slices.Index(read, pair{2, "ENTITIES"})
	if from < 0 || read[len(read)-1] != (pair{0, "EOF"}) || read[len(read)-2] != (pair{0, "ENDSEC"}) {
		t.Fatalf("there is no section of entities, or it does not end the file")
	}
	var all []entity
	for _, p := range read[from+1 : len(read)-2] {
		if p.code == 0 {
			all = append(all, entity{})
		}
		e := all[len(all)-1]
		if _, twice := e[p.code]; twice {
			t.Fatalf("group %d stands twice in %v", p.code, e)
		}
		e[p.code] = p.value
	}
	return all
}

func TestMapDXF(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyResult(t)
		r.Title = rapid.OneOf(rapid.String(), rapid.SampledFrom(hostile)).Draw(t, "title")
		r.Setup.Date = rapid.SampledFrom(hostile).Draw(t, "date")
		r.Comb.Teeth[0].Note = rapid.SampledFrom(hostile).Draw(t, "note")
		all := entities(t, pairs(t, file(t, "map.dxf", r)))
		kinds := map[string]int{}
		var holes []entity
		for _, e := range all {
			kinds[e[8]+" "+e[0]]++
			if e[8] == holesLayer {
				holes = append(holes, e)
			}
			if e[0] == "LINE" && e[8] == tracksLayer && e[20] != e[21] {
				t.Fatalf("a track is no ring: %v", e)
			}
		}
		if len(holes) != len(r.Pins) || kinds["HOLES CIRCLE"] != len(r.Pins) || kinds["NUMBERS TEXT"] != len(r.Pins) || kinds["TRACKS LINE"] != len(r.Comb.Teeth) ||
			kinds["OUTLINE LINE"] != 4 || kinds["DATUM LINE"] != 4 {
			t.Fatalf("for %d pins and %d teeth the drawing has %v", len(r.Pins), len(r.Comb.Teeth), kinds)
		}
		for i, pin := range r.Pins {
			h := holes[i]
			if !near(h.number(t, 10), float64(pin.ArcMm), 1e-6) || !near(h.number(t, 20), float64(pin.AxialMm), 1e-6) ||
				!near(2*h.number(t, 40), float64(r.Cylinder.PinDiameterMm), 2e-6) {
				t.Fatalf("circle %v is not pin %+v", h, pin)
			}
		}

		// The hand turns the words, never what is drawn.
		r.Cylinder.BassEnd, r.Cylinder.Turns = pinmap.Right, pinmap.Down
		if r.Cylinder.AxialRunsUp() {
			r.Cylinder.Turns = pinmap.Up
		}
		other := entities(t, pairs(t, file(t, "map.dxf", r)))
		for i, e := range all {
			if e[8] != notesLayer && fmt.Sprint(e) != fmt.Sprint(other[i]) {
				t.Fatalf("another hand gives %v, not %v", other[i], e)
			}
		}
	})
}

// readDXF has ezdxf read maps and audit them.
const readDXF = `
import json, sys, ezdxf
from ezdxf import recover
from ezdxf.tools.text import plain_text

def read(path):
    strict = ezdxf.readfile(path)
    drawing, found = recover.readfile(path)  # which decodes the digits of a character
    audit = strict.audit()
    space = drawing.modelspace()
    with open(path, encoding="ascii") as f:
        comment = [f.readline().strip() for _ in range(2)]
    return {
        "version": strict.dxfversion,
        "errors": [e.message for e in audit.errors + audit.fixes + found.errors + found.fixes],
        "layers": [l.dxf.name for l in drawing.layers],
        "holes": [[*e.dxf.center, e.dxf.radius] for e in space.query('CIRCLE[layer=="HOLES"]')],
        "onHoles": len(space.query('*[layer=="HOLES"]')),
        "lines": [[e.dxf.layer, e.dxf.start.x, e.dxf.start.y, e.dxf.end.x, e.dxf.end.y] for e in space.query('LINE')],
        "texts": [plain_text(e.dxf.text) for e in space.query('TEXT[layer=="NOTES"]')],
        "numbers": [e.dxf.text for e in space.query('TEXT[layer=="NUMBERS"]')],
        "extents": [list(strict.header["$EXTMIN"]), list(strict.header["$EXTMAX"])],
        "comment": comment,
    }

print(json.dumps([read(path) for path in sys.argv[1:]]))
`

// drawn is what ezdxf found.
type drawn struct {
	Version string
	Errors  []string
	Layers  []string
	Holes   [][4]float64
	OnHoles int
	Lines   [][]any
	Texts   []string
	Numbers []string
	Extents [2][3]float64
	Comment []string
}

// ezdxf reads the maps of jobs, all in one run.
func ezdxf(t testing.TB, jobs ...Job) []drawn {
	t.Helper()
	dir := t.TempDir()
	arguments := []string{"-c", readDXF}
	for i, j := range jobs {
		path := filepath.Join(dir, strconv.Itoa(i)+".dxf")
		if err := os.WriteFile(path, programOf(t, mapDXF, j), 0o600); err != nil {
			t.Fatal(err)
		}
		arguments = append(arguments, path)
	}
	command := exec.Command("/usr/bin/python3", arguments...)
	var complaints bytes.Buffer
	command.Stderr = &complaints
	out, err := command.Output()
	if err != nil {
		t.Fatalf("ezdxf: %v; %s", err, complaints.String())
	}
	var all []drawn
	if err := json.Unmarshal(out, &all); err != nil || len(all) != len(jobs) {
		t.Fatalf("ezdxf: %v; %s", err, out)
	}
	return all
}

// needEzdxf says that Debian's python3-ezdxf is needed.
func needEzdxf(t testing.TB) {
	t.Helper()
	judged(t, "the DXF map read back", "/usr/bin/python3")
	if err := exec.Command("/usr/bin/python3", "-c", "import ezdxf").Run(); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("the DXF map needs python3-ezdxf: %v", err)
		}
		t.Skipf("SKIPPED: the DXF map read back: python3-ezdxf is not installed (%v)", err)
	}
}

// TestReadByEzdxf has ezdxf read the map of the demo, of ten real tunes and of a crowded cylinder: nothing is found wrong, each circle on HOLES equals its
// pin to 0.001 mm.
func TestReadByEzdxf(t *testing.T) {
	needEzdxf(t)
	jobs := realJobs(t)
	jobs["300 pins, the other hand"] = func() Job {
		c := compact()
		c.Turns = pinmap.Down
		return Job{Result: result(c, 72, tuneful(72, 300, 18))}
	}()
	jobs["no pins"] = Job{Result: result(compact(), 6, nil)}
	names := slices.Sorted(maps.Keys(jobs))
	var inOrder []Job
	for _, name := range names {
		inOrder = append(inOrder, jobs[name])
	}
	for i, d := range ezdxf(t, inOrder...) {
		t.Run(names[i], func(t *testing.T) { checkDrawn(t, inOrder[i].Result, d) })
	}
}

func checkDrawn(t *testing.T, r *project.Result, d drawn) {
	t.Helper()
	c := r.Cylinder
	if d.Version != "AC1009" || len(d.Errors) > 0 {
		t.Errorf("version %s, faults %q", d.Version, d.Errors)
	}
	for _, layer := range []string{"HOLES", "OUTLINE", "DATUM", "TRACKS", "NUMBERS", "NOTES"} {
		if !slices.Contains(d.Layers, layer) {
			t.Errorf("there is no layer %s among %v", layer, d.Layers)
		}
	}
	if d.Comment[0] != "999" || !strings.Contains(d.Comment[1], "millimetres") {
		t.Errorf("the file begins with %q, no comment that says the unit", d.Comment)
	}
	if len(d.Holes) != len(r.Pins) || d.OnHoles != len(r.Pins) || len(d.Numbers) != len(r.Pins) {
		t.Fatalf("%d circles, %d things on their layer, %d numbers; want %d", len(d.Holes), d.OnHoles, len(d.Numbers), len(r.Pins))
	}
	for i, pin := range r.Pins {
		h := d.Holes[i]
		if !near(h[0], float64(pin.ArcMm), 1e-3) || !near(h[1], float64(pin.AxialMm), 1e-3) || h[2] != 0 || !near(2*h[3], float64(c.PinDiameterMm), 1e-3) || d.Numbers[i] != strconv.Itoa(drillingNumbers(r.Pins)[i]) {
			t.Fatalf("circle %v, number %s, is not pin %+v", h, d.Numbers[i], pin)
		}
	}
	for _, l := range d.Lines {
		x1, y1, x2, y2 := l[1].(float64), l[2].(float64), l[3].(float64), l[4].(float64)
		onEdge := func(v, far float64) bool { return near(v, 0, 1e-3) || near(v, far, 1e-3) }
		wide, long := float64(c.CircumferenceMm), float64(c.LengthMm)
		ok := false
		switch l[0] {
		case "OUTLINE":
			ok = onEdge(x1, wide) && onEdge(x2, wide) && onEdge(y1, long) && onEdge(y2, long)
		case "DATUM":
			ok = onEdge(x1, wide) && x1 == x2 && (y1 < 0 && y2 < 0 || y1 > long && y2 > long)
		case "TRACKS":
			ok = near(x1, 0, 1e-3) && near(x2, wide, 1e-3) && y1 == y2 && slices.ContainsFunc(r.Comb.Teeth, func(tooth project.ToothView) bool { return near(y1, float64(c.AxialMm(tooth.Tooth)), 1e-3) })
		}
		if !ok {
			t.Errorf("the line %v has no place", l)
		}
		for _, y := range []float64{y1, y2} {
			if y < d.Extents[0][1] || y > d.Extents[1][1] {
				t.Errorf("the line %v lies outside the extents %v", l, d.Extents)
			}
		}
	}
}

// TestTextsReadByEzdxf checks that what users wrote comes through as text, and nothing more of it.
func TestTextsReadByEzdxf(t *testing.T) {
	needEzdxf(t)
	r := result(compact(), 18, tuneful(18, 18, 18))
	for i := range r.Comb.Teeth {
		r.Comb.Teeth[i].Note = hostile[i%len(hostile)]
	}
	rows := [][2]string{ // a title and how it is read; empty: cut
		{"Glöckchen ☃ 日本語", "Glöckchen ☃ 日本語"},
		{"caret ^J, back\\slash \\P {x}", "caret ^J, back\\slash \\P {x}"},
		{"\\U+0041", "\\U+0041"},
		{"100 %", "100 %"},
		{"%%u under %%177 %%%", "% %u under % %177 % % %"},
		{"line\n  0\nEOF\n", "line   0 EOF "},
		{"nul\x00 and beyond \U0001f3b5", "nul  and beyond \ufffd"},
		{strings.Repeat("日本", 9), strings.Repeat("日本", 9)},
		{strings.Repeat("long ", 2000), ""},
	}
	var jobs []Job
	for _, row := range rows {
		titled := *r
		titled.Title = row[0]
		jobs = append(jobs, Job{Result: &titled})
	}
	for i, d := range ezdxf(t, jobs...) {
		checkDrawn(t, r, d)
		title, want, got := rows[i][0], rows[i][1], d.Texts[len(r.Comb.Teeth)]
		if want == "" {
			if !strings.HasPrefix(got, "Title: long long ") || !strings.HasSuffix(got, "…") || len(got) > 255 {
				t.Errorf("a long title is read as %q", got)
			}
		} else if got != "Title: "+want {
			t.Errorf("%q is read as %q", title, got)
		}
	}
}
