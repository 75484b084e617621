package bench

import (
	"bytes"
	"errors"
	"flag"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange"
	"pinwright/arrange/phrase"
	"pinwright/pinmap/project"
)

var update = flag.Bool("update", false, "write the golden files anew")

func TestGolden(t *testing.T) {
	c := compact()
	r := blocked(result(c, 6, []strike{{1, 9}, {5, 9}, {6, 62.5}, {3, 121}, {3, 180.25}, {2, 351}}), 2)
	r.Setup.Date = "2024-03-01"
	r.Arrangement.Transpose = -2
	r.Arrangement.Dropped = []project.Dropped{{Note: "n9", Reason: phrase.Text("no tooth has C2")}}
	r.Arrangement.Plucks[2].Octaves, r.Arrangement.Plucks[3].ShiftMs = 1, -12.5
	r.Decisions = []project.DecisionView{{Text: phrase.Text("C5 in bar 3 moved up an octave")}}
	for name, m := range map[string]string{"drill-map.html": "drill-map.html", "map.svg": "map.svg", "map.dxf": "map.dxf",
		"drill.ngc": "drill.ngc", "drill-dry.ngc": "drill-dry.ngc", "holes.csv": "holes.csv", "comb.csv": "comb.csv"} {
		t.Run(name, func(t *testing.T) {
			maker, ok := File(m)
			if !ok {
				t.Fatalf("there is no maker of %s", m)
			}
			var got bytes.Buffer
			if err := maker.Write(&got, Job{Result: r, Paper: A4, Revision: 7, FileName: "tinker.mid", Link: sampleLink}); err != nil {
				t.Fatal(err)
			}
			path := filepath.Join("testdata", name)
			if *update {
				if err := os.WriteFile(path, got.Bytes(), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(got.Bytes(), want) {
				t.Errorf("%s differs from %s; look at it, and if it is right run go test -update", name, path)
			}
		})
	}
}

// TestMapLaws checks on any cylinder what must hold for all of them.
func TestMapLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyResult(t)
		paper := rapid.SampledFrom([]Paper{A4, A3, Letter}).Draw(t, "paper")
		var first, second bytes.Buffer
		if err := errors.Join(DrillMap(&first, r, paper), DrillMap(&second, r, paper)); err != nil {
			t.Fatalf("DrillMap: %v", err)
		}
		if !bytes.Equal(first.Bytes(), second.Bytes()) {
			t.Fatalf("the same result gave two different maps")
		}
		m := readMap(t, first.String())
		pl := planSheets(Job{Result: r}, paper, judge(r).height(), rect{})
		if len(m.sheets) != pl.sheets() {
			t.Fatalf("%d sheets are written, %d are planned", len(m.sheets), pl.sheets())
		}
		checkCover(t, pl.columns, pl.wrap)
		checkCover(t, pl.rows, pl.length)
		checkTiles(t, r, pl, m)
		checkMeets(t, r, pl, m)
		checkMarks(t, m)
	})
}

// checkCover checks that pieces cover a length and that neighbours share at least 10 mm.
func checkCover(t *rapid.T, pieces []span, length float64) {
	if pieces[0].from != 0 || pieces[len(pieces)-1].to != length {
		t.Fatalf("pieces %v do not cover 0 to %v", pieces, length)
	}
	for i := 1; i < len(pieces); i++ {
		if shared := pieces[i-1].to - pieces[i].from; shared < 10 {
			t.Fatalf("pieces %d and %d share %.3f mm, want at least 10", i, i+1, shared)
		}
	}
}

