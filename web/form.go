package web

import (
	"encoding/json"
	"maps"
	"net/url"
	"strconv"
	"strings"

	"pinwright/arrange"
	"pinwright/arrange/phrase"
	"pinwright/arrange/tune"
	"pinwright/arrange/unit"
	"pinwright/pinmap/project"
)

// FieldError names the field of a form that cannot be used, and why.
type FieldError struct {
	Field   string        // "cylinder.diameterMm"
	Message phrase.Phrase // what is, what is needed
}

// Error gives the message in English.
func (e *FieldError) Error() string { return e.Message.String() }

// Pointer gives the JSON pointer of the field, such as "/cylinder/diameterMm"; empty where no field is to blame.
func (e *FieldError) Pointer() string {
	switch {
	case e.Field == "":
		return ""
	case strings.HasPrefix(e.Field, partPrefix):
		return "/parts"
	}
	return "/" + strings.ReplaceAll(e.Field, ".", "/")
}

// DecisionFromForm reads a posted form as the decision that it asks for: `decision` as it stands, else the form of a
// note, else that of a note to be added, else the fields of the setup that differ from current. Errors are *FieldError.
func DecisionFromForm(form url.Values, current project.Setup) (arrange.Decision, error) {
	if form.Has("decision") {
		return parseDecision(form.Get("decision"))
	}
	if form.Has("note") {
		return NoteDecision(form)
	}
	if form.Get("do") == doAdd {
		d := arrange.Decision{Kind: arrange.Add}
		return d, readPlace(&d, form, true)
	}
	change, err := SetupChange(form, current)
	if err != nil {
		return arrange.Decision{}, err
	}
	if change == nil {
		return arrange.Decision{}, &FieldError{Message: phrase.Of("Every field holds what it held before, so there is nothing to change.")}
	}
	return arrange.Decision{Kind: arrange.Change, Setup: change}, nil
}

func parseDecision(text string) (arrange.Decision, error) {
	d, err := project.ParseDecision([]byte(text))
	if err != nil {
		return d, &FieldError{"decision", phrase.Of("The form holds no decision that can be read. Load the page again and repeat the change.")}
	}
	return d, nil
}

// What the buttons of a note's form do, the value of its field `do`. An octave carries its number: "octave:-1".
const (
	doOctave   = "octave:"
	doPlace    = "place"
	doShift    = "shift"
	doLeaveOut = "leave-out"
	doRelease  = "release"
	doAdd      = "add" // in a form of its own, which names no note
	doMove     = "move"
	doRemove   = "remove"
)

// NoteDecision reads the form of one note: `note`, `do`, and `tooth` or `ms` where it places or shifts, some of `bar`, `beat` and `pitch`
// where it moves. Where it moves or takes out, `note` can stand several times, for notes that are played as one. Errors are *FieldError.
func NoteDecision(form url.Values) (arrange.Decision, error) {
	if all := form["note"]; len(all) > 1 && (form.Get("do") == doMove || form.Get("do") == doRemove) {
		several := arrange.Decision{Kind: arrange.Several}
		for _, one := range all {
			alone := maps.Clone(form)
			alone.Set("note", one)
			d, err := NoteDecision(alone)
			if err != nil {
				return d, err
			}
			several.Decisions = append(several.Decisions, d)
		}
		return several, nil
	}
	d := arrange.Decision{Note: strings.TrimSpace(form.Get("note"))}
	if d.Note == "" {
		return d, &FieldError{"note", phrase.Of("No note is named. Write its number as the list of notes gives it, such as n12.")}
	}
	do := form.Get("do")
	if octaves, ok := strings.CutPrefix(do, doOctave); ok {
		n, err := strconv.Atoi(octaves)
		if err != nil {
			return d, &FieldError{"do", phrase.Of("An octave is a whole number from -2 to 2.")}
		}
		d.Kind, d.Octaves = arrange.Octave, &n
		return d, nil
	}
	switch do {
	case doLeaveOut:
		d.Kind = arrange.LeaveOut
	case doRelease:
		d.Kind = arrange.Release
	case doRemove:
		d.Kind = arrange.Remove
	case doMove:
		d.Kind = arrange.Move
		if err := readPlace(&d, form, false); err != nil {
			return d, err
		}
		if d.Bar == nil && d.Beat == nil && d.Pitch == nil {
			return d, &FieldError{"bar", phrase.Of("Nothing is named to move the note to. Write a bar, a beat or a pitch.")}
		}
	case doPlace:
		tooth, err := strconv.Atoi(strings.TrimSpace(form.Get("tooth")))
		if err != nil || tooth < 1 {
			return d, &FieldError{"tooth", phrase.Of("Write the number of the tooth; 1 is the lowest.")}
		}
		d.Kind, d.Tooth = arrange.Place, tooth
	case doShift:
		ms, fault := parseNumber(form.Get("ms"))
		if !fault.Empty() {
			return d, &FieldError{"ms", phrase.Of("Write by how many ms the note comes later, or a figure below 0 for earlier.")}
		}
		d.Kind, d.Ms = arrange.Shift, &ms
	default:
		return d, &FieldError{"do", phrase.Of("No change is named. Use one of the buttons of the note.")}
	}
	return d, nil
}

// readPlace reads where a note is written: `pitch`, `bar` and `beat`, all of them, or those that are filled in. Errors are *FieldError.
func readPlace(d *arrange.Decision, form url.Values, all bool) error {
	filled := func(name string) (string, bool) {
		text := strings.TrimSpace(form.Get(name))
		return text, all || text != ""
	}
	if text, ok := filled("pitch"); ok {
		pitch, err := unit.ParsePitch(text)
		if err != nil {
			return &FieldError{"pitch", phrase.Of("Write the note's English name with its octave, such as C5, F#4 or B4.")}
		}
		name := unit.NoteName(pitch)
		d.Pitch = &name
	}
	if text, ok := filled("bar"); ok {
		bar, err := strconv.Atoi(text)
		if err != nil {
			return &FieldError{"bar", phrase.Of("Write the number of the bar, a whole number.")}
		}
		d.Bar = &bar
	}
	if text, ok := filled("beat"); ok {
		beat, fault := parseNumber(text)
		if !fault.Empty() {
			return &FieldError{"beat", phrase.Of("Write the beat as a number: 1 at the bar line, 2.5 for half after the second.")}
		}
		d.Beat = &beat
	}
	return nil
}

// BlankFromForm reads the first page's form for a tune from nothing: `bars`, `beats` and `bpm`; what is left empty has its default. Errors are
// *FieldError or those of project.ParseBlank.
func BlankFromForm(form url.Values) (tune.Blank, error) {
	fields := map[string]float64{}
	for _, name := range []string{"bars", "beats", "bpm"} {
		text := strings.TrimSpace(form.Get(name))
		if text == "" {
			continue
		}
		n, fault := parseNumber(text)
		if !fault.Empty() {
			return tune.Blank{}, &FieldError{name, phrase.Of("Write the bars, the beats in a bar and the tempo as numbers.")}
		}
		fields[name] = n
	}
	data, err := json.Marshal(fields)
	if err != nil {
		return tune.Blank{}, &FieldError{"bars", phrase.Of("Write the bars, the beats in a bar and the tempo as numbers.")}
	}
	return project.ParseBlank(data)
}
