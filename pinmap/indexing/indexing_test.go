package indexing_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange/unit"
	"pinwright/pinmap"
	"pinwright/pinmap/indexing"
)

const turn = unit.Milliseconds(14_400) // 40 ms a degree

// pinsAt lays pins out at angles, on the teeth given.
func pinsAt(c pinmap.Cylinder, teeth []int, angles ...unit.Degrees) []pinmap.Pin {
	pins := make([]pinmap.Pin, len(angles))
	for i, a := range angles {
		tooth := 1
		if i < len(teeth) {
			tooth = teeth[i]
		}
		pins[i] = pinmap.Pin{Pin: i + 1, Tooth: tooth, AngleDeg: a, ArcMm: c.ArcMm(a), AxialMm: c.AxialMm(tooth)}
	}
	return pins
}

func with(m pinmap.Method, change func(*pinmap.Bench)) pinmap.Bench {
	b := pinmap.DefaultBench()
	b.Method = m
	if change != nil {
		change(&b)
	}
	return b
}

// TestSettings gives what is set for one hole, by hand: the angle over the unit, rounded.
func TestSettings(t *testing.T) {
	for _, test := range []struct {
		name    string
		bench   pinmap.Bench
		angle   unit.Degrees
		want    string
		reached float64
	}{
		{"wrap", with(pinmap.Wrap, nil), 12.3456, "", 12.3456},
		{"tenths of a degree", with(pinmap.Degrees, nil), 12.3456, "12.3°", 12.3},
		{"quarters of a degree", with(pinmap.Degrees, func(b *pinmap.Bench) { b.LeastDeg = 0.25 }), 12.3456, "12.25°", 12.25},
		{"degrees past the last mark", with(pinmap.Degrees, nil), 359.97, "0.0°", 0},
		{"marks that do not divide the circle", with(pinmap.Degrees, func(b *pinmap.Bench) { b.LeastDeg = 0.7 }), 359.7, "359.8°", 359.8},
		{"nearer to the datum line than to the last of them", with(pinmap.Degrees, func(b *pinmap.Bench) { b.LeastDeg = 0.7 }), 359.95, "0.0°", 0},
		{"minutes", with(pinmap.Sixties, nil), 12.3456, "12° 21′", 12.35},
		{"half minutes", with(pinmap.Sixties, func(b *pinmap.Bench) { b.LeastSec = 30 }), 12.34, "12° 20′ 30″", 12.341666667},
		{"tenths of a second", with(pinmap.Sixties, func(b *pinmap.Bench) { b.LeastSec = 0.1 }), 1.0014, "1° 00′ 05.0″", 1.001388889},
		{"a dividing head", with(pinmap.Head, nil), 35, "3 turns 16 holes on the 18 circle", 35},
		{"a dividing head near the end", with(pinmap.Head, func(b *pinmap.Bench) { b.HeadCircles = []int{15} }), 359.8, "the datum line", 0},
		{"a head of 90:1, 4° a turn", with(pinmap.Head, func(b *pinmap.Bench) { b.HeadRatio, b.HeadCircles = 90, []int{20} }), 9, "2 turns 5 holes on the 20 circle", 9},
		{"one turn, one hole", with(pinmap.Head, func(b *pinmap.Bench) { b.HeadCircles = []int{18} }), 9.5, "1 turn 1 hole on the 18 circle", 9.5},
		{"a wheel", with(pinmap.Wheel, func(b *pinmap.Bench) { b.WheelDivisions = 100 }), 35, "division 10", 36},
		{"a stepper", with(pinmap.Stepper, nil), 138.8, "step 1\u00a0234", 138.825},
		{"a geared stepper", with(pinmap.Stepper, func(b *pinmap.Bench) { b.MotorRatio = 3.7 }), 35, "step 1\u00a0151", 34.996622},
		{"a vernier, 13 mm", with(pinmap.Vernier, nil), 35, "3.98 mm", 35.082647},
	} {
		t.Run(test.name, func(t *testing.T) {
			c := pinmap.DefaultCylinder()
			table := indexing.Of(test.bench, c, turn, pinsAt(c, nil, test.angle))
			row := table.Rows[0]
			if got := table.Setting(row); got != test.want {
				t.Errorf("set to %q, want %q", got, test.want)
			}
			if math.Abs(float64(row.ReachedDeg)-test.reached) > 1e-4 {
				t.Errorf("reaches %v°, want %v°", row.ReachedDeg, test.reached)
			}
			if table.Exact != (row.ErrorDeg == 0) || table.WorstDeg != max(row.ErrorDeg, -row.ErrorDeg) || math.Abs(float64(table.RMSDeg-table.WorstDeg)) > 1e-12 {
				t.Errorf("the errors of one hole differ: %+v", table)
			}
			if wantMm, wantMs := float64(row.ErrorDeg)/360*math.Pi*13, float64(row.ErrorDeg)*40; math.Abs(float64(row.ErrorMm)-wantMm) > 1e-12 || math.Abs(float64(row.ErrorMs)-wantMs) > 1e-9 {
				t.Errorf("off by %v mm and %v ms, want %v and %v", row.ErrorMm, row.ErrorMs, wantMm, wantMs)
			}
		})
	}
}