// checkTiles checks that each sheet shows every hole within its bounds and no other, in its place, far enough from the
// sheet's edge.
func checkTiles(t *rapid.T, r *project.Result, pl plan, m printedMap) {
	tiles := pl.cut(r)
	c := r.Cylinder
	for n, sheet := range m.sheets {
		bounds := tiles[n]
		shown := map[int]printedHole{}
		for _, h := range sheet.circles {
			if _, twice := shown[h.pin]; twice {
				t.Fatalf("sheet %d shows hole %d twice", n+1, h.pin)
			}
			shown[h.pin] = h
			if d := math.Min(math.Min(h.x, sheet.width-h.x), math.Min(h.y, sheet.height-h.y)) - h.r; d < 3 {
				t.Fatalf("sheet %d: hole %d lies %.3f mm from the edge, want at least 3", n+1, h.pin, d)
			}
		}
		for _, pin := range r.Pins {
			u := float64(pin.AngleDeg) / 360 * math.Pi * float64(c.DiameterMm+c.PaperMm)
			v := float64(pin.AxialMm)
			if (c.BassEnd == "left") == (c.Turns == "up") {
				v = float64(c.LengthMm) - v
			}
			inside := u >= bounds.u.from && u <= bounds.u.to && v >= bounds.v.from && v <= bounds.v.to
			h, ok := shown[pin.Pin]
			if ok != inside {
				t.Fatalf("sheet %d shows hole %d: %v, within its bounds: %v", n+1, pin.Pin, ok, inside)
			}
			if !ok {
				continue
			}
			if !near(h.x, bounds.x+u-bounds.u.from, 1e-3) || !near(h.y, bounds.y+v-bounds.v.from, 1e-3) || !near(h.r, float64(c.PinDiameterMm)/2, 1e-4) ||
				h.tooth != pin.Tooth || !near(h.angle, float64(pin.AngleDeg), 1e-6) {
				t.Fatalf("sheet %d: hole %+v is not pin %+v", n+1, h, pin)
			}
			delete(shown, pin.Pin)
		}
		if len(shown) > 0 {
			t.Fatalf("sheet %d shows holes that no pin has: %v", n+1, shown)
		}
	}
}

// checkMeets checks that every mark that must meet another stands on the datum line and, at the same height, π(D + p) on, on
// all sheets that show its place; there are at least two, so that a twist shows.
func checkMeets(t *rapid.T, r *project.Result, pl plan, m printedMap) {
	wrap := math.Pi * float64(r.Cylinder.DiameterMm+r.Cylinder.PaperMm)
	heights := map[string]float64{}
	ends := map[string]bool{}
	for n, tile := range pl.cut(r) {
		for name, at := range m.sheets[n].meets {
			letter, angle, _ := strings.Cut(name, " ")
			u, v := at[0]-tile.x+tile.u.from, at[1]-tile.y+tile.v.from
			if want := map[string]float64{"0": 0, "360": wrap}[angle]; !near(u, want, 1e-3) {
				t.Fatalf("sheet %d: the mark %s lies %.4f mm from the datum line, want %.4f", n+1, name, u, want)
			}
			if before, seen := heights[letter]; seen && !near(v, before, 1e-3) || v < 0 || v > pl.length {
				t.Fatalf("sheet %d: the mark %s lies %.4f mm down, its like %.4f", n+1, name, v, before)
			}
			heights[letter], ends[name] = v, true
		}
	}
	if len(heights) < 2 || len(ends) != 2*len(heights) {
		t.Fatalf("marks that must meet: %v", ends)
	}
}

// checkMarks checks that laying sheets on their common match marks lays their common holes on each other.
func checkMarks(t *rapid.T, m printedMap) {
	type seen struct {
		sheet int
		at    [2]float64
	}
	marks := map[string]seen{}
	for n, s := range m.sheets {
		if len(m.sheets) > 1 && len(s.marks) < 2 {
			t.Fatalf("sheet %d has %d match marks, want at least 2", n+1, len(s.marks))
		}
		for name, at := range s.marks {
			if at[0] < 5 || at[1] < 5 || at[0] > s.width-5 || at[1] > s.height-5 {
				t.Fatalf("sheet %d: mark %s lies at %v, off the sheet", n+1, name, at)
			}
			other, ok := marks[name]
			if !ok {
				marks[name] = seen{n, at}
				continue
			}
			dx, dy := at[0]-other.at[0], at[1]-other.at[1]
			there := map[int]printedHole{}
			for _, h := range m.sheets[other.sheet].circles {
				there[h.pin] = h
			}
			for _, h := range s.circles {
				if o, both := there[h.pin]; both && (!near(h.x-o.x, dx, 1e-3) || !near(h.y-o.y, dy, 1e-3)) {
					t.Fatalf("mark %s on sheets %d and %d lays hole %d at (%.3f, %.3f) off itself", name, other.sheet+1, n+1, h.pin, h.x-o.x-dx, h.y-o.y-dy)
				}
			}
		}
	}
}

