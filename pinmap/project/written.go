package project

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"pinwright/arrange"
	"pinwright/arrange/phrase"
	"pinwright/arrange/tune"
	"pinwright/arrange/unit"
)

const (
	byHand      = "hand" // id of the part of the notes that are added; those of the file's parts begin with t
	furtherBars = 200    // after the file's last, in which notes can be written
	leastBeat   = 0.001  // that a note lies before the end of its bar
	sameTime    = 1e-6   // ms; written so near a note of the file, a note sounds at one time with it, to the last bit
)

// written is a tune with what was decided about it as written.
type written struct {
	file  *tune.Tune
	steps []arrange.Step   // those that change it
	marks map[string]*mark // by the note's id
	order []string         // ids of the marks, first the first
	adds  int
	bars  []tune.Bar     // as far as notes were ever written
	lost  []arrange.Step // that cannot be done with this file
}

// mark is a note that was added, moved or removed, as it last stood.
type mark struct {
	note tune.Note
	gone bool
	by   arrange.Step // the last that wrote it
}

// writes gives the steps that change the tune as written.
func writes(steps []arrange.Step) (all []arrange.Step) {
	for _, s := range steps {
		if s.Decision.Writes() {
			all = append(all, s)
		}
	}
	return all
}

// write does the steps, all of which change the tune as written, one after another. The nth note that is added is called an, whatever
// became of those before it, so that later decisions never change an id. Bars and parts only ever grow, for the setup may speak of them.
func write(file *tune.Tune, steps []arrange.Step) *written {
	w := &written{file: file, steps: steps, marks: map[string]*mark{}, bars: file.Bars}
	for _, s := range steps {
		n, err := w.after(s.Decision, "")
		if s.Decision.Kind == arrange.Add {
			w.adds++
		}
		if err != nil {
			w.lost = append(w.lost, s)
			continue
		}
		if w.marks[n.ID] == nil {
			w.order = append(w.order, n.ID)
		}
		w.marks[n.ID] = &mark{n, s.Decision.Kind == arrange.Remove, s}
		if n.Bar > w.bars[len(w.bars)-1].Number {
			w.bars = file.BarsTo(n.Bar)
		}
	}
	return w
}

// addedID gives the id of the nth note that is added.
func addedID(n int) string { return "a" + itoa(n) }

// find gives a note of the file, or one that was added, as it stands or last stood.
func (w *written) find(id string) (n tune.Note, gone, ok bool) {
	if m := w.marks[id]; m != nil {
		return m.note, m.gone, true
	}
	number, err := strconv.Atoi(strings.TrimPrefix(id, "n")) // ids count the file's notes in order
	if err == nil && number >= 1 && number <= len(w.file.Notes) && w.file.Notes[number-1].ID == id {
		return w.file.Notes[number-1], false, true
	}
	return tune.Note{}, false, false
}

// after gives the note that a decision leaves; of one that is removed, as it was. Errors are of type *FieldError.
func (w *written) after(c arrange.Decision, pointer string) (tune.Note, error) {
	n := tune.Note{ID: addedID(w.adds + 1), Part: len(w.file.Parts)}
	if c.Kind != arrange.Add {
		was, gone, ok := w.find(c.Note)
		switch {
		case gone:
			return n, fieldError(pointer+"/note", phrase.Of("the note {1} was taken out of the tune; undo that to have it back", strconv.Quote(c.Note)))
		case !ok:
			return n, fieldError(pointer+"/note", phrase.Of("the tune has no note {1}; those of the file are called n1, n2, …, those that were added a1, a2, …", quote(c.Note)))
		case c.Kind == arrange.Remove:
			return was, nil
		}
		n = was
	}
	if c.Pitch != nil {
		n.Pitch = c.Pitch.Pitch()
	}
	if c.Bar == nil && c.Beat == nil {
		return n, nil
	}
	bar, beat := n.Bar, n.Beat
	if c.Bar != nil {
		bar = *c.Bar
	}
	if c.Beat != nil {
		beat = *c.Beat
	}
	first, last := w.file.Bars[0].Number, w.file.Bars[len(w.file.Bars)-1].Number
	if bar < first || bar > last+furtherBars {
		return n, fieldError(pointer+"/bar", phrase.Of("a note cannot be written in bar {1}; the tune's bars run from {2} to {3}, and up to {4} can follow", bar, first, last, furtherBars))
	}
	bars := w.bars
	if bar > bars[len(bars)-1].Number {
		bars = w.file.BarsTo(bar)
	}
	in := bars[bar-first]
	if length := in.Length(); !(beat <= 1+length-leastBeat) {
		if length == 1 {
			return n, fieldError(pointer+"/beat", phrase.Of("bar {1} has 1 beat, so there is no beat {2}; give 1 to less than 2", bar, figure(beat, 3)))
		}
		return n, fieldError(pointer+"/beat", phrase.Of("bar {1} has {2} beats, so there is no beat {3}; give 1 to less than {4}", bar, figure(length, 3), figure(beat, 3), figure(1+length, 3)))
	}
	lasts := n.EndMs - n.OnsetMs
	n.Bar, n.Beat = bar, beat
	n.OnsetMs, n.Quarter = w.file.Moment(in, beat)
	next, _ := slices.BinarySearchFunc(w.file.Notes, n.OnsetMs-sameTime, func(n tune.Note, at unit.Milliseconds) int { return cmp.Compare(n.OnsetMs, at) })
	if next < len(w.file.Notes) && w.file.Notes[next].OnsetMs <= n.OnsetMs+sameTime {
		n.OnsetMs = w.file.Notes[next].OnsetMs
	}
	n.EndMs = n.OnsetMs + lasts
	return n, nil
}

