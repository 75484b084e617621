package tolerance_test

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange/unit"
	"pinwright/pinmap"
	"pinwright/pinmap/indexing"
	"pinwright/pinmap/tolerance"
)

const turn = unit.Milliseconds(14_400) // 40 ms a degree

// cylinder has 1 mm of arc in a degree, so that σ in mm is σ in degrees.
func cylinder() pinmap.Cylinder {
	c := pinmap.DefaultCylinder()
	c.DiameterMm = 360 / math.Pi
	return c
}

func pinsAt(teeth []int, angles []unit.Degrees) []pinmap.Pin {
	pins := make([]pinmap.Pin, len(angles))
	for i, a := range angles {
		pins[i] = pinmap.Pin{Tooth: teeth[i], AngleDeg: a}
	}
	return pins
}

func ones(n int) []int { return slices.Repeat([]int{1}, n) }

// every is the angles of n pins, step apart.
func every(step unit.Degrees, n int) (angles []unit.Degrees) {
	for i := range n {
		angles = append(angles, 1+unit.Degrees(i)*step)
	}
	return angles
}

// report asks for a bench without rounding and a σ of 1 mm, 40 ms.
func report(pins []pinmap.Pin, need unit.Milliseconds) tolerance.Report {
	b := pinmap.DefaultBench()
	b.SigmaMm = 1
	table := indexing.Of(b, cylinder(), turn, pins)
	return tolerance.Of(b, cylinder(), turn, pins, table.Rows, func(int) unit.Milliseconds { return need })
}

func TestRisk(t *testing.T) {
	for _, test := range []struct {
		name       string
		teeth      []int
		angles     []unit.Degrees
		need       unit.Milliseconds
		risk, most float64
		failing    float64
	}{
		{"one pin", ones(1), []unit.Degrees{10}, 400, 0, 0, 0},
		{"far apart", ones(3), []unit.Degrees{10, 100, 250}, 400, 0, 0, 0},
		{"just apart", ones(2), []unit.Degrees{10, 20}, 400.01, 0.5, 0.5, 0.5},
		{"3σ more than needed, 1 − Φ(3/√2)", ones(2), []unit.Degrees{10, 23}, 400.01, 0.01694742676, 0.01694742676, 0.01694742676},
		{"across the seam", ones(2), []unit.Degrees{358, 11}, 400.01, 0.01694742676, 0.01694742676, 0.01694742676},
		{"two teeth", []int{1, 2, 1, 2}, []unit.Degrees{10, 10, 20, 20}, 400.01, 0.75, 0.75, 1},
		{"three in a row, which hold in one of 3! orders", ones(3), []unit.Degrees{10, 20, 30}, 400.01, 5. / 6, 5. / 6, 1},
		{"clash as computed", ones(2), []unit.Degrees{10, 19}, 400.01, 0, 0, 0},
		{"two that fill the turn: one or the other fails", ones(2), []unit.Degrees{0, 180}, 7200.01, 1, 1, 1},
	} {
		t.Run(test.name, func(t *testing.T) {
			r := report(pinsAt(test.teeth, test.angles), test.need)
			for _, v := range [][2]float64{{r.Risk, test.risk}, {r.RiskMost, test.most}, {r.Failing, test.failing}} {
				if math.Abs(v[0]-v[1]) > 1e-8 {
					t.Errorf("risk %v to %v, %v failing; want %v to %v, %v", r.Risk, r.RiskMost, r.Failing, test.risk, test.most, test.failing)
				}
			}
			if r.JitterMs != 40 {
				t.Errorf("σ of 1 mm is %v ms", r.JitterMs)
			}
		})
	}
}

