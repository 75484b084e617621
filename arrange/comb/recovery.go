// Package comb knows the teeth: how soon a tooth can be plucked again, and how it sounds.
package comb

import "pinwright/arrange/unit"

// Defaults of the damping model, common practice, no published source: measure your own.
const (
	DefaultDampingCycles                   = 15.0
	DefaultLeastRingMs   unit.Milliseconds = 60
)

// Slack is how far two plucks of one tooth may stay below its repeat time and still count as apart.
const Slack unit.Milliseconds = 0.01

// Action is what the cylinder and the damper do to every tooth.
type Action struct {
	ContactMs     unit.Milliseconds // from the pin's first touch to the release
	HoleMs        unit.Milliseconds // nearer than this two holes on one track break into each other
	DampingCycles float64           // vibrations that the damper takes to silence a tooth
	LeastRingMs   unit.Milliseconds
	Measured      map[unit.Pitch]unit.Milliseconds // recovery times measured by the maker, in place of the model's
}

// Governor names what sets a tooth's repeat time.
type Governor string

// The governors of a repeat time.
const (
	Damper   Governor = "damper"   // contact, damping and least ring
	Holes    Governor = "holes"    // the metal between two holes
	Measured Governor = "measured" // the maker's own figure
)

// Recovery is how soon one tooth can be plucked again, and why.
type Recovery struct {
	DampMs     unit.Milliseconds
	RecoveryMs unit.Milliseconds
	RepeatMs   unit.Milliseconds
	GovernedBy Governor
}

// Recover gives the repeat time of a tooth of pitch p:
//
//	dampMs     = 1000·cycles/f
//	recoveryMs = contactMs + dampMs + leastRingMs, or the measured value
//	repeatMs   = max(recoveryMs, holeMs)
func (a Action) Recover(p unit.Pitch) Recovery {
	r := Recovery{DampMs: unit.Milliseconds(1000 * a.DampingCycles / float64(p.Frequency())), GovernedBy: Damper}
	r.RecoveryMs = a.ContactMs + r.DampMs + a.LeastRingMs
	if own, ok := a.Measured[p]; ok {
		r.RecoveryMs, r.GovernedBy = own, Measured
	}
	r.RepeatMs = r.RecoveryMs
	if a.HoleMs > r.RepeatMs {
		r.RepeatMs, r.GovernedBy = a.HoleMs, Holes
	}
	return r
}

// RoundTheCircle gives the distance of two times on a cylinder that turns once in revolution: min(|Δt|, T − |Δt|).
func RoundTheCircle(a, b, revolution unit.Milliseconds) unit.Milliseconds {
	d := a - b
	if d < 0 {
		d = -d
	}
	for d > revolution {
		d -= revolution
	}
	return min(d, revolution-d)
}
