package project

import (
	"pinwright/arrange"
	"pinwright/arrange/phrase"
	"pinwright/arrange/unit"
	"pinwright/pinmap"
)

// Schema names the version of Result.
const Schema = "pinwright/result/1"

// Result is everything that follows from a tune, a setup and the decisions.
type Result struct {
	Schema       string            `json:"schema"`
	Title        string            `json:"title"` // the maker's, else the tune's, else "Untitled tune"
	Tune         TuneView          `json:"tune"`
	Comb         CombView          `json:"comb"`
	Arrangement  Arrangement       `json:"arrangement"`
	Cylinder     CylinderView      `json:"cylinder"`
	Pins         []pinmap.Pin      `json:"pins"`
	Beside       []*BesideView     `json:"beside,omitempty"` // the other tunes of the cylinder
	Drive        DriveView         `json:"drive"`
	Bench        BenchView         `json:"bench"`
	Findings     []arrange.Finding `json:"findings"` // those that block first, then by time
	ClearToDrill bool              `json:"clearToDrill"`
	Setup        Setup             `json:"setup"` // as it stands after the decisions
	Decisions    []DecisionView    `json:"decisions"`
	CanUndo      bool              `json:"canUndo"`
	CanRedo      bool              `json:"canRedo"`
}

// TuneView is what was read from the file, with what was written by hand.
type TuneView struct {
	Title      string          `json:"title"`
	Format     int             `json:"format"`
	Division   phrase.Phrase   `json:"division"` // "96 ticks a quarter note", "25 frames a second, 40 ticks a frame"
	Parts      []PartView      `json:"parts"`
	Bars       []int           `json:"bars"` // numbers of all bars of the file, and of those written beyond
	Excerpt    ExcerptView     `json:"excerpt"`
	WrittenBPM unit.BPM        `json:"writtenBpm"` // quarter notes a minute over the excerpt
	PlayedBPM  unit.BPM        `json:"playedBpm"`
	Notes      []arrange.Note  `json:"notes"`
	Remarks    []phrase.Phrase `json:"notesAboutTheFile"`
}

// PartView is one part with the role that it has.
type PartView struct {
	ID         string       `json:"id"`
	Name       string       `json:"name"`
	Track      int          `json:"track"`   // 0 for the part that is written by hand
	Channel    int          `json:"channel"` // 0 for the part that is written by hand
	Program    int          `json:"program"` // 1 to 128, 0 where the file names none
	Low        string       `json:"low"`     // name of its lowest note; empty where it has none
	High       string       `json:"high"`
	Notes      int          `json:"notes"`
	Role       arrange.Role `json:"role"` // "lead", "bass", "fill", "off", or "auto" where each note has its own
	Percussion bool         `json:"percussion"`
}

// Auto marks a part whose notes get their roles one by one.
const Auto arrange.Role = "auto"

// ExcerptView is the excerpt that is played.
type ExcerptView struct {
	FromBar   int               `json:"fromBar"`
	ToBar     int               `json:"toBar"`
	Chosen    bool              `json:"chosen"`    // reports whether the user chose it
	WrittenMs unit.Milliseconds `json:"writtenMs"` // from the first onset to the end of the last bar, as written
	PlayedMs  unit.Milliseconds `json:"playedMs"`
	Bars      []BarView         `json:"bars"`
}

// BarView is a bar line on the cylinder.
type BarView struct {
	Number  int               `json:"number"`
	StartMs unit.Milliseconds `json:"startMs"` // on the cylinder; negative where the first bar begins with a rest
	EndMs   unit.Milliseconds `json:"endMs"`
	Beats   float64           `json:"beats"` // in units of the meter's denominator; not whole where a pick-up bar is not
}

// CombView is the comb as cut or as given.
type CombView struct {
	Mode  string      `json:"mode"`
	Teeth []ToothView `json:"teeth"`
	Spare int         `json:"spare"` // teeth of a comb to be cut that nothing would gain from
}

// ToothView is one tooth; tooth 1 is the lowest.
type ToothView struct {
	Tooth       int                `json:"tooth"`
	Pitch       unit.Pitch         `json:"pitch"`
	Note        string             `json:"note"`  // name of the pitch
	Twin        int                `json:"twin"`  // 1 for the first of the teeth alike
	Twins       int                `json:"twins"` // how many teeth have this pitch
	FrequencyHz unit.Hertz         `json:"frequencyHz"`
	PartialsHz  []unit.Hertz       `json:"partialsHz"` // that it sounds with, at most three, none too high to be heard; the first is FrequencyHz
	RingMs      unit.Milliseconds  `json:"ringMs"`     // undamped, it falls by 60 dB in this time
	ContactMs   unit.Milliseconds  `json:"contactMs"`
	DampMs      unit.Milliseconds  `json:"dampMs"`
	RecoveryMs  unit.Milliseconds  `json:"recoveryMs"`
	HoleMs      unit.Milliseconds  `json:"holeMs"`
	RepeatMs    unit.Milliseconds  `json:"repeatMs"`
	GovernedBy  string             `json:"governedBy"` // "damper", "holes" or "measured"
	Plucks      int                `json:"plucks"`
	NearestMs   *unit.Milliseconds `json:"nearestMs"` // least distance of two of its plucks round the circle; null with fewer than two
}