// TestSimulation drills cylinders at random, with a fixed seed, and counts those of which a repeat fails, and the repeats.
func TestSimulation(t *testing.T) {
	const rounds = 200_000
	for _, test := range []struct {
		name   string
		teeth  []int
		angles []unit.Degrees
		need   unit.Milliseconds
	}{
		{"two teeth in rows", []int{1, 1, 1, 1, 2, 2, 2}, []unit.Degrees{10, 22, 34.5, 47, 12, 23, 35}, 400},
		{"a row across the seam", ones(5), []unit.Degrees{352, 4, 15, 27, 200}, 400},
		{"all the way round", ones(6), every(60, 6), 2300},
		{"all the way round, tight", ones(9), every(40, 9), 1500},
	} {
		t.Run(test.name, func(t *testing.T) {
			pins := pinsAt(test.teeth, test.angles)
			r := report(pins, test.need)
			chance := rand.New(rand.NewPCG(6, 1960))
			failed, repeats, off := 0, 0, make([]float64, len(pins))
			byPin := make([]int, len(pins))
			for range rounds {
				for i := range off {
					off[i] = float64(pins[i].AngleDeg) + chance.NormFloat64()
				}
				any, hit := 0, make([]bool, len(pins))
				for i, p := range pins { // the next on its tooth, as computed
					next, least := -1, math.Inf(1)
					for j, q := range pins {
						if after := math.Mod(float64(q.AngleDeg-p.AngleDeg)+360, 360); j != i && q.Tooth == p.Tooth && after < least {
							next, least = j, after
						}
					}
					if apart := least + off[next] - float64(pins[next].AngleDeg) - off[i] + float64(p.AngleDeg); apart*40 < float64(test.need)-0.01 {
						any++
						hit[i], hit[next] = true, true
					}
				}
				if any > 0 {
					failed++
				}
				repeats += any
				for i, h := range hit {
					if h {
						byPin[i]++
					}
				}
			}
			share := float64(failed) / rounds
			slack := 4 * math.Sqrt(share*(1-share)/rounds)
			if share < r.Risk-slack || share > r.RiskMost+slack {
				t.Errorf("%v of the cylinders fail, computed %v to %v", share, r.Risk, r.RiskMost)
			}
			if mean := float64(repeats) / rounds; math.Abs(mean-r.Failing) > 4*math.Sqrt(r.Failing/rounds)+slack {
				t.Errorf("%v repeats fail on average, computed %v", mean, r.Failing)
			}
			for _, p := range r.Pins {
				pq := p.Chance * p.Chance / 4 // most that p·q can be
				if s := float64(byPin[p.Pin]) / rounds; s < p.Chance-4*math.Sqrt(s/rounds) || s > p.Chance+pq+4*math.Sqrt(s/rounds) {
					t.Errorf("pin %d fails in %v, computed %v", p.Pin, s, p.Chance)
				}
			}
		})
	}
}

// TestBounds: the chance lies between those of independent repeats and of the sum (Bonferroni), grows with σ, and the lists are in order.
func TestBounds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 40).Draw(t, "pins")
		teeth, angles := make([]int, n), make([]unit.Degrees, n)
		for i := range n {
			teeth[i] = rapid.IntRange(1, 3).Draw(t, "tooth")
			angles[i] = unit.Degrees(rapid.Float64Range(0, 359.999).Draw(t, "angle"))
		}
		pins := pinsAt(teeth, angles)
		b := pinmap.DefaultBench()
		b.Method = rapid.SampledFrom(pinmap.Methods()).Draw(t, "method")
		b.SigmaMm = unit.Millimetres(rapid.Float64Range(0.001, 5).Draw(t, "σ"))
		table := indexing.Of(b, cylinder(), turn, pins)
		need := func(tooth int) unit.Milliseconds { return 200 * unit.Milliseconds(tooth) }
		r := tolerance.Of(b, cylinder(), turn, pins, table.Rows, need)
		const slack = 1e-6
		holds := 1.0
		for _, p := range r.Repeats {
			holds *= 1 - p.Chance
		}
		if !(r.Risk >= 1-holds-slack && r.Risk <= r.RiskMost+slack && r.RiskMost <= min(1, r.Failing)+slack) {
			t.Errorf("risk %v to %v, independent %v, expected failures %v", r.Risk, r.RiskMost, 1-holds, r.Failing)
		}
		for _, limit := range []float64{rapid.Float64Range(0, 1).Draw(t, "limit"), r.RiskMost - 2e-7, r.RiskMost + 2e-7} {
			if got := tolerance.Exceeds(limit, b, cylinder(), turn, pins, table.Rows, need); got != (r.RiskMost > limit) {
				t.Errorf("a risk of %v exceeds %v: %v", r.RiskMost, limit, got)
			}
		}
		if !slices.IsSortedFunc(r.Pins, func(a, b tolerance.PinRisk) int { return cmp.Compare(b.Chance, a.Chance) }) {
			t.Errorf("pins not in order of risk: %v", r.Pins)
		}
		for _, p := range r.Pins {
			if p.Chance > r.RiskMost+slack {
				t.Errorf("pin %d is at risk by %v, all by %v", p.Pin, p.Chance, r.RiskMost)
			}
		}
		if !(r.Heard >= 0 && r.Heard <= 1) {
			t.Errorf("%v of the intervals are heard", r.Heard)
		}
	})
}

