package web

import (
	"context"
	"strconv"

	"github.com/a-h/templ"

	"pinwright/arrange"
	"pinwright/pinmap/project"
)

// option is one choice of a select.
type option struct{ Value, Words string }

var (
	tempoModes = []option{{"fill", "Fills the turn"}, {"written", "As written"}}
	combModes  = []option{{"cut", "To be cut"}, {"fixed", "From the drawer"}}
	ends       = []option{{"left", "left"}, {"right", "right"}}
	turns      = []option{{"up", "up"}, {"down", "down"}}
	methods    = []option{{"wrap", "The printed map, wrapped round"}, {"degrees", "Decimal degrees"}, {"dms", "Degrees, minutes and seconds"}, {"head", "A dividing head"},
		{"wheel", "An index wheel"}, {"stepper", "A stepping motor"}, {"vernier", "The arc, by vernier"}}
	materials = []option{{"brass", "Brass"}, {"aluminium", "Aluminium"}, {"steel", "Steel"}, {"plastic", "Plastic"}}
	pinShapes = []option{{"cone", "Cones"}, {"round", "Round as wire"}}
)

// fieldID gives the id of a form's field.
func fieldID(name string) string { return "f-" + anchor(name) }

// labelOf gives what heads a field.
func labelOf(name string) string {
	switch name {
	case "excerpt.fromBar":
		return "From bar"
	case "excerpt.toBar":
		return "To bar"
	}
	return settings[name].label
}

// invalid gives the value of aria-invalid.
func invalid(v projectView, name string) string { return strconv.FormatBool(v.wrong(name)) }

// described ties a field to its hint.
func described(name, hint string) templ.Attributes {
	if hint == "" {
		return nil
	}
	return templ.Attributes{"aria-describedby": fieldID(name) + "-hint"}
}

// fileLink says whether a file opens or is saved.
func fileLink(f File) templ.Attributes {
	if f.Open {
		return templ.Attributes{"target": "_blank", "rel": "noopener"}
	}
	return templ.Attributes{"download": f.Name}
}

// role gives the choice that a part's select shows: what the user set, else automatic.
func (v projectView) role(p project.PartView) string {
	if role := v.Values.Get(partPrefix + p.ID); role != "" {
		return role
	}
	return automatic
}

func partName(ctx context.Context, p project.PartView) string {
	if p.Name != "" {
		return p.Name
	}
	return say(ctx, "Track {1}, channel {2}", p.Track, p.Channel)
}

// fromFile gives a number that only parts of the file have.
func fromFile(n int) string {
	if n == 0 {
		return "–"
	}
	return strconv.Itoa(n)
}

func (s Shown) rangeOf(p project.PartView) string {
	if p.Notes == 0 {
		return "–"
	}
	return s.note(p.Low) + "–" + s.note(p.High)
}

func program(ctx context.Context, p project.PartView) string {
	if p.Program == 0 {
		return say(ctx, "none")
	}
	return strconv.Itoa(p.Program)
}

func twinOf(ctx context.Context, t project.ToothView) string {
	if t.Twins < 2 {
		return ""
	}
	return say(ctx, "{1} of {2}", t.Twin, t.Twins)
}

func twinWords(ctx context.Context, p *pinRow) string {
	if p.Twins == "" {
		return ""
	}
	return say(ctx, ", twin {1}", p.Twins)
}

// nearest gives the least distance of two plucks of a tooth; a tooth with fewer than two has none.
func nearest(t project.ToothView) string {
	if t.NearestMs == nil {
		return "–"
	}
	return fixed(*t.NearestMs, 0)
}

// tooSoon reports whether the tooth is plucked again before it is free.
func tooSoon(t project.ToothView) bool { return t.NearestMs != nil && *t.NearestMs < t.RepeatMs-0.01 }

func toothClass(t project.ToothView) string {
	if tooSoon(t) {
		return "bad"
	}
	return ""
}

func verdictClass(clear bool) string {
	if clear {
		return "verdict good"
	}
	return "verdict bad"
}

// foundHead heads the findings of the page that only shows.
func foundHead(r *project.Result) string {
	if r.ClearToDrill {
		return "What was changed"
	}
	return "What stands in the way, and what was changed"
}

func findingClass(f arrange.Finding) string {
	if f.Blocks {
		return "finding bad"
	}
	return "finding"
}

func fateClass(n noteView) string {
	switch {
	case n.Dropped != nil:
		return "fate out"
	case n.Locked:
		return "fate held"
	}
	return "fate"
}

// mostAtOnce is how many findings stand on the page before their list scrolls by itself.
const mostAtOnce = 10

// scrolls makes a long list scroll, reached by the keyboard too.
func scrolls(n int, label string) templ.Attributes {
	if n <= mostAtOnce {
		return nil
	}
	return templ.Attributes{"tabindex": "0", "aria-label": label, "data-long": true}
}

func moreWords(f findingView) string {
	if len(f.Mending) == 0 {
		return "Work out remedies"
	}
	return "Work out more remedies"
}

func undoTitle(ctx context.Context, v projectView) string {
	if words := v.undoes(); words != "" {
		return say(ctx, "Undo: {1}", words)
	}
	return say(ctx, "Undo")
}

func redoTitle(ctx context.Context, v projectView) string {
	if v.RedoText != "" {
		return say(ctx, "Redo: {1}", v.RedoText)
	}
	return say(ctx, "Redo")
}

// words says what the change was that was not saved.
func (c Conflict) words(r *project.Result, s Shown) string {
	if c.Text != "" {
		return c.Text
	}
	return s.Describe(c.Decision, r)
}

// atMost says how large a tune may be.
func atMost(ctx context.Context, mib int) string {
	if mib <= 0 {
		return ""
	}
	return say(ctx, ", {1} MiB at most", mib)
}
