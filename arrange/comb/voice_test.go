package comb

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange/unit"
)

// TestWavesAreThoseOfAClampedBar holds the constants to their equation, to the ratios of frequencies that textbooks print, and to the beam
// of this package where it is so slender that shear and rotary inertia do not count.
func TestWavesAreThoseOfAClampedBar(t *testing.T) {
	slender := beam{pieces: []piece{{layer{usualSteel, steelPoisson, 1, 0.01}.alone(), 100}}, hinge: math.Inf(1)}
	computed := slender.bending(len(waves))
	printed := [3]float64{1, 6.267, 17.547} // N. H. Fletcher, T. D. Rossing, The Physics of Musical Instruments, section 2.16 (from memory)
	for i, wave := range waves {
		if off := math.Cos(wave)*math.Cosh(wave) + 1; math.Abs(off) > 1e-11 {
			t.Errorf("cos β·cosh β + 1 is %g for β%d = %v", off, i+1, wave)
		}
		ratio := wave * wave / (waves[0] * waves[0])
		if math.Abs(ratio-printed[i]) > 0.0005 {
			t.Errorf("partial %d lies at %.5f of the first, printed is %v", i+1, ratio, printed[i])
		}
		if other := computed[i] / computed[0]; math.Abs(other/ratio-1) > 1e-5 {
			t.Errorf("partial %d lies at %.6f of the first, that of the beam at %.6f", i+1, ratio, other)
		}
	}
}

// TestAmplitudesAreThoseOfAPluckedTip takes the shape of a bar under a load at its tip, x²(3 − x), apart into the shapes of its vibrations,
// cosh βx − cos βx − σ(sinh βx − sin βx) with σ = (cosh β + cos β)/(sinh β + sin β) (any textbook on vibration), by summing over its
// length, and compares their velocities at the tip. Tolerance 1e-4 of each.
func TestAmplitudesAreThoseOfAPluckedTip(t *testing.T) {
	var heard [3]float64
	for i, wave := range waves {
		sigma := (math.Cosh(wave) + math.Cos(wave)) / (math.Sinh(wave) + math.Sin(wave))
		shape := func(x float64) float64 {
			return math.Cosh(wave*x) - math.Cos(wave*x) - sigma*(math.Sinh(wave*x)-math.Sin(wave*x))
		}
		const pieces = 20_000
		inside, whole := 0.0, 0.0
		for k := range pieces {
			x := (float64(k) + 0.5) / pieces
			inside += x * x * (3 - x) * shape(x)
			whole += shape(x) * shape(x)
		}
		heard[i] = math.Abs(inside/whole*shape(1)) * wave * wave
	}
	partials := Partials(440, DefaultQualityFactor)
	for i, p := range partials {
		if got, want := p.Amplitude/partials[0].Amplitude, heard[i]/heard[0]; math.Abs(got/want-1) > 1e-4 {
			t.Errorf("partial %d is %.6f of the first, want %.6f", i+1, got, want)
		}
	}
}

// TestPartials: values by hand from the formulas, f·6.26689, f·17.54748, 1000·Q/(π·f) and 6.907755·τ, to the digits given.
func TestPartials(t *testing.T) {
	for _, row := range []struct {
		name                string
		f                   unit.Hertz
		q                   float64
		partials            []float64
		decay, ring, within float64
	}{
		{"A4 of steel", 440, 900, []float64{440, 2757.43, 7720.89}, 651.09, 4497.56, 0.01},
		{"C7, whose third cannot be heard", 2093.0045, 900, []float64{2093.00, 13116.63}, 136.874, 945.495, 0.01},
		{"G9, alone", 12543.8540, 900, []float64{12543.85}, 22.8384, 157.762, 0.01},
		{"A4, stiller steel", 440, 50, []float64{440, 2757.43, 7720.89}, 36.1716, 249.864, 0.01},
	} {
		t.Run(row.name, func(t *testing.T) {
			got := Partials(row.f, row.q)
			if len(got) != len(row.partials) {
				t.Fatalf("%d partials, want %d", len(got), len(row.partials))
			}
			for i, want := range row.partials {
				if math.Abs(float64(got[i].FrequencyHz)-want) > row.within {
					t.Errorf("partial %d at %.4f Hz, want %.2f", i+1, got[i].FrequencyHz, want)
				}
			}
			if math.Abs(float64(got[0].DecayMs)-row.decay) > row.within {
				t.Errorf("τ is %.4f ms, want %v", got[0].DecayMs, row.decay)
			}
			if ring := RingMs(row.f, row.q); math.Abs(float64(ring)-row.ring) > row.within {
				t.Errorf("it rings for %.4f ms, want %v", ring, row.ring)
			}
		})
	}
}