// TestRoundingShiftsTheMean: a method that sets two pins nearer raises the chance that they fail: to that of the distance that is reached.
func TestRoundingShiftsTheMean(t *testing.T) {
	pins := pinsAt(ones(2), []unit.Degrees{9.6, 23.4})
	b := pinmap.DefaultBench()
	b.SigmaMm, b.Method, b.WheelDivisions = 1, pinmap.Wheel, 360 // 10° and 23°, as in TestRisk
	table := indexing.Of(b, cylinder(), turn, pins)
	r := tolerance.Of(b, cylinder(), turn, pins, table.Rows, func(int) unit.Milliseconds { return 400.01 })
	if math.Abs(r.Risk-0.01694742676) > 1e-8 {
		t.Errorf("the risk is %v", r.Risk)
	}
}

// TestNoticed holds the examples of Friberg and Sundberg's law.
func TestNoticed(t *testing.T) {
	for _, test := range []struct{ interval, want unit.Milliseconds }{{100, 6}, {240, 6}, {400, 10}, {1000, 25}} {
		if got := tolerance.Noticed(test.interval); math.Abs(float64(got-test.want)) > 1e-9 {
			t.Errorf("in %v ms, %v ms are noticed, want %v", test.interval, got, test.want)
		}
	}
}

// TestHeard: 2·Φ(−limit/(σ√2)) of the intervals, one for each onset but the first.
func TestHeard(t *testing.T) {
	b := pinmap.DefaultBench()
	for _, test := range []struct {
		name      string
		angles    []unit.Degrees
		teeth     []int
		sigmaMm   unit.Millimetres
		intervals int
		want      float64
	}{
		{"nothing", nil, nil, 1, 0, 0},
		{"one onset", []unit.Degrees{10, 10.2}, []int{1, 2}, 1, 0, 0},
		{"even, 1 s, σ of 25/√2 ms", []unit.Degrees{10, 35, 60}, []int{1, 2, 3}, 25 / math.Sqrt2 / 40, 2, 2 * 0.158655253931457},
		{"a chord is one onset", []unit.Degrees{10, 35, 35.2, 60}, []int{1, 2, 1, 3}, 25 / math.Sqrt2 / 40, 2, 2 * 0.158655253931457},
		{"200 ms, σ of 3/√2 ms: 6 ms are 2σ", []unit.Degrees{10, 15}, []int{1, 2}, 3 / math.Sqrt2 / 40, 1, 2 * (1 - 0.977249868051821)},
	} {
		t.Run(test.name, func(t *testing.T) {
			b.SigmaMm = test.sigmaMm
			pins := pinsAt(test.teeth, test.angles)
			r := tolerance.Of(b, cylinder(), turn, pins, indexing.Of(b, cylinder(), turn, pins).Rows, func(int) unit.Milliseconds { return 1 })
			if r.Intervals != test.intervals || math.Abs(r.Heard-test.want) > 1e-9 {
				t.Errorf("%v of %d intervals, want %v of %d", r.Heard, r.Intervals, test.want, test.intervals)
			}
		})
	}
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
	bench := pinmap.DefaultBench()
	table := indexing.Of(bench, c, 65_000, pins)
	for _, test := range []struct {
		name  string
		sigma unit.Millimetres
	}{{"usual", 0}, {"all at risk", 1}} {
		b.Run(test.name, func(b *testing.B) {
			bench.SigmaMm = test.sigma
			for b.Loop() {
				tolerance.Of(bench, c, 65_000, pins, table.Rows, func(int) unit.Milliseconds { return 100 })
			}
		})
	}
}
