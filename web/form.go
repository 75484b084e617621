package web

import (
	"net/url"
	"strconv"
	"strings"

	"pinwright/arrange"
	"pinwright/pinmap/project"
)

// FieldError names the field of a form that cannot be used, and why.
type FieldError struct {
	Field   string // "cylinder.diameterMm"
	Message string // what is, what is needed
}

func (e *FieldError) Error() string { return e.Message }

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
// note, else the fields of the setup that differ from current. Errors are *FieldError.
func DecisionFromForm(form url.Values, current project.Setup) (arrange.Decision, error) {
	if form.Has("decision") {
		return parseDecision(form.Get("decision"))
	}
	if form.Has("note") {
		return NoteDecision(form)
	}
	change, err := SetupChange(form, current)
	if err != nil {
		return arrange.Decision{}, err
	}
	if change == nil {
		return arrange.Decision{}, &FieldError{Message: "Every field holds what it held before, so there is nothing to change."}
	}
	return arrange.Decision{Kind: arrange.Change, Setup: change}, nil
}

func parseDecision(text string) (arrange.Decision, error) {
	d, err := project.ParseDecision([]byte(text))
	if err != nil {
		return d, &FieldError{"decision", "The form holds no decision that can be read. Load the page again and repeat the change."}
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
)

// NoteDecision reads the form of one note: `note`, `do`, and `tooth` or `ms` where it places or shifts. Errors are
// *FieldError.
func NoteDecision(form url.Values) (arrange.Decision, error) {
	d := arrange.Decision{Note: strings.TrimSpace(form.Get("note"))}
	if d.Note == "" {
		return d, &FieldError{"note", "No note is named. Write its number as the list of notes gives it, such as n12."}
	}
	do := form.Get("do")
	if octaves, ok := strings.CutPrefix(do, doOctave); ok {
		n, err := strconv.Atoi(octaves)
		if err != nil {
			return d, &FieldError{"do", "An octave is a whole number from -2 to 2."}
		}
		d.Kind, d.Octaves = arrange.Octave, &n
		return d, nil
	}
	switch do {
	case doLeaveOut:
		d.Kind = arrange.LeaveOut
	case doRelease:
		d.Kind = arrange.Release
	case doPlace:
		tooth, err := strconv.Atoi(strings.TrimSpace(form.Get("tooth")))
		if err != nil || tooth < 1 {
			return d, &FieldError{"tooth", "Write the number of the tooth; 1 is the lowest."}
		}
		d.Kind, d.Tooth = arrange.Place, tooth
	case doShift:
		ms, fault := parseNumber(form.Get("ms"))
		if fault != "" {
			return d, &FieldError{"ms", "Write by how many ms the note comes later, or a figure below 0 for earlier."}
		}
		d.Kind, d.Ms = arrange.Shift, &ms
	default:
		return d, &FieldError{"do", "No change is named. Use one of the buttons of the note."}
	}
	return d, nil
}