// fromNothing reports whether the file holds no notes, so that all there are were added.
func (w *written) fromNothing() bool { return len(w.file.Notes) == 0 }

// edited reports whether the tune may differ from the file.
func (w *written) edited() bool { return len(w.steps) > 0 || w.fromNothing() }

// tune gives the tune as it stands, the file's own where nothing was changed. n log n in its notes.
func (w *written) tune() *tune.Tune {
	if !w.edited() {
		return w.file
	}
	t := *w.file
	t.Bars = w.bars
	t.Parts = slices.Clone(t.Parts)
	if w.adds > 0 || w.fromNothing() {
		t.Parts = append(t.Parts, tune.Part{ID: byHand, Name: "By hand"})
	}
	t.Notes = make([]tune.Note, 0, len(w.file.Notes)+len(w.order))
	put := func(n tune.Note) {
		if m := w.marks[n.ID]; m == nil {
			t.Notes = append(t.Notes, n)
		} else if !m.gone {
			t.Notes = append(t.Notes, m.note)
		}
	}
	for _, n := range w.file.Notes {
		put(n)
	}
	for _, id := range w.order {
		if n := w.marks[id].note; n.Part == len(w.file.Parts) {
			put(n)
		}
	}
	slices.SortStableFunc(t.Notes, func(a, b tune.Note) int {
		return cmp.Or(cmp.Compare(a.OnsetMs, b.OnsetMs), cmp.Compare(a.Pitch, b.Pitch), cmp.Compare(a.Part, b.Part))
	})
	for i := range t.Parts {
		t.Parts[i].Notes, t.Parts[i].Low, t.Parts[i].High = 0, 0, 0
	}
	for _, n := range t.Notes {
		p := &t.Parts[n.Part]
		if p.Notes++; p.Notes == 1 {
			p.Low, p.High = n.Pitch, n.Pitch
		}
		p.Low, p.High = min(p.Low, n.Pitch), max(p.High, n.Pitch)
	}
	return &t
}

// Rewriting says what a decision of the kind add, move or remove asks for, after the note's name: "moved to bar 3 beat 2.5 as D5".
func Rewriting(c arrange.Decision) phrase.Phrase {
	var bar int
	var at string
	if c.Bar != nil {
		bar = *c.Bar
	}
	if c.Beat != nil {
		at = beat(*c.Beat)
	}
	switch {
	case c.Kind == arrange.Remove:
		return phrase.Of("taken out of the tune")
	case c.Kind == arrange.Add:
		return phrase.Of("added in bar {1} beat {2}", bar, at)
	case c.Bar == nil && c.Beat == nil && c.Pitch != nil:
		return phrase.Of("written as {1}", *c.Pitch)
	case c.Pitch == nil && c.Beat == nil:
		return phrase.Of("moved to bar {1}", bar)
	case c.Pitch == nil && c.Bar == nil:
		return phrase.Of("moved to beat {1}", at)
	case c.Pitch == nil:
		return phrase.Of("moved to bar {1} beat {2}", bar, at)
	case c.Beat == nil:
		return phrase.Of("moved to bar {1} as {2}", bar, *c.Pitch)
	case c.Bar == nil:
		return phrase.Of("moved to beat {1} as {2}", at, *c.Pitch)
	}
	return phrase.Of("moved to bar {1} beat {2} as {3}", bar, at, *c.Pitch)
}
