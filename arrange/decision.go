package arrange

import (
	"encoding/json"

	"pinwright/arrange/unit"
)

// Kind names what a decision does.
type Kind string

// The kinds of decision.
const (
	Octave   Kind = "octave"    // Note is plucked Octaves from its place in the chosen key
	Place    Kind = "place"     // Note is plucked on the tooth of Pitch, and of those alike on number Twin where it is given
	LeaveOut Kind = "leave-out" // Note is not plucked
	Shift    Kind = "shift"     // Note is plucked Ms later (earlier where negative); 0 takes earlier shifts of it back
	Release  Kind = "release"   // all earlier decisions about how Note is played are taken back
	Add      Kind = "add"       // a note is written at Bar and Beat with Pitch; the nth is called an
	Move     Kind = "move"      // Note is written at Bar, Beat and Pitch, as far as they are given, in place of where it is
	Remove   Kind = "remove"    // Note is taken out of the tune as written, and all decisions about it lapse
	Change   Kind = "setup"     // the fields of Setup replace those of the setup
	Several  Kind = "several"   // Decisions, in order, as one step
	Undo     Kind = "undo"      // the last decision is taken back
	Redo     Kind = "redo"      // the last decision that was taken back is made again
)

// Decision is one step that the user took. Only the fields of its kind are set.
type Decision struct {
	Kind      Kind            `json:"kind"`
	Note      string          `json:"note,omitempty"`
	Octaves   *int            `json:"octaves,omitempty"`
	Pitch     *unit.NoteName  `json:"pitch,omitempty"`
	Tooth     int             `json:"tooth,omitempty"` // accepted in place of Pitch and Twin; stored as those
	Twin      int             `json:"twin,omitempty"`  // 1 for the first of the teeth alike
	Ms        *float64        `json:"ms,omitempty"`
	Bar       *int            `json:"bar,omitempty"`
	Beat      *float64        `json:"beat,omitempty"` // 1 at the bar line, in units of the meter's denominator
	Setup     json.RawMessage `json:"setup,omitempty"`
	Decisions []Decision      `json:"decisions,omitempty"`
}

// Writes reports whether the decision changes the tune as written, and not how it is played.
func (d Decision) Writes() bool { return d.Kind == Add || d.Kind == Move || d.Kind == Remove }
