package web

import (
	"encoding/json"
	"slices"
	"strconv"
	"strings"

	"pinwright/arrange"
	"pinwright/pinmap/project"
)

// Describe says in words what a decision asks for; notes go by their names and places in the result, those that it does
// not have by their numbers.
func (s Shown) Describe(d arrange.Decision, r *project.Result) string {
	switch d.Kind {
	case arrange.Move, arrange.Remove:
		return "note " + d.Note + " " + s.asks(d) // where it is now is not what it was
	case arrange.Add:
		if d.Pitch != nil {
			return s.pitch(d.Pitch.Pitch()) + " " + s.asks(d)
		}
		return "a note " + s.asks(d)
	}
	if d.Kind != arrange.Several {
		if who := s.whoIs(d.Note, r); who != "" {
			return who + " " + s.asks(d)
		}
		return s.asks(d)
	}
	var words []string
	for i := 0; i < len(d.Decisions); {
		if d.Decisions[i].Writes() {
			words = append(words, s.Describe(d.Decisions[i], r))
			i++
			continue
		}
		// Notes of which the same is asked are named together.
		first, who := d.Decisions[i], []string{}
		for ; i < len(d.Decisions) && s.asks(d.Decisions[i]) == s.asks(first); i++ {
			who = append(who, s.whoIs(d.Decisions[i].Note, r))
		}
		if first.Note == "" {
			words = append(words, s.asks(first))
		} else {
			words = append(words, strings.Join(who, ", ")+" "+s.asks(first))
		}
	}
	return strings.Join(words, "; ")
}

// ledger says what a decision in force did: of one that takes a note out, which note it was.
func (s Shown) ledger(d project.DecisionView, r *project.Result) string {
	if k := d.Decision.Kind; (k == arrange.Remove || k == arrange.Move) && !d.Text.Empty() { // by the place that it no longer has
		return s.Text(d.Text.String())
	}
	return s.Describe(d.Decision, r)
}

// whoIs names the note of a decision; empty where it is about none.
func (s Shown) whoIs(id string, r *project.Result) string {
	if id == "" {
		return ""
	}
	if r != nil {
		for _, n := range r.Tune.Notes {
			if n.ID == id || slices.Contains(n.Merged, id) {
				return s.note(n.Name) + " in bar " + strconv.Itoa(n.Bar) + " beat " + short(n.Beat, 2)
			}
		}
	}
	return "note " + id
}

// asks says what is asked of a note, or of the setup.
func (s Shown) asks(d arrange.Decision) string {
	switch d.Kind {
	case arrange.Octave:
		switch {
		case d.Octaves == nil:
		case *d.Octaves == 0:
			return "kept at its octave"
		default:
			return "moved " + octaves(*d.Octaves)
		}
	case arrange.Place:
		if d.Pitch == nil {
			return "set on tooth " + strconv.Itoa(d.Tooth)
		}
		if d.Twin > 1 {
			return "set on tooth " + s.pitch(d.Pitch.Pitch()) + " (twin " + strconv.Itoa(d.Twin) + ")"
		}
		return "set on tooth " + s.pitch(d.Pitch.Pitch())
	case arrange.LeaveOut:
		return "left out"
	case arrange.Shift:
		switch {
		case d.Ms == nil:
		case *d.Ms < 0:
			return short(-*d.Ms, 1) + " ms earlier"
		default:
			return short(*d.Ms, 1) + " ms later"
		}
	case arrange.Release:
		return "released"
	case arrange.Add, arrange.Move, arrange.Remove:
		return s.Text(project.Rewriting(d).String())
	case arrange.Change:
		return strings.Join(s.settingsOf(d.Setup), "; ")
	case arrange.Undo, arrange.Redo:
		return string(d.Kind)
	}
	return "decided about"
}

// choices are the words of settings that are chosen from a list.
var choices = map[string][]option{"tempo.mode": tempoModes, "comb.mode": combModes, "cylinder.bassEnd": ends, "cylinder.turns": turns}

// settingsOf names the settings of a change of the setup with their values: "bare diameter 14 mm".
func (s Shown) settingsOf(change json.RawMessage) []string {
	var sections map[string]any
	if json.Unmarshal(change, &sections) != nil {
		return []string{"a change of the setup"}
	}
	var words []string
	for _, section := range sortedKeys(sections) {
		fields, inside := sections[section].(map[string]any)
		switch {
		case section == "excerpt" && inside:
			words = append(words, "bars "+text(fields["fromBar"])+" to "+text(fields["toBar"]))
		case section == "excerpt":
			words = append(words, "bars chosen by the length of the turn")
		case section == "parts":
			words = append(words, "roles of the parts")
		case section == "share" && inside:
			words = append(words, sharing(fields["files"]))
		case !inside:
			words = append(words, s.settingIs(section, sections[section]))
		}
		if section == "excerpt" || section == "share" {
			continue
		}
		for _, field := range sortedKeys(fields) {
			words = append(words, s.settingIs(section+"."+field, fields[field]))
		}
	}
	return words
}

// sharing says which files the view link gives.
func sharing(files any) string {
	names, listed := files.([]any)
	switch {
	case !listed:
		return "the link to look at gives every file"
	case len(names) == 0:
		return "the link to look at gives no file"
	}
	return "the link to look at gives " + text(names)
}

// settingIs names a setting with its value. A title is the user's own text.
func (s Shown) settingIs(name string, value any) string {
	field, words := settings[name], text(value)
	if at := slices.IndexFunc(choices[name], func(o option) bool { return o.Value == words }); at >= 0 {
		words = lower(choices[name][at].Words)
	}
	label := lower(field.label)
	switch {
	case label == "":
		label = strings.ReplaceAll(name, ".", " ")
	case words == "" || name == "tempo.revolutionMs" && words == "0":
		return label + " left open"
	case field.unit == "°":
		words += field.unit
	case field.unit != "":
		words += " " + field.unit
	}
	words = strings.ReplaceAll(words, "\n", ", ")
	if name != "title" {
		words = s.Text(words)
	}
	return label + " " + words
}

// lower starts a text with a small letter.
func lower(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}
