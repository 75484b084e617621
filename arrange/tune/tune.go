// Package tune reads a Standard MIDI File into notes, parts and bars.
package tune

import (
	"pinwright/arrange/phrase"
	"pinwright/arrange/unit"
)

// Tune is what a file holds. Once read it is valid: notes are sorted, every note lies in a part and in a bar. It has a bar, and
// a note unless the limits allow none.
type Tune struct {
	Title    string          // name of the first track, in format 2 of the first sequence that has one; valid UTF-8, at most 200 characters; may be empty
	Format   int             // 0, 1 or 2
	Division Division        // how ticks become time
	Parts    []Part          // in order of track, then channel; only streams that hold notes
	Notes    []Note          // sorted by onset, then pitch, then part
	Bars     []Bar           // every bar from the first to the one in which the last note ends, without holes
	Remarks  []phrase.Phrase // what was passed over or repaired, in plain words; at most 100
	Tempos   []Tempo         // tempo changes in order of time; the first at 0 ms
}

// Division is the file's division of time: ticks a quarter note, or SMPTE frames a second and ticks a frame.
type Division struct {
	TicksPerQuarter int // 0 where the division is SMPTE
	FramesPerSecond int // 24, 25, 29 (drop frame, 29.97 frames a second) or 30; 0 where it is metrical
	TicksPerFrame   int
}

// Part is one track-and-channel stream of the file.
type Part struct {
	ID         string // "t2c1" for track 2, channel 1
	Name       string // the track's name, else the instrument's, else ""; valid UTF-8
	Track      int    // from 1
	Channel    int    // 1 to 16
	Program    int    // General MIDI program, 1 to 128, of its first note; where its own track names none, of its channel in another; else 0
	Low, High  unit.Pitch
	Notes      int
	Percussion bool // channel 10
}

// Note is one sounding note of the file.
type Note struct {
	ID       string // "n1", "n2", … in the order of Tune.Notes: the same file always gives the same names
	Part     int    // index into Tune.Parts
	Pitch    unit.Pitch
	OnsetMs  unit.Milliseconds // from the start of the file, at the file's own tempo
	EndMs    unit.Milliseconds // not before OnsetMs
	Velocity uint8
	Bar      int     // number of the bar, as Bar.Number
	Beat     float64 // 1 at the bar line, in units of the meter's denominator
	Quarter  float64 // onset in quarter notes from the start of the file
}

// Bar is one bar of the meter map.
type Bar struct {
	Number       int // 1 for the first whole bar, 0 for a pick-up bar before it
	StartMs      unit.Milliseconds
	EndMs        unit.Milliseconds
	StartQuarter float64
	EndQuarter   float64
	Beats        int // numerator of the meter
	Unit         int // denominator of the meter
}

// Tempo is a tempo that holds from a time on.
type Tempo struct {
	AtMs unit.Milliseconds
	BPM  unit.BPM
}

// Limits bound what Read takes from a stranger's file. Besides them a tune has at most 200 000 bars.
type Limits struct {
	Bytes   int               // of the file
	Events  int               // in all tracks together
	Tracks  int               // declared in the header; tracks are read only as far as bytes go
	MusicMs unit.Milliseconds // from the first tick to the last note's end
	Silent  bool              // a file without notes is taken too; its bars then reach to the end of its longest track
}

// DefaultLimits are 8 MiB, a million events, 65 535 tracks and 24 hours.
var DefaultLimits = Limits{Bytes: 8 << 20, Events: 1_000_000, Tracks: 65_535, MusicMs: 24 * 3600 * 1000}

// Fault says which way a file cannot be used.
type Fault int

// The faults, each with its own message.
const (
	NotMIDI  Fault = iota + 1 // not a Standard MIDI File
	TooLarge                  // over a limit
	Unusable                  // a MIDI file, but nothing can be played from it
)

// Error is why a file was refused; Message says what is wrong and what to do, in words for the user.
type Error struct {
	Fault   Fault
	Message phrase.Phrase
}

func (e *Error) Error() string { return e.Message.String() }