// TestMoves follows the tool over two tracks: always the same way, past the datum line from one to the next.
func TestMoves(t *testing.T) {
	c := pinmap.DefaultCylinder()
	pins := pinsAt(c, []int{3, 1, 3, 1}, 9, 35, 180, 350)
	for _, test := range []struct {
		name  string
		bench pinmap.Bench
		want  []string // in drilling order
	}{
		{"head", with(pinmap.Head, func(b *pinmap.Bench) { b.HeadCircles = []int{15, 18} }), []string{"3 turns 16 holes on the 18 circle", "35 turns", "2 turns 2 holes on the 18 circle", "19 turns"}},
		{"wheel", with(pinmap.Wheel, nil), []string{"35 divisions", "315 divisions", "19 divisions", "171 divisions"}},
		{"stepper", with(pinmap.Stepper, func(b *pinmap.Bench) { b.MotorSteps = 3600 }), []string{"350 steps", "3\u00a0150 steps", "190 steps", "1\u00a0710 steps"}},
		{"degrees", with(pinmap.Degrees, nil), []string{"", "", "", ""}},
	} {
		t.Run(test.name, func(t *testing.T) {
			table := indexing.Of(test.bench, c, turn, pins)
			for n, i := range indexing.Order(pins) {
				if row := table.Rows[i]; row.Order != n+1 || table.MoveWords(row) != test.want[n] {
					t.Errorf("hole %d: %q, want %q", n+1, table.MoveWords(row), test.want[n])
				}
			}
		})
	}
}

// TestOneCircle: one circle for the whole cylinder is exact where one is, and has the fewest holes of those.
func TestOneCircle(t *testing.T) {
	c := pinmap.DefaultCylinder()
	for _, test := range []struct {
		name   string
		angles []unit.Degrees
		circle int
		exact  bool
	}{
		{"whole degrees", []unit.Degrees{1, 35, 11.5}, 18, true},
		{"whole turns", []unit.Degrees{9, 90, 351}, 15, true},
		{"thirds of a degree", []unit.Degrees{1, 20. / 60}, 27, true},
		{"nothing", nil, 15, true},
		{"a sixteenth of 342° after 9°, 3.375 turns", []unit.Degrees{9 + 342./16}, 16, true},
		{"one of 127 parts", []unit.Degrees{360. / 127}, 19, false}, // as TestDividingHead has it
	} {
		t.Run(test.name, func(t *testing.T) {
			table := indexing.Of(with(pinmap.Head, nil), c, turn, pinsAt(c, nil, test.angles...))
			if table.Circle != test.circle || table.Exact != test.exact {
				t.Errorf("the %d circle, exact %v", table.Circle, table.Exact)
			}
		})
	}
}

// someBench draws a bench with any method and tools, among them those that do not divide the circle.
func someBench(t *rapid.T) pinmap.Bench {
	b := pinmap.DefaultBench()
	b.Method = rapid.SampledFrom(pinmap.Methods()).Draw(t, "method")
	b.LeastDeg = rapid.SampledFrom([]unit.Degrees{0.1, 0.5, 0.7, 1, 0.00001, 10}).Draw(t, "leastDeg")
	b.LeastSec = rapid.SampledFrom([]float64{60, 30, 0.1, 7, 3600}).Draw(t, "leastSec")
	b.HeadRatio = rapid.SampledFrom([]int{1, 40, 60, 90, 1000}).Draw(t, "ratio")
	b.HeadCircles = rapid.SliceOfN(rapid.IntRange(1, 1000), 1, 8).Draw(t, "circles")
	b.WheelDivisions = rapid.SampledFrom([]int{1, 24, 360, 99_999}).Draw(t, "divisions")
	b.MotorSteps = rapid.SampledFrom([]int{1, 200, 3200, 1_000_000}).Draw(t, "steps")
	b.MotorRatio = rapid.SampledFrom([]float64{1, 3.7, 0.001, 10_000, 100. / 3}).Draw(t, "gear")
	b.LeastMm = rapid.SampledFrom([]unit.Millimetres{0.02, 0.0001, 1}).Draw(t, "leastMm")
	return b
}

