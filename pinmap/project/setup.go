package project

import (
	"slices"

	"pinwright/arrange"
	"pinwright/arrange/unit"
	"pinwright/pinmap"
	"pinwright/pinmap/drive"
)

// Setup is everything that a project assumes, complete: every field holds what the user gave or its default.
type Setup struct {
	Title     string          `json:"title"`
	Date      string          `json:"date,omitempty"` // of the setup, as the maker writes it, YYYY-MM-DD; printed on the map
	Parts     []PartRole      `json:"parts"`          // what the user set; other parts have an automatic role
	Excerpt   *Excerpt        `json:"excerpt"`        // null: chosen by length
	Tempo     Tempo           `json:"tempo"`
	Transpose Transpose       `json:"transpose"`
	Comb      Comb            `json:"comb"`
	Cylinder  pinmap.Cylinder `json:"cylinder"`
	Drive     drive.Train     `json:"drive"`
	Limits    Limits          `json:"limits"`
	Bench     pinmap.Bench    `json:"bench"`
	OtherComb []unit.NoteName `json:"otherComb,omitempty"` // of another tune, on which the cylinder is tried; a note a tooth
	Share     Share           `json:"share"`
	Beside    *Beside         `json:"beside,omitempty"` // what else stands on the cylinder; null: nothing
}

// PartRole sets the role of one part.
type PartRole struct {
	ID   string       `json:"id"`
	Role arrange.Role `json:"role"`
}

// Excerpt is a run of whole bars, both ends included.
type Excerpt struct {
	FromBar int `json:"fromBar"`
	ToBar   int `json:"toBar"`
}

// Tempo says what follows what: the tune the revolution (fill) or the revolution the tune (written).
type Tempo struct {
	Mode         string            `json:"mode"`         // "fill" or "written"
	RevolutionMs unit.Milliseconds `json:"revolutionMs"` // 0: from the drive (fill) or from the tune (written)
}

// Transpose bounds the change of key, in semitones.
type Transpose struct {
	Min int `json:"min"`
	Max int `json:"max"`
}

// Comb is the comb in the drawer (fixed) or the comb to be cut for this tune (cut).
type Comb struct {
	Mode          string                              `json:"mode"`
	Teeth         int                                 `json:"teeth"`
	Low           unit.NoteName                       `json:"low"`
	High          unit.NoteName                       `json:"high"`
	MaxTwins      int                                 `json:"maxTwins"`
	Pitches       []unit.NoteName                     `json:"pitches"`
	DampingCycles float64                             `json:"dampingCycles"`
	LeastRingMs   unit.Milliseconds                   `json:"leastRingMs"`
	QualityFactor float64                             `json:"qualityFactor"` // of a ringing tooth, Q
	RecoveryMs    map[unit.NoteName]unit.Milliseconds `json:"recoveryMs"`    // measured, in place of the model's
}

// Has gives a function that reports whether the comb has a tooth of a pitch, or may have one that is still to be cut.
func (c Comb) Has() func(unit.Pitch) bool {
	if c.Mode != "fixed" {
		return func(p unit.Pitch) bool { return p >= c.Low.Pitch() && p <= c.High.Pitch() }
	}
	teeth := map[unit.Pitch]bool{}
	for _, p := range c.Pitches {
		teeth[p.Pitch()] = true
	}
	return func(p unit.Pitch) bool { return teeth[p] }
}

// Limits are what the user allows.
type Limits struct {
	ShiftMs     unit.Milliseconds `json:"shiftMs"`     // most that a note may be moved in time
	MaxTogether int               `json:"maxTogether"` // most teeth released within TogetherMs
	TogetherMs  unit.Milliseconds `json:"togetherMs"`
	SolveMs     int               `json:"solveMs"` // about what the search for the best arrangement may take on one core, counted in steps
}

// Share says what those who hold the view link may take with them.
type Share struct {
	Files []string `json:"files"` // names of the files that they may download; null: all, those of later versions too
}

// Allows reports whether the holder of the view link may download the file of that name.
func (s Share) Allows(name string) bool { return s.Files == nil || slices.Contains(s.Files, name) }

// files are the names that a file for the bench can have.
var files = [...]string{"drill-map.html", "drill-map.pdf", "holes.csv", "map.svg", "map.dxf", "drill.ngc", "drill-dry.ngc", "cylinder.stl", "cylinder.3mf",
	"end-discs.stl", "comb-trial.stl", "arrangement.mid", "audition.wav", "comb.csv", "project.json", "bench.zip"}
