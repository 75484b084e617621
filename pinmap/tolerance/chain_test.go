package tolerance

import (
	"math"
	"testing"
)

// TestNormal holds values of Abramowitz and Stegun, Handbook of Mathematical Functions, 1964, table 26.1 (P(x), 15 decimals) and 26.2 (−log Q(x), 5 decimals).
func TestNormal(t *testing.T) {
	for _, test := range []struct{ x, p, tolerance float64 }{
		{0, 0.5, 1e-15},
		{1, 0.841344746068543, 1e-15},
		{2, 0.977249868051821, 1e-15},
		{3, 0.998650101968370, 1e-15},
		{-1, 0.158655253931457, 1e-15},
	} {
		if got := normal(test.x); math.Abs(got-test.p) > test.tolerance {
			t.Errorf("Φ(%v) = %.16f, want %.16f", test.x, got, test.p)
		}
	}
	for _, test := range []struct{ x, log float64 }{{5, 6.54265}, {6, 9.00586}, {10, 23.11805}} {
		if got := -math.Log10(normal(-test.x)); math.Abs(got-test.log) > 6e-6 {
			t.Errorf("−log Q(%v) = %.5f, want %.5f", test.x, got, test.log)
		}
	}
}

func TestChain(t *testing.T) {
	for _, test := range []struct {
		name string
		h    []float64
		want float64
	}{
		{"nothing asked", nil, 1},
		{"two in order", []float64{0}, 1. / 2}, // n! orders of n equals are as likely
		{"three in order", []float64{0, 0}, 1. / 6},
		{"four in order", []float64{0, 0, 0}, 1. / 24},
		{"seven in order", []float64{0, 0, 0, 0, 0, 0}, 1. / 5040},
		{"one, by the closed form Φ(3/√2)", []float64{-3}, 0.9830525732376554},
		{"no limit between", []float64{0, -40, 0}, 1. / 4},
		{"out of reach", []float64{40}, 0},
		// mpmath 1.3: ∫φ(y)Φ(y − h₀)Φ(−y − h₁)dy
		{"two", []float64{-1, -0.5}, 0.43016484187409},
		{"two, likely", []float64{-3, -2.5}, 0.94450780265529},
		{"two, one unlikely", []float64{1.5, -4}, 0.14274742609880},
		// Nested Gauss–Legendre quadrature of 60 points in double precision, written apart from this: ∫φ(y)Φ(y − h₀)∫φ(z)Φ(−z − h₂)dz dy over z ≥ y + h₁
		{"three", []float64{-1, 0.5, -2}, 0.17093647927677},
		{"three, likely", []float64{-2.2, -2.3, -2.4}, 0.84614936408893},
	} {
		t.Run(test.name, func(t *testing.T) {
			if got := newChains().chance(test.h); math.Abs(got-test.want) > 1e-8 {
				t.Errorf("%.10f, want %.10f", got, test.want)
			}
		})
	}
}