func somePins(t *rapid.T, c pinmap.Cylinder) []pinmap.Pin {
	n := rapid.IntRange(1, 40).Draw(t, "pins")
	angles, teeth := make([]unit.Degrees, n), make([]int, n)
	for i := range angles {
		angles[i] = unit.Degrees(rapid.Float64Range(0, 359.999999).Draw(t, "angle"))
		teeth[i] = rapid.IntRange(1, 5).Draw(t, "tooth")
	}
	return pinsAt(c, teeth, angles...)
}

// TestNothingDrifts: every setting is as near to the computed angle as the unit allows, however many moves went before, no move goes back, and
// moves add up to the settings.
func TestNothingDrifts(t *testing.T) {
	c := pinmap.DefaultCylinder()
	rapid.Check(t, func(t *rapid.T) {
		b, pins := someBench(t), somePins(t, c)
		table := indexing.Of(b, c, turn, pins)
		units := map[pinmap.Method]float64{pinmap.Degrees: 360 / float64(b.LeastDeg), pinmap.Sixties: 1_296_000 / b.LeastSec, pinmap.Head: float64(b.HeadRatio * table.Circle),
			pinmap.Wheel: float64(b.WheelDivisions), pinmap.Stepper: float64(b.MotorSteps) * b.MotorRatio, pinmap.Vernier: math.Pi * 13 / float64(b.LeastMm)}[b.Method]
		var moved int64
		for _, i := range indexing.Order(pins) {
			r, p := table.Rows[i], pins[i]
			if r.Pin != i || r.Move < 0 {
				t.Fatalf("row %d: %+v", i, r)
			}
			off := math.Remainder(float64(r.ReachedDeg-p.AngleDeg), 360)
			if r.ReachedDeg < 0 || r.ReachedDeg >= 360 || math.Abs(math.Remainder(off-float64(r.ErrorDeg), 360)) > 2e-9 {
				t.Errorf("%v° is set to %v°, off by %v°, called %v°", p.AngleDeg, r.ReachedDeg, off, r.ErrorDeg)
			}
			if b.Method == pinmap.Wrap {
				if r.ErrorDeg != 0 || r.ReachedDeg != p.AngleDeg {
					t.Errorf("a wrap rounds %v° to %v°", p.AngleDeg, r.ReachedDeg)
				}
				continue
			}
			if half := 180/units + 1e-7/units + 2e-9; math.Abs(float64(r.ErrorDeg)) > half {
				t.Errorf("%v° is off by %v°, more than half a unit, %v°", p.AngleDeg, r.ErrorDeg, half)
			}
			moved += r.Move
			if b.Method == pinmap.Head || b.Method == pinmap.Wheel || b.Method == pinmap.Stepper {
				if want := int64(math.Round(float64(r.Turn)*units)) + r.Count; moved != want {
					t.Errorf("moves add up to %d, the setting is %d", moved, want)
				}
				if reached := float64(moved) / units * 360; math.Abs(math.Remainder(reached-float64(r.ReachedDeg), 360)) > 1e-6 {
					t.Errorf("%d units make %v°, called %v°", moved, reached, r.ReachedDeg)
				}
			}
		}
		if b.Method == pinmap.Head {
			for _, circle := range b.HeadCircles {
				worst := 0.0
				for _, p := range pins {
					worst = max(worst, math.Abs(float64(indexing.OnCircle(indexing.Deg(p.AngleDeg), b.HeadRatio, circle).ErrorDeg)))
				}
				if worst < float64(table.WorstDeg)-1e-12 {
					t.Errorf("the %d circle is off by %v° at worst, the %d circle, which was chosen, by %v°", circle, worst, table.Circle, table.WorstDeg)
				}
			}
			for i, r := range table.Rows {
				if a, w := math.Abs(float64(r.Alone.ErrorDeg)), math.Abs(float64(r.ErrorDeg)); a > w+1e-12 {
					t.Errorf("hole %d alone is off by %v°, on the whole cylinder's circle by %v°", i, a, w)
				}
			}
		}
	})
}

