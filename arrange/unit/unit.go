// Package unit holds one type for each quantity that could be mistaken for another: arc and axial distances are
// Millimetres and never Degrees, times are Milliseconds, pitches are MIDI note numbers with a name.
//
// All of them marshal to JSON rounded to a millionth of their unit, far below what any tool can set, so that the last
// bits of floating-point arithmetic, which differ between processors, never reach a file.
package unit

import (
	"math"
	"strconv"
)

// Milliseconds is a time or a span of time in ms.
type Milliseconds float64

// Millimetres is a length in mm.
type Millimetres float64

// Degrees is an angle in degrees of arc.
type Degrees float64

// Hertz is a frequency in cycles a second.
type Hertz float64

// BPM is a tempo in quarter notes a minute.
type BPM float64

// Rpm is a speed of turning in revolutions a minute.
type Rpm float64

// MarshalJSON writes m rounded to a millionth.
func (m Milliseconds) MarshalJSON() ([]byte, error) { return number(float64(m)), nil }

// MarshalJSON writes m rounded to a millionth.
func (m Millimetres) MarshalJSON() ([]byte, error) { return number(float64(m)), nil }

// MarshalJSON writes d rounded to a millionth.
func (d Degrees) MarshalJSON() ([]byte, error) { return number(float64(d)), nil }

// MarshalJSON writes h rounded to a millionth.
func (h Hertz) MarshalJSON() ([]byte, error) { return number(float64(h)), nil }

// MarshalJSON writes b rounded to a millionth.
func (b BPM) MarshalJSON() ([]byte, error) { return number(float64(b)), nil }

// MarshalJSON writes r rounded to a millionth.
func (r Rpm) MarshalJSON() ([]byte, error) { return number(float64(r)), nil }

// number formats v rounded to six decimals, without trailing zeros and without a negative zero.
func number(v float64) []byte {
	return strconv.AppendFloat(nil, Round(v), 'f', -1, 64)
}

// Round rounds v to a millionth; a result of zero is never negative.
func Round(v float64) float64 {
	r := math.Round(v*1e6) / 1e6
	if r == 0 {
		return 0
	}
	return r
}
