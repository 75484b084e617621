package web

import (
	"encoding/json"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"pinwright/arrange"
	"pinwright/pinmap/project"
)

// Describe says in words what a decision asks for; notes go by their names and places in the result, those that it does
// not have by their numbers.
func (s Shown) Describe(d arrange.Decision, r *project.Result) string {
	switch d.Kind {
	case arrange.Move, arrange.Remove:
		return s.asked(s.say("note {1}", d.Note), d) // where it is now is not what it was
	case arrange.Add:
		if d.Pitch != nil {
			return s.asked(s.pitch(d.Pitch.Pitch()), d)
		}
		return s.asked(s.say("a note"), d)
	}
	if d.Kind != arrange.Several {
		if who := s.whoIs(d.Note, r); who != "" {
			return s.asked(who, d)
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
			words = append(words, s.asked(strings.Join(who, ", "), first))
		}
	}
	return strings.Join(words, "; ")
}

// ledger says what a decision in force did: of one that takes a note out, which note it was.
func (s Shown) ledger(d project.DecisionView, r *project.Result) string {
	if k := d.Decision.Kind; (k == arrange.Remove || k == arrange.Move) && !d.Text.Empty() { // by the place that it no longer has
		return s.tell(d.Text)
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
				return s.say("{1} in bar {2} beat {3}", s.note(n.Name), n.Bar, short(n.Beat, 2))
			}
		}
	}
	return s.say("note {1}", id)
}

// asked says what is asked of whom.
func (s Shown) asked(who string, d arrange.Decision) string { return s.say("{1} {2}", who, s.asks(d)) }

// asks says what is asked of a note, or of the setup.
func (s Shown) asks(d arrange.Decision) string {
	switch d.Kind {
	case arrange.Octave:
		switch {
		case d.Octaves == nil:
		case *d.Octaves == 0:
			return s.say("kept at its octave")
		default:
			return s.say("moved {1}", s.octaves(*d.Octaves))
		}
	case arrange.Place:
		if d.Pitch == nil {
			return s.say("set on tooth {1}", d.Tooth)
		}
		if d.Twin > 1 {
			return s.say("set on tooth {1} (twin {2})", s.pitch(d.Pitch.Pitch()), d.Twin)
		}
		return s.say("set on tooth {1}", s.pitch(d.Pitch.Pitch()))
	case arrange.LeaveOut:
		return s.say("left out")
	case arrange.Shift:
		switch {
		case d.Ms == nil:
		case *d.Ms < 0:
			return s.say("{1} ms earlier", short(-*d.Ms, 1))
		default:
			return s.say("{1} ms later", short(*d.Ms, 1))
		}
	case arrange.Release:
		return s.say("released")
	case arrange.Add, arrange.Move, arrange.Remove:
		return s.tell(project.Rewriting(d))
	case arrange.Change:
		return strings.Join(s.settingsOf(d.Setup), "; ")
	case arrange.Undo:
		return s.say("undo")
	case arrange.Redo:
		return s.say("redo")
	}
	return s.say("decided about")
}

// choices are the words of settings that are chosen from a list.
var choices = map[string][]option{"tempo.mode": tempoModes, "comb.mode": combModes, "cylinder.bassEnd": ends, "cylinder.turns": turns,
	"bench.method": methods, "bench.material": materials, "bench.pinShape": pinShapes}

// settingsOf names the settings of a change of the setup with their values: "bare diameter 14 mm".
func (s Shown) settingsOf(change json.RawMessage) []string {
	var sections map[string]any
	if json.Unmarshal(change, &sections) != nil {
		return []string{s.say("a change of the setup")}
	}
	var words []string
	for _, section := range sortedKeys(sections) {
		fields, inside := sections[section].(map[string]any)
		switch {
		case section == "excerpt" && inside:
			words = append(words, s.say("bars {1} to {2}", text(fields["fromBar"]), text(fields["toBar"])))
		case section == "excerpt":
			words = append(words, s.say("bars chosen by the length of the turn"))
		case section == "parts":
			words = append(words, s.say("roles of the parts"))
		case section == "beside": // whole projects
			words = append(words, s.say("the tunes beside this one"))
		case section == "share" && inside:
			words = append(words, s.sharing(fields["files"]))
		case !inside:
			words = append(words, s.settingIs(section, sections[section]))
		}
		if section == "excerpt" || section == "share" || section == "beside" {
			continue
		}
		for _, field := range sortedKeys(fields) {
			words = append(words, s.settingIs(section+"."+field, fields[field]))
		}
	}
	return words
}

// sharing says which files the view link gives.
func (s Shown) sharing(files any) string {
	names, listed := files.([]any)
	switch {
	case !listed:
		return s.say("the link to look at gives every file")
	case len(names) == 0:
		return s.say("the link to look at gives no file")
	}
	return s.say("the link to look at gives {1}", text(names))
}

// settingIs names a setting with its value. A title is the user's own text.
func (s Shown) settingIs(name string, value any) string {
	field, words := settings[name], text(value)
	if at := slices.IndexFunc(choices[name], func(o option) bool { return o.Value == words }); at >= 0 {
		words = s.say(lower(choices[name][at].Words))
	}
	if field.label == "" {
		return strings.ReplaceAll(name, ".", " ") + " " + s.Text(strings.ReplaceAll(words, "\n", ", "))
	}
	label := s.say(lower(field.label))
	switch {
	case words == "" || name == "tempo.revolutionMs" && words == "0":
		return s.say("{1} left open", label)
	case field.unit == "°":
		words += field.unit
	case field.unit == "mm": // as Text reads it
		words += " mm"
	case field.unit != "":
		words += " " + s.say(field.unit)
	}
	words = strings.ReplaceAll(words, "\n", ", ")
	if name != "title" {
		words = s.Text(words)
	}
	return s.say("{1} {2}", label, words)
}

// lower starts a text with a small letter.
func lower(s string) string {
	first, size := utf8.DecodeRuneInString(s)
	if size == 0 {
		return s
	}
	return string(unicode.ToLower(first)) + s[size:]
}
