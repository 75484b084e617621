package arrange

import (
	"cmp"
	"slices"

	"pinwright/arrange/unit"
)

// Together is how near two onsets are one: equal pitches are merged, chords are told apart from runs.
const Together unit.Milliseconds = 10

// Source is one note of the file inside the excerpt, with its time on the cylinder.
type Source struct {
	ID    string
	AtMs  unit.Milliseconds
	Pitch unit.Pitch
	Part  string
	Role  Role // set for its part; "" where each note gets its own
	Bar   int
	Beat  float64
}

// Compose merges sources of equal pitch whose onsets lie within 10 ms of the first of them, and gives each note its
// role: the most valuable that the user set for its parts or, automatically, by its place among the notes whose
// onsets lie within 10 ms of the first of them: the highest lead, the lowest (of two or more) bass, the rest fill.
// Sources whose role is Off must have been left out before. The result is sorted by onset, then pitch. n log n.
func Compose(sources []Source) []Note {
	src := slices.Clone(sources)
	slices.SortStableFunc(src, func(a, b Source) int {
		return cmp.Or(cmp.Compare(a.AtMs, b.AtMs), cmp.Compare(a.Pitch, b.Pitch))
	})
	var notes []Note
	var set []Role  // the best role set by the user for each note, "" for none
	var auto []bool // whether a source of the note has an automatic role
	latest := map[unit.Pitch]int{}
	for _, s := range src {
		at, known := latest[s.Pitch]
		if known && s.AtMs-notes[at].OnsetMs <= Together {
			notes[at].Merged = append(notes[at].Merged, s.ID)
		} else {
			at = len(notes)
			latest[s.Pitch] = at
			notes = append(notes, Note{ID: s.ID, OnsetMs: s.AtMs, Pitch: s.Pitch, Name: s.Pitch.String(), Part: s.Part,
				Bar: s.Bar, Beat: s.Beat, Merged: []string{s.ID}})
			set, auto = append(set, ""), append(auto, false)
		}
		if s.Role == "" {
			auto[at] = true
		} else if s.Role.Value() > set[at].Value() || set[at] == "" {
			set[at] = s.Role
			notes[at].Part = s.Part
		}
	}
	for _, chord := range Onsets(notes) {
		highest, lowest := chord.highest(notes), chord.lowest(notes)
		for i := chord.From; i < chord.To; i++ {
			role := Fill
			switch i {
			case highest:
				role = Lead
			case lowest:
				role = Bass
			}
			if !auto[i] || set[i].Value() > role.Value() {
				role = set[i]
			}
			notes[i].Role, notes[i].Value = role, role.Value()
			if len(notes[i].Merged) == 1 {
				notes[i].Merged = nil
			}
		}
	}
	return notes
}

// Chord is a run of notes that sound at one onset.
type Chord struct{ From, To int }

// Onsets groups sorted notes into chords: all whose onsets lie within 10 ms of the chord's first.
func Onsets(notes []Note) []Chord {
	var chords []Chord
	for i := range notes {
		if n := len(chords); n > 0 && notes[i].OnsetMs-notes[chords[n-1].From].OnsetMs <= Together {
			chords[n-1].To = i + 1
		} else {
			chords = append(chords, Chord{i, i + 1})
		}
	}
	return chords
}

// highest gives the index of the chord's highest note.
func (c Chord) highest(notes []Note) int {
	best := c.From
	for i := c.From + 1; i < c.To; i++ {
		if notes[i].Pitch > notes[best].Pitch {
			best = i
		}
	}
	return best
}

// lowest gives the index of the chord's lowest note, or -1 where it has only one.
func (c Chord) lowest(notes []Note) int {
	if c.To-c.From < 2 {
		return -1
	}
	best := c.From
	for i := c.From + 1; i < c.To; i++ {
		if notes[i].Pitch < notes[best].Pitch {
			best = i
		}
	}
	return best
}