// TestBroken breaks a repeat and a web by rounding, and leaves those that do not hold as computed to others.
func TestBroken(t *testing.T) {
	c := pinmap.DefaultCylinder()
	c.ToothSpacingMm = 0.3
	coarse := with(pinmap.Wheel, func(b *pinmap.Bench) { b.WheelDivisions = 36 }) // 10° apart
	for _, test := range []struct {
		name   string
		teeth  []int
		angles []unit.Degrees
		repeat unit.Milliseconds
		want   string
	}{
		{"two that come together", []int{1, 1}, []unit.Degrees{96, 114}, 600, "repeats 0-1 720 to 400; webs"},
		{"two that come together across the seam", []int{1, 1}, []unit.Degrees{4, 346}, 700, "repeats 1-0 720 to 400; webs"},
		{"two that move apart", []int{1, 1}, []unit.Degrees{94, 106}, 600, "repeats; webs"},
		{"two that clash as computed", []int{1, 1}, []unit.Degrees{96, 104}, 600, "repeats; webs"},
		{"holes of two tracks", []int{1, 2}, []unit.Degrees{94, 86}, 600, "repeats; webs 0-1 0.3"},
		{"holes that are too near as computed", []int{1, 2}, []unit.Degrees{91, 90}, 600, "repeats; webs"},
	} {
		t.Run(test.name, func(t *testing.T) {
			pins := pinsAt(c, test.teeth, test.angles...)
			table := indexing.Of(coarse, c, turn, pins)
			repeats, webs := indexing.Broken(table.Rows, pins, c, turn, func(int) unit.Milliseconds { return test.repeat })
			got := "repeats"
			for _, r := range repeats {
				got += fmt.Sprintf(" %d-%d %.0f to %.0f", r.A, r.B, r.ComputedMs, r.HaveMs)
			}
			got += "; webs"
			for _, w := range webs {
				got += fmt.Sprintf(" %d-%d %.1f", w.A, w.B, w.DistanceMm)
			}
			if got != test.want {
				t.Errorf("%s, want %s", got, test.want)
			}
		})
	}
}

// TestBrokenFindsAll looks at every two pins.
func TestBrokenFindsAll(t *testing.T) {
	c := pinmap.DefaultCylinder()
	c.ToothSpacingMm = 0.4
	rapid.Check(t, func(t *rapid.T) {
		b, pins := someBench(t), somePins(t, c)
		const need = unit.Milliseconds(600)
		table := indexing.Of(b, c, turn, pins)
		repeats, webs := indexing.Broken(table.Rows, pins, c, turn, func(int) unit.Milliseconds { return need })
		round := func(a, b unit.Degrees) float64 { return math.Abs(math.Remainder(float64(a-b), 360)) }
		broken := false
		wanted := 0
		for i, p := range pins {
			for j, q := range pins[:i] {
				computed, reached := round(p.AngleDeg, q.AngleDeg), round(table.Rows[i].ReachedDeg, table.Rows[j].ReachedDeg)
				axial := float64(p.AxialMm - q.AxialMm)
				if p.Tooth == q.Tooth {
					broken = broken || computed*40 >= 599.99 && reached*40 < 599.99-1e-6
					continue
				}
				mm := math.Pi * 13 / 360
				if math.Hypot(computed*mm, axial) >= 0.6-1e-6 && math.Hypot(reached*mm, axial) < 0.6-1e-6 {
					wanted++
				}
			}
		}
		if broken && len(repeats) == 0 {
			clash := false // one that clashes as computed may stand between
			for _, r := range indexing.Repeats(table.Rows, pins, turn, func(int) unit.Milliseconds { return need }) {
				clash = clash || r.ComputedMs < need-0.01
			}
			if !clash {
				t.Error("a repeat is broken and not told")
			}
		}
		if len(webs) != wanted {
			t.Errorf("%d webs are told, %d are broken", len(webs), wanted)
		}
	})
}

func BenchmarkOf(b *testing.B) {
	c := pinmap.DefaultCylinder()
	c.DiameterMm = 400
	r := rand.New(rand.NewPCG(1, 2))
	pins := make([]pinmap.Pin, 20_000)
	for i := range pins {
		pins[i] = pinmap.Pin{Tooth: 1 + r.IntN(144), TimeMs: unit.Milliseconds(r.Float64() * 60_000)}
	}
	pinmap.Layout(pins, c, 65_000)
	for _, m := range pinmap.Methods() {
		b.Run(string(m), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				table := indexing.Of(with(m, nil), c, 65_000, pins)
				indexing.Broken(table.Rows, pins, c, 65_000, func(int) unit.Milliseconds { return 240 })
			}
		})
	}
}