// Arrangement is which note is plucked where, and how good that is.
type Arrangement struct {
	Transpose  int       `json:"transpose"`
	Objective  float64   `json:"objective"`
	Bound      float64   `json:"bound"`
	Proven     bool      `json:"proven"`
	TotalValue float64   `json:"totalValue"` // of all notes of the excerpt, each at its written pitch
	Plucks     []Pluck   `json:"plucks"`
	Dropped    []Dropped `json:"dropped"`
}

// Pluck is one sounding note on one tooth.
type Pluck struct {
	Note    string            `json:"note"`
	Tooth   int               `json:"tooth"`
	Pitch   unit.Pitch        `json:"pitch"`
	Octaves int               `json:"octaves"`
	TimeMs  unit.Milliseconds `json:"timeMs"`
	ShiftMs unit.Milliseconds `json:"shiftMs"`
	Value   float64           `json:"value"`
	Locked  bool              `json:"locked"` // reports whether the user decided it
}

// Dropped is a note that is not played, and why.
type Dropped struct {
	Note   string        `json:"note"`
	Reason phrase.Phrase `json:"reason"`
	Locked bool          `json:"locked"` // reports whether the user decided it
}

// CylinderView is the cylinder with what follows from it.
type CylinderView struct {
	pinmap.Cylinder
	CircumferenceMm unit.Millimetres  `json:"circumferenceMm"` // of the bare surface
	WrapMm          unit.Millimetres  `json:"wrapMm"`          // at which the paper closes, π(D + p)
	RevolutionMs    unit.Milliseconds `json:"revolutionMs"`
	LengthMm        unit.Millimetres  `json:"lengthMm"` // of the cylinder at hand, or z₁ before the first track and after the last of all tunes; never too short for the tracks
	ContactDeg      unit.Degrees      `json:"contactDeg"`
}

// DriveView is how fast the train turns.
type DriveView struct {
	CylinderRpm   unit.Rpm `json:"cylinderRpm"`
	GreatWheelRpm unit.Rpm `json:"greatWheelRpm"` // that this revolution needs
	GovernorRpm   unit.Rpm `json:"governorRpm"`
	Ratio         float64  `json:"ratio"` // governor turns for one of the great wheel
}

// BenchView is how far the holes may lie from where they were computed: what the method of indexing rounds, and what setting and drilling add.
type BenchView struct {
	Method        pinmap.Method     `json:"method"`
	Circle        int               `json:"circle"` // of a dividing head: the best one for the whole cylinder, else 0
	Exact         bool              `json:"exact"`  // reports whether the method rounds nothing
	WorstErrorDeg unit.Degrees      `json:"worstErrorDeg"`
	WorstErrorMm  unit.Millimetres  `json:"worstErrorMm"` // along the arc at the bare surface
	WorstErrorMs  unit.Milliseconds `json:"worstErrorMs"`
	RMSErrorDeg   unit.Degrees      `json:"rmsErrorDeg"` // root of the mean square
	RMSErrorMm    unit.Millimetres  `json:"rmsErrorMm"`
	RMSErrorMs    unit.Milliseconds `json:"rmsErrorMs"`
	SigmaMm       unit.Millimetres  `json:"sigmaMm"`  // standard deviation of setting and drilling along the arc
	JitterMs      unit.Milliseconds `json:"jitterMs"` // the same in time
	Risk          float64           `json:"risk"`     // chance that some repeat that holds as computed fails
	RiskMost      float64           `json:"riskMost"` // that it does not exceed; the same unless a tooth is at risk all the way round
	Failing       float64           `json:"failing"`  // repeats that fail, on average
	Heard         float64           `json:"heard"`    // share of the intervals from onset to onset whose error an ear can tell, on average
	AtRisk        []PinAtRisk       `json:"atRisk"`   // the ten pins most at risk
}

// PinAtRisk is a pin with the chance that one of its two repeats fails.
type PinAtRisk struct {
	Pin    int     `json:"pin"`
	Chance float64 `json:"chance"`
}

// DecisionView is one decision that is in force, in words.
type DecisionView struct {
	Decision arrange.Decision `json:"decision"`
	Text     phrase.Phrase    `json:"text"`            // "C5 in bar 3 moved up an octave"
	Added    []string         `json:"added,omitempty"` // ids of the notes that it adds
}
