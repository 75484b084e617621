package arrange

import (
	"pinwright/arrange/phrase"
	"pinwright/arrange/unit"
)

// FindingKind names what a finding is about.
type FindingKind string

// The kinds of finding.
const (
	OffComb       FindingKind = "off-comb"      // no tooth has the pitch
	Repeat        FindingKind = "repeat"        // one tooth too soon
	Seam          FindingKind = "seam"          // the same across the datum
	Doubled       FindingKind = "doubled"       // the tooth is already plucked at that onset
	Moved         FindingKind = "moved"         // plucked in another octave
	LeftOut       FindingKind = "left-out"      // left out by the user
	Holes         FindingKind = "holes"         // two holes too near
	Load          FindingKind = "load"          // too many teeth released together
	Overrun       FindingKind = "overrun"       // the tune does not fit the revolution
	Contradiction FindingKind = "contradiction" // decisions that cannot all be kept
	Unmet         FindingKind = "unmet"         // a decision that speaks of something that is not there
	Indexing      FindingKind = "indexing"      // the tools at hand would set a repeat or a web too small
	Short         FindingKind = "short"         // the cylinder at hand is too short for the comb
	Risk          FindingKind = "risk"          // a repeat fails, as holes are drilled, more likely than allowed
	Beside        FindingKind = "beside"        // tunes that share a cylinder are in each other's way
	Tuning        FindingKind = "teeth"         // the comb itself cannot be made or used as asked
)

// Amount is a figure with its unit, such as 180 ms.
type Amount struct {
	Value float64 `json:"value"`
	Unit  string  `json:"unit"`
}

// Finding is something that stops the cylinder from being right, or something about the tune that was changed.
type Finding struct {
	ID         string        `json:"id"` // stable: the same clash keeps its id from one solution to the next
	Kind       FindingKind   `json:"kind"`
	Blocks     bool          `json:"blocks"`          // reports whether it stands in the way of drilling
	Notes      []string      `json:"notes"`           // of the project's own tune
	Teeth      []int         `json:"teeth"`           // of its comb
	Tunes      []int         `json:"tunes,omitempty"` // where several share the cylinder and it is between them or about another; 0 is the project's own
	Bar        int           `json:"bar"`
	Beat       float64       `json:"beat"`
	AngleDeg   *unit.Degrees `json:"angleDeg,omitempty"`
	Have       *Amount       `json:"have,omitempty"`
	Need       *Amount       `json:"need,omitempty"`
	GovernedBy string        `json:"governedBy,omitempty"`
	Text       phrase.Phrase `json:"text"` // what is, what is needed, in plain words with figures
	Remedies   []Remedy      `json:"remedies"`
	// RemediesLater reports whether there may be more remedies than this answer holds; they can be asked for by the finding's id.
	RemediesLater bool `json:"remediesLater,omitempty"`
}

// Remedy is one way to mend a finding, already computed.
type Remedy struct {
	Label       phrase.Phrase `json:"label"`       // a verb on the thing: "Use the twin tooth"
	Effect      phrase.Phrase `json:"effect"`      // what it changes, in words
	ValueChange float64       `json:"valueChange"` // of the objective; negative is a cost
	Clears      []string      `json:"clears"`      // ids of findings that would be gone
	Raises      []string      `json:"raises"`      // ids of findings that would be new
	Decision    Decision      `json:"decision"`    // to post
}
