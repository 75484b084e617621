package web

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"

	"pinwright/arrange"
	"pinwright/pinmap/project"
)

// fixed writes v with the given number of decimals and a thin space between thousands.
func fixed[N ~float64](v N, decimals int) string {
	s := strconv.FormatFloat(float64(v), 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	whole, fraction, _ := strings.Cut(s, ".")
	sign := ""
	if strings.HasPrefix(whole, "-") {
		sign, whole = "−", whole[1:]
	}
	// Four figures stand together; from five on they are set in threes.
	if len(whole) > 4 {
		for i := len(whole) - 3; i > 0; i -= 3 {
			whole = whole[:i] + "\u202f" + whole[i:]
		}
	}
	if fraction != "" {
		fraction = "." + fraction
	}
	return sign + whole + fraction
}

// short writes v with at most the given number of decimals, without trailing zeros.
func short[N ~float64](v N, decimals int) string {
	s := fixed(v, decimals)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

var numerals = [...]string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"}

// count writes n and the thing in words: "no notes", "one note", "13 notes".
func count(n int, one, many string) string {
	number := strconv.Itoa(n)
	if n >= 0 && n < len(numerals) {
		number = numerals[n]
	}
	if n == 1 {
		return number + " " + one
	}
	return number + " " + many
}

// sentence sets the first letter as a capital.
func sentence(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// cost says what a remedy takes from the objective, or brings.
func cost(change float64) string {
	switch {
	case math.Abs(change) < 0.005:
		return "costs nothing"
	case change < 0:
		return "costs " + short(-change, 2)
	}
	return "brings " + short(change, 2)
}

// keyChange says by how many semitones the tune was transposed.
func keyChange(semitones int) string {
	switch {
	case semitones == 0:
		return "key as written"
	case semitones > 0:
		return "key " + count(semitones, "semitone", "semitones") + " up"
	}
	return "key " + count(-semitones, "semitone", "semitones") + " down"
}

// octaves says how far a note was moved.
func octaves(n int) string {
	switch {
	case n > 0:
		return count(n, "octave", "octaves") + " up"
	case n < 0:
		return count(-n, "octave", "octaves") + " down"
	}
	return "on its pitch"
}

// place says where in the tune something stands: "bar 3, beat 2½".
func place(bar int, beat float64) string { return fmt.Sprintf("bar %d, beat %s", bar, short(beat, 2)) }

// DescribeDecision says in words what a decision asks for where no result is at hand: notes go by their numbers.
func DescribeDecision(d arrange.Decision) string { return Describe(d, nil) }

// Describe says in words what a decision asks for; notes go by their names and places in the result.
func Describe(d arrange.Decision, r *project.Result) string {
	note := "note " + d.Note
	if r != nil {
		for _, n := range r.Tune.Notes {
			if n.ID == d.Note {
				note = n.Name + " in " + place(n.Bar, n.Beat) + ","
			}
		}
	}
	switch d.Kind {
	case arrange.Octave:
		if d.Octaves != nil {
			return note + " plucked " + octaves(*d.Octaves)
		}
	case arrange.Place:
		if d.Pitch != nil {
			return note + " placed on " + d.Pitch.String()
		}
		return note + " placed on tooth " + strconv.Itoa(d.Tooth)
	case arrange.LeaveOut:
		return note + " left out"
	case arrange.Shift:
		if d.Ms != nil {
			return note + " shifted by " + short(*d.Ms, 2) + " ms"
		}
	case arrange.Release:
		return note + " released"
	case arrange.Change:
		return "the setup changed: " + strings.Join(changedFields(d.Setup), ", ")
	case arrange.Several:
		words := make([]string, len(d.Decisions))
		for i, part := range d.Decisions {
			words[i] = Describe(part, r)
		}
		return strings.Join(words, "; ")
	case arrange.Undo:
		return "undo"
	case arrange.Redo:
		return "redo"
	}
	return "a decision"
}

// changedFields names the fields of a change of the setup: "cylinder diameterMm".
func changedFields(change json.RawMessage) []string {
	var sections map[string]json.RawMessage
	if json.Unmarshal(change, &sections) != nil {
		return []string{"not readable"}
	}
	var names []string
	for _, section := range sortedKeys(sections) {
		var fields map[string]json.RawMessage
		if json.Unmarshal(sections[section], &fields) != nil || len(fields) == 0 {
			names = append(names, section)
			continue
		}
		for _, field := range sortedKeys(fields) {
			names = append(names, section+" "+field+" "+string(fields[field]))
		}
	}
	return names
}
