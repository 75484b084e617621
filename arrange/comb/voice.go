package comb

import (
	"math"

	"pinwright/arrange/unit"
)

// DefaultQualityFactor is Q of a plucked steel tooth, common practice, no published source: time how long yours ring.
const DefaultQualityFactor = 900.0

// SampleRateHz is that of all sound that is computed here; AudibleHz, 0.45 of it, is the highest partial that is sounded.
const (
	SampleRateHz unit.Hertz = 44_100
	AudibleHz    unit.Hertz = 0.45 * SampleRateHz
)

// NoiseMs is how long the short noises of a tooth last, common practice, no published source.
const NoiseMs unit.Milliseconds = 4

// How far the peak of a noise lies at most under the tooth's own, common practice, no published source. The first comes at the release,
// the second where the damper touches a tooth that rings.
const (
	ReleaseDb = -34.0
	TouchDb   = -46.0
)

// waves are β·l of the first three vibrations of a uniform bar of length l clamped at one end, the roots of
// cos β·cosh β = −1; any textbook on vibration has them.
var waves = [3]float64{1.875104068711961, 4.694091132974174, 7.854757438237613}

// Partial is one of the vibrations that a tooth sounds with: Amplitude·e^(−t/DecayMs)·sin(2π·FrequencyHz·t), t from the release.
type Partial struct {
	FrequencyHz unit.Hertz
	Amplitude   float64
	DecayMs     unit.Milliseconds // τ, after which the amplitude is 1/e
}

// Partials gives what a tooth of frequency f (Hz, above 0 and not above AudibleHz) and quality factor q (above 0) sounds with, at most
// three partials, none above AudibleHz:
//
//	f_n = f·(β_n/β_1)², a uniform bar clamped at one end: f, 6.267 f and 17.55 f
//	a_n ∝ (1/β_n⁴)·(f_n/f), scaled so that Σa_n² = 1 and all teeth are as loud
//	τ_n = 1000·q/(π·f_n) ms
//
// A pin lets the tooth go from the shape that a load at its tip gives, in which vibration n has a share of 1/β_n⁴ of the
// tip's displacement; what is heard goes with velocity, thus the factor f_n/f, and the tip starts at rest, thus the sine.
// A tip weight moves the upper partials of a real tooth; Tooth computes them.
func Partials(f unit.Hertz, q float64) []Partial {
	var partials []Partial
	power := 0.0
	for _, wave := range waves {
		ratio := wave / waves[0]
		p := Partial{FrequencyHz: f * unit.Hertz(ratio*ratio), Amplitude: 1 / (ratio * ratio)}
		if p.FrequencyHz > AudibleHz {
			break
		}
		p.DecayMs = unit.Milliseconds(1000 * q / (math.Pi * float64(p.FrequencyHz)))
		power += p.Amplitude * p.Amplitude
		partials = append(partials, p)
	}
	for i := range partials {
		partials[i].Amplitude /= math.Sqrt(power)
	}
	return partials
}

// RingMs gives how long a tooth of frequency f (Hz) and quality factor q takes to fall by 60 dB, undamped: ln(1000)·τ_1.
func RingMs(f unit.Hertz, q float64) unit.Milliseconds {
	return unit.Milliseconds(math.Log(1000) * 1000 * q / (math.Pi * float64(f)))
}

// Silence gives, in the time of the turn, when the next pin of a tooth ends its ring, never before the release:
//
//	touch  = next − contactMs − dampMs, its damper touches; from here on the ring falls as by Damping, beside its own decay
//	silent = next − contactMs, the pin holds the tooth
//
// with release and next the times of the two releases, round the circle.
func Silence(release, next, contactMs, dampMs unit.Milliseconds) (touch, silent unit.Milliseconds) {
	silent = max(release, next-contactMs)
	return max(release, next-contactMs-dampMs), silent
}

// Damping gives what is left, from 1 down, of a ring that the damper has touched for a time of after ms: 10^(−3·after/dampMs),
// 60 dB in dampMs; a damper that takes no time leaves nothing.
func Damping(after, dampMs unit.Milliseconds) float64 {
	if dampMs <= 0 {
		return 0
	}
	return math.Pow(10, -3*float64(after/dampMs))
}

// Gain gives the factor of a level in dB: 10^(dB/20).
func Gain(db float64) float64 { return math.Pow(10, db/20) }