func TestNothingFromOutside(t *testing.T) {
	r := result(compact(), 18, tuneful(18, 40, 18))
	const hostile = `</title></style><script>alert(1)</script><img src=x onerror=alert(1)>"'&` + "\x00\u202egpj.exe"
	r.Title, r.Tune.Title, r.Setup.Date = hostile, hostile+"2", hostile
	r.Comb.Teeth[0].Note, r.Comb.Teeth[0].GovernedBy = hostile, hostile
	r.Findings = []arrange.Finding{{Blocks: true, Text: phrase.Text(hostile)}, {Text: phrase.Text(hostile), Notes: []string{hostile}}}
	r.Arrangement.Dropped = []project.Dropped{{Note: hostile, Reason: phrase.Text(hostile)}}
	r.Decisions = []project.DecisionView{{Text: phrase.Text(hostile)}}
	r.Tune.Notes[0].Name = hostile
	r.Arrangement.Plucks[0].Octaves = 1
	for _, name := range []string{"drill-map.html", "map.svg"} {
		maker, _ := File(name)
		var b bytes.Buffer
		if err := maker.Write(&b, Job{Result: r, Paper: A4, FileName: hostile}); err != nil {
			t.Fatal(err)
		}
		raw := b.String()
		lower := strings.ToLower(raw)
		for _, bad := range []string{"<script", "<img", "<link", "<iframe", "<foreignobject", "url(", "@import", "javascript:", "\x00", "\u202e"} {
			if strings.Contains(lower, bad) {
				t.Errorf("%s contains %q", name, bad)
			}
		}
		if on := regexp.MustCompile(`<[^>]* on\w+=`).FindString(raw); on != "" {
			t.Errorf("%s has a handler: %s", name, on)
		}
		if rest := strings.ReplaceAll(raw, "http://www.w3.org/2000/svg", ""); regexp.MustCompile(`(?i)https?://|<[^>]* (src|href|srcset|data|style)=`).MatchString(rest) {
			t.Errorf("%s names something outside itself", name)
		}
		if !strings.Contains(raw, "&lt;script&gt;") {
			t.Errorf("%s does not show the title as text", name)
		}
	}
}

func TestWordsOnEverySheet(t *testing.T) {
	c := compact()
	c.DiameterMm = 120
	r := blocked(result(c, 60, tuneful(60, 300, 18)), 9)
	m := write(t, r, A4)
	if len(m.sheets) < 2 {
		t.Fatalf("%d sheets, want several", len(m.sheets))
	}
	for n, s := range m.sheets {
		for _, want := range []string{
			"NOT clear to drill: 9 findings stand in the way", "C5 comes again after 180 ms. This tooth needs 258 ms; its damper governs.",
			"5 more, in full under Findings", "measure before use: this must be 100 mm", "key plan", "The tinker's morning", "not given", "1:1, mm and degrees",
			"Hole 1 (pin 1): tooth 1, C4, 9.00 degrees, 9.42 mm from the datum line, 1.50 mm from the bass-end face", "(pin 3): tooth",
			"Numbers beside holes are the drilling order", "number drill 80", "no gloves near the spindle", "must meet their like",
		} {
			if !strings.Contains(s.text, want) {
				t.Errorf("sheet %d does not say %q", n+1, want)
			}
		}
	}
	r.ClearToDrill, r.Findings = true, nil
	if m = write(t, r, A4); !strings.Contains(m.sheets[0].text, "Clear to drill") || strings.Contains(m.sheets[0].text, "NOT") {
		t.Error("a map without findings does not say that it is clear to drill")
	}
	r.ClearToDrill = false // a result that contradicts itself is not clear
	if m = write(t, r, A4); !strings.Contains(m.sheets[0].text, "NOT clear to drill") {
		t.Error("a map that is not clear says that it is")
	}
}

