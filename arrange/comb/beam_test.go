package comb

import (
	"math"
	"testing"
)

// slender is the Euler-Bernoulli limit in units of the beam: no shear, no rotary inertia, nothing lengthwise; EI, mass and
// length are 1, so that √ω is βL.
func slender() section {
	s := section{mass: 1}
	s.elastic = [3][3]float64{{1e4, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	return s
}

// TestPlainCantilever: W. T. Thomson, Theory of Vibration with Applications, Appendix D.3 (recomputed). Tolerance 1e-11 on βL.
func TestPlainCantilever(t *testing.T) {
	b := beam{pieces: []piece{{slender(), 1}}, hinge: math.Inf(1)}
	for i, want := range []float64{1.875104068712, 4.694091132974, 7.854757438238} {
		if got := math.Sqrt(b.frequency(i + 1)); math.Abs(got-want) > 1e-11 {
			t.Errorf("βL of partial %d is %.13f, want %.12f", i+1, got, want)
		}
	}
	for i, want := range []float64{1, 6.266893026, 17.54748194} { // tolerance 1e-8 relative
		if got := b.frequency(i+1) / b.frequency(1); math.Abs(got/want-1) > 1e-8 {
			t.Errorf("partial %d is %.10f times the first, want %.9f", i+1, got, want)
		}
	}
}

// TestFirstFrequencyExample: the same source, a tooth of 18 × 0.6 mm, 210 GPa, 7850 kg/m³. Tolerance 1e-8 relative.
func TestFirstFrequencyExample(t *testing.T) {
	s := layer{usualSteel, steelPoisson, 0.9, 0.6}.alone()
	s.soft, s.inertia = 0, [3][3]float64{}
	got := beam{pieces: []piece{{s, 18}}, hinge: math.Inf(1)}.frequency(1) / (2 * math.Pi)
	if want := 1547.25295; math.Abs(got/want-1) > 1e-8 {
		t.Errorf("%.6f Hz, want %.5f", got, want)
	}
}

// TestTipMass: a point mass and a rotary inertia at the tip, as a dense piece of a millionth of a millionth of the
// length. Roots of the clamped beam's equation to 20 digits (tolerance 1e-9 on βL); the squares for μ = 1: Mathematical
// Problems in Engineering 2017, article 1568019, Table 1, the J = 0 column (recomputed; tolerance 1e-6 relative).
func TestTipMass(t *testing.T) {
	tipped := func(mu, j float64) beam {
		const length = 1e-12
		tip := slender()
		tip.mass, tip.inertia[1][1] = mu/length, j/length
		return beam{pieces: []piece{{slender(), 1}, {tip, length}}, hinge: math.Inf(1)}
	}
	for _, row := range []struct{ mu, j, betaL float64 }{
		{0.05, 0, 1.791170562}, {0.1, 0, 1.722741521}, {0.2, 0, 1.61639966}, {0.5, 0, 1.41996443}, {1, 0, 1.24791741},
		{2, 0, 1.076195664}, {5, 0, 0.8700214589}, {10, 0, 0.7357819194},
		{1, 0.01, 1.242447908}, {1, 0.1, 1.195669831}, {0.5, 0.02, 1.399766482},
		{0.6947919884, 0, 1.339360049}, // a weighted tooth of the pitch of an unweighted one 1.4 times as long
	} {
		if got := math.Sqrt(tipped(row.mu, row.j).frequency(1)); math.Abs(got-row.betaL) > 1e-9 {
			t.Errorf("μ %g, J %g: βL %.11f, want %.9f", row.mu, row.j, got, row.betaL)
		}
	}
	for i, want := range []float64{1.557298, 16.25009, 50.89584} {
		if got := tipped(1, 0).frequency(i + 1); math.Abs(got/want-1) > 1e-6 {
			t.Errorf("μ 1: square %d is %.8f, want %g", i+1, got, want)
		}
	}
}

// TestTimoshenkoCantilever: shear and rotary inertia lower a plain tooth of ν = 0 by 2.8, 1.3 and 0.7 cents at L/t = 20, 30
// and 42 (finite elements, CalculiX, which agree with a Timoshenko beam within 0.003 cent). Tolerance: the last figure given.
func TestTimoshenkoCantilever(t *testing.T) {
	for _, row := range []struct{ length, cents float64 }{{12, -2.8}, {18, -1.3}, {25, -0.7}} {
		full := layer{usualSteel, 0, 0.9, 0.6}.alone()
		bare := full
		bare.soft, bare.inertia = 0, [3][3]float64{}
		of := func(s section) float64 {
			return beam{pieces: []piece{{s, row.length}}, hinge: math.Inf(1)}.frequency(1)
		}
		if got := cents(of(full), of(bare)); math.Abs(got-row.cents) > 0.051 {
			t.Errorf("%g mm: %.3f cents, want %.1f", row.length, got, row.cents)
		}
	}
}

// TestLayersOfOneMaterial: two bonded layers of one steel that share one rotation are a thicker bar of that steel.
func TestLayersOfOneMaterial(t *testing.T) {
	upper, lower := layer{usualSteel, steelPoisson, 0.9, 0.4}, layer{usualSteel, steelPoisson, 0.9, 0.2}
	s := upper.bonded(lower)
	s.soft, s.share, s.inertia = 0, 0, [3][3]float64{}
	for i := range 3 { // φ = ψ
		s.elastic[i][1] += s.elastic[i][2]
		s.elastic[i][2] = 0
	}
	for i := range 3 {
		s.elastic[1][i] += s.elastic[2][i]
		s.elastic[2][i] = 0
	}
	s.elastic[2][2] = 1
	whole := layer{usualSteel, steelPoisson, 0.9, 0.6}.alone()
	whole.soft, whole.inertia = 0, [3][3]float64{}
	for k := 1; k <= 3; k++ {
		got := beam{pieces: []piece{{s, 18}}, hinge: math.Inf(1)}.frequency(k)
		want := beam{pieces: []piece{{whole, 18}}, hinge: math.Inf(1)}.frequency(k)
		if math.Abs(got/want-1) > 1e-11 {
			t.Errorf("partial %d: %.12g, want %.12g rad/s", k, got, want)
		}
	}
}

// TestCountMissesNothing: a count must not depend on how a beam is cut, and must rise by one at every frequency, also where
// a lengthwise and a sideways one fall together.
func TestCountMissesNothing(t *testing.T) {
	s := layer{usualSteel, steelPoisson, 1, 1}.alone()
	// Lengthwise frequencies are exactly those of a bar, (k − ½)π·c/L; the stretch is set so that the first is the third sideways.
	third := beam{pieces: []piece{{s, 8}}, hinge: math.Inf(1)}.bending(3)[2]
	s.elastic[0][0] = s.inertia[0][0] * math.Pow(third*8/(math.Pi/2), 2)
	whole := beam{pieces: []piece{{s, 8}}, hinge: math.Inf(1)}
	cut := beam{hinge: math.Inf(1)}
	for range 16 {
		cut.pieces = append(cut.pieces, piece{s, 0.5})
	}
	for _, row := range []struct {
		name  string
		omega float64
		count int
	}{
		{"under both", third * (1 - 1e-9), 2},
		{"over both", third * (1 + 1e-9), 4},
		{"under the second lengthwise", 3 * third * (1 - 1e-9), whole.below(3*third*(1+1e-9)) - 1},
	} {
		if got := whole.below(row.omega); got != row.count {
			t.Errorf("%s: %d frequencies in one piece, want %d", row.name, got, row.count)
		}
		if got := cut.below(row.omega); got != row.count {
			t.Errorf("%s: %d frequencies in 16 pieces, want %d", row.name, got, row.count)
		}
	}
	if got := whole.bending(3)[2]; math.Abs(got/third-1) > 1e-6 {
		t.Errorf("the third sideways frequency is %.9g, want %.9g rad/s", got, third)
	}
}