// TestVoiceLaws: teeth are as loud, partials grow fainter and shorter as they rise, none is too high, and a tooth has
// fallen by 60 dB after its ring.
func TestVoiceLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := unit.Pitch(rapid.IntRange(0, 127).Draw(t, "pitch")).Frequency()
		q := rapid.Float64Range(50, 20_000).Draw(t, "q")
		partials := Partials(f, q)
		if len(partials) == 0 || len(partials) > 3 || partials[0].FrequencyHz != f {
			t.Fatalf("partials %v of a tooth of %v Hz", partials, f)
		}
		power := 0.0
		for i, p := range partials {
			power += p.Amplitude * p.Amplitude
			if p.FrequencyHz > AudibleHz {
				t.Errorf("a partial at %v Hz", p.FrequencyHz)
			}
			if i > 0 && (p.Amplitude >= partials[i-1].Amplitude || p.DecayMs >= partials[i-1].DecayMs || p.FrequencyHz <= partials[i-1].FrequencyHz) {
				t.Errorf("%+v after %+v", p, partials[i-1])
			}
			if turns := math.Pi * float64(p.FrequencyHz*unit.Hertz(p.DecayMs)) / 1000; math.Abs(turns/q-1) > 1e-9 {
				t.Errorf("partial %d has a quality factor of %v, want %v", i+1, turns, q)
			}
		}
		if math.Abs(power-1) > 1e-12 {
			t.Errorf("Σa² is %v", power)
		}
		if left := math.Exp(-float64(RingMs(f, q) / partials[0].DecayMs)); math.Abs(left-Gain(-60)) > 1e-12 {
			t.Errorf("%v is left after the ring, want −60 dB", left)
		}
	})
}

// TestSilence: values by hand.
func TestSilence(t *testing.T) {
	for _, row := range []struct {
		name                         string
		release, next, contact, damp unit.Milliseconds
		touch, silent                unit.Milliseconds
	}{
		{"far apart", 1000, 3000, 140, 30, 2830, 2860},
		{"the damper is there at the release", 1000, 1150, 140, 30, 1000, 1010},
		{"the next pin is there at the release", 1000, 1100, 140, 30, 1000, 1000},
		{"a damper that takes no time", 1000, 3000, 140, 0, 2860, 2860},
	} {
		if touch, silent := Silence(row.release, row.next, row.contact, row.damp); touch != row.touch || silent != row.silent {
			t.Errorf("%s: touched at %v, silent at %v; want %v and %v", row.name, touch, silent, row.touch, row.silent)
		}
	}
}

// TestDamping: all at first, a thousandth after dampMs, and as much in one step as in two.
func TestDamping(t *testing.T) {
	if got := Damping(1, 0); got != 0 {
		t.Errorf("a damper that takes no time leaves %v", got)
	}
	rapid.Check(t, func(t *rapid.T) {
		damp := unit.Milliseconds(rapid.Float64Range(0.1, 1000).Draw(t, "damp"))
		a, b := damp*unit.Milliseconds(rapid.Float64Range(0, 1).Draw(t, "a")), damp*unit.Milliseconds(rapid.Float64Range(0, 1).Draw(t, "b"))
		if Damping(0, damp) != 1 || math.Abs(Damping(damp, damp)-0.001) > 1e-15 {
			t.Fatalf("%v at the touch, %v after %v ms", Damping(0, damp), Damping(damp, damp), damp)
		}
		if one, two := Damping(a+b, damp), Damping(a, damp)*Damping(b, damp); math.Abs(one/two-1) > 1e-12 {
			t.Fatalf("%v after both, %v one after the other", one, two)
		}
	})
}