// TestNumbers checks that no number covers a hole or another number.
func TestNumbers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := newField(rect{0, 0, 30, 20}, smallest)
		type hole struct{ x, y float64 }
		holes := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) hole {
			return hole{rapid.Float64Range(1, 29).Draw(t, "x"), rapid.Float64Range(1, 19).Draw(t, "y")}
		}), 1, 80).Draw(t, "holes")
		const r = 0.2
		for _, h := range holes {
			f.take(rect{h.x - r, h.y - r, 2 * r, 2 * r})
		}
		var boxes []rect
		for _, h := range holes {
			s, ok := f.place(h.x, h.y, r, 3)
			if !ok {
				continue
			}
			for _, o := range holes {
				if overlaps(s.box, rect{o.x - r, o.y - r, 2 * r, 2 * r}) {
					t.Fatalf("the number in %v covers the hole at %v", s.box, o)
				}
			}
			for _, o := range boxes {
				if overlaps(s.box, o) {
					t.Fatalf("the numbers in %v and %v cover each other", s.box, o)
				}
			}
			boxes = append(boxes, s.box)
		}
		if len(boxes) == 0 {
			t.Fatalf("no number found room among %d holes", len(holes))
		}
	})
}

func overlaps(a, b rect) bool {
	return a.x < b.x+b.w-1e-9 && b.x < a.x+a.w-1e-9 && a.y < b.y+b.h-1e-9 && b.y < a.y+a.h-1e-9
}

func TestParsePaper(t *testing.T) {
	for name, want := range map[string]Paper{"": A4, "a4": A4, "A3": A3, " Letter ": Letter} {
		if got, err := ParsePaper(name); err != nil || got != want {
			t.Errorf("ParsePaper(%q) = %q, %v, want %q", name, got, err, want)
		}
	}
	for _, name := range []string{"a5", "legal", "a4;", strings.Repeat("a", 1000)} {
		if got, err := ParsePaper(name); err == nil {
			t.Errorf("ParsePaper(%.20q) = %q, want an error", name, got)
		}
	}
}

// failing is a writer that stops taking bytes.
type failing struct{ left int }

var errFull = errors.New("full")

func (f *failing) Write(b []byte) (int, error) {
	if len(b) > f.left {
		return 0, errFull
	}
	f.left -= len(b)
	return len(b), nil
}

func TestWriteErrors(t *testing.T) {
	r := result(compact(), 18, tuneful(18, 60, 18))
	for _, name := range Names() {
		maker, ok := File(name)
		if !ok || maker.MediaType == "" {
			t.Fatalf("%s is offered but cannot be made", name)
		}
		if err := maker.Write(&failing{}, Job{Result: r}); !errors.Is(err, errFull) {
			t.Errorf("%s to a full writer: %v, want %v", name, err, errFull)
		}
	}
	if _, ok := File("../drill-map.html"); ok {
		t.Error("a file that is not offered can be made")
	}
}

func BenchmarkDrillMap(b *testing.B) {
	big := compact()
	big.DiameterMm = 400
	for _, bench := range []struct {
		name string
		r    *project.Result
	}{
		{"18 teeth, 110 pins", result(compact(), 18, tuneful(18, 110, 18))},
		{"144 teeth, 5000 pins", result(big, 144, tuneful(144, 5000, 18))},
		{"144 teeth, 20000 pins", result(big, 144, tuneful(144, 20000, 18))},
	} {
		b.Run(bench.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if err := DrillMap(io.Discard, bench.r, A4); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
