package web

import (
	"encoding/json"
	"net/url"

	"pinwright/arrange"
	"pinwright/pinmap/project"
)

// FieldError names the field of a form that cannot be used, and why.
type FieldError struct {
	Field   string // "cylinder.diameterMm"
	Message string // what is, what is needed
}

func (e *FieldError) Error() string { return e.Field + ": " + e.Message }

// Pointer gives the JSON pointer of the field, such as "/cylinder/diameterMm".
func (e *FieldError) Pointer() string { return "" }

// DecisionFromForm reads a posted form as the decision that it asks for. Errors are *FieldError.
func DecisionFromForm(form url.Values, current project.Setup) (arrange.Decision, error) {
	return arrange.Decision{}, nil
}

// NoteDecision reads the form of one note. Errors are *FieldError.
func NoteDecision(form url.Values) (arrange.Decision, error) { return arrange.Decision{}, nil }

// SetupChange gives the part of the setup that the form changes, as JSON; nil where it changes nothing. Errors are
// *FieldError.
func SetupChange(form url.Values, current project.Setup) (json.RawMessage, error) { return nil, nil }
