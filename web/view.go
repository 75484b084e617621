package web

import (
	"context"
	"encoding/json"
	"net/url"
	"path"
	"strconv"
	"strings"

	"pinwright/arrange"
	"pinwright/arrange/phrase"
	"pinwright/arrange/unit"
	"pinwright/pinmap/bench"
	"pinwright/pinmap/project"
)

// Beyond these the page would grow too long to be of use; what is not shown is counted.
const (
	mostFindings = 150
	mostUnfolded = 4
	mostNotes    = 500
	mostRows     = 2000
)

// projectView is a project as the templates lay it out.
type projectView struct {
	ProjectModel
	Shown    Shown
	Summary  summary
	Drawing  Drawing
	Blocking []findingView
	Changed  []findingView
	Hidden   int // findings that are not shown
	Notes    []noteView
	Unlisted int       // notes without a line of their own
	Open     *noteView // whose panel was asked for; nil where there is none
	Rows     []pinRow
	Values   url.Values
}

type findingView struct {
	arrange.Finding
	Anchor  string
	Where   string
	Places  []notePlace
	Mending []remedyView
	More    string // where the remedies that this answer does not hold can be had; empty where it holds all
	Folded  bool   // its remedies are folded away, so that many findings can be looked over
}

// remedyView is a remedy as a list shows it.
type remedyView struct {
	arrange.Remedy
	Label  string // tells it from the others of its finding
	Effect string
	Cost   string // with as many decimals as the others of its finding
}

// notePlace leads from a finding to a note.
type notePlace struct{ ID, Name string }

// noteView is one note with what was decided about it.
type noteView struct {
	arrange.Note
	Called   string // its name as it is shown; fields take Name
	Pluck    *project.Pluck
	Pin      *pinRow
	Dropped  *project.Dropped
	Reason   string // why it is left out
	Locked   bool
	Findings []notePlace // anchors and words of the findings that speak of it
	reach    [5]bool     // octaves from two down to two up at which the comb has, or may have, a tooth
}

// pinRow is a pin as tables and panels show it.
type pinRow struct {
	Note                                     string // id of the note
	Number, Tooth                            int
	Name, Place                              string
	Angle, Arc, Axial, Time, Hz, Free, Twins string // the units stand in the table's head
	At                                       string // the angle with its unit
}

// pinRows gives the rows of all pins that stand on a track of the comb.
func (s Shown) pinRows(r *project.Result) []pinRow {
	rows := make([]pinRow, 0, len(r.Pins))
	for _, p := range r.Pins {
		if p.Tooth < 1 || p.Tooth > len(r.Comb.Teeth) {
			continue
		}
		tooth := r.Comb.Teeth[p.Tooth-1]
		row := pinRow{
			Note: p.Note, Number: p.Pin, Tooth: p.Tooth, Name: s.note(tooth.Note), Place: s.place(p.Bar, p.Beat),
			Angle: s.angleFigure(p.AngleDeg, 2), At: s.angle(p.AngleDeg, 2), Arc: s.figure(p.ArcMm, 3), Axial: s.figure(p.AxialMm, 3), Time: fixed(p.TimeMs, 1),
			Hz: fixed(tooth.FrequencyHz, 1), Free: fixed(tooth.RepeatMs, 0),
		}
		if tooth.Twins > 1 {
			row.Twins = s.say("{1} of {2}", tooth.Twin, tooth.Twins)
		}
		rows = append(rows, row)
	}
	return rows
}

func viewProject(m ProjectModel, s Shown) projectView {
	v := projectView{ProjectModel: m, Shown: s, Summary: s.summarize(m.Result), Drawing: s.Draw(m.Result), Values: formValues(m.Result.Setup)}
	if m.Conflict == nil { // after a conflict the fields must show what stands, or the next change would undo the other's
		for name, values := range m.Form {
			v.Values[name] = values
		}
	}
	names := notesByID(m.Result)
	of := map[string][]notePlace{}
	for _, f := range m.Result.Findings {
		list := &v.Changed
		if f.Blocks {
			list = &v.Blocking
		}
		if len(*list) >= mostFindings && f.ID != m.Finding {
			v.Hidden++
			continue
		}
		f.Text = phrase.Text(s.tell(f.Text))
		view := findingView{Finding: f, Anchor: "finding-" + anchor(f.ID), Where: s.where(f), Mending: s.mending(f, names),
			Folded: (!f.Blocks || len(*list) >= mostUnfolded) && f.ID != m.Finding}
		if f.RemediesLater && m.PageURL != "" {
			view.More = m.PageURL + "?finding=" + url.QueryEscape(f.ID) + "#" + view.Anchor
		}
		for _, id := range f.Notes {
			if note, ok := names[id]; ok {
				view.Places = append(view.Places, notePlace{id, s.note(note.Name)})
				of[id] = append(of[id], notePlace{view.Anchor, f.Text.String()})
			}
		}
		*list = append(*list, view)
	}
	v.Rows = s.pinRows(m.Result)
	notes := s.viewNotes(m.Result, v.Rows, of)
	for i := range notes {
		if notes[i].ID == m.Note {
			v.Open = &notes[i]
		}
	}
	v.Notes = listed(notes)
	v.Unlisted = len(notes) - len(v.Notes)
	v.Drawing.page = m.PageURL
	return v
}

// listed gives the notes that have a line on the page: of very many, those that findings speak of or that the user decided.
func listed(notes []noteView) []noteView {
	if len(notes) <= mostNotes {
		return notes
	}
	var list []noteView
	for _, n := range notes {
		if len(list) < mostNotes && (len(n.Findings) > 0 || n.Locked) {
			list = append(list, n)
		}
	}
	return list
}

// viewNotes gives every note with what became of it.
func (s Shown) viewNotes(r *project.Result, rows []pinRow, findings map[string][]notePlace) (views []noteView) {
	plucks := map[string]*project.Pluck{}
	for i := range r.Arrangement.Plucks {
		plucks[r.Arrangement.Plucks[i].Note] = &r.Arrangement.Plucks[i]
	}
	dropped := map[string]*project.Dropped{}
	for i := range r.Arrangement.Dropped {
		dropped[r.Arrangement.Dropped[i].Note] = &r.Arrangement.Dropped[i]
	}
	pins := map[string]*pinRow{}
	for i := range rows {
		pins[rows[i].Note] = &rows[i]
	}
	has := r.Setup.Comb.Has()
	for _, n := range r.Tune.Notes {
		view := noteView{Note: n, Called: s.note(n.Name), Pluck: plucks[n.ID], Dropped: dropped[n.ID], Pin: pins[n.ID], Findings: findings[n.ID]}
		view.Locked = view.Pluck != nil && view.Pluck.Locked || view.Dropped != nil && view.Dropped.Locked
		if view.Dropped != nil {
			view.Reason = s.tell(view.Dropped.Reason)
		}
		for o := range view.reach {
			view.reach[o] = has(n.Pitch + unit.Pitch(r.Arrangement.Transpose+12*(o-2)))
		}
		views = append(views, view)
	}
	return views
}

// written gives the notes as written that this one stands for.
func (n noteView) written() []string {
	if len(n.Merged) > 0 {
		return n.Merged
	}
	return []string{n.ID}
}

// combPitches gives the notes that the comb has, as they are to be written in the key that is played.
func (s Shown) combPitches(r *project.Result) (all []option) {
	for i, t := range r.Comb.Teeth {
		written := t.Pitch - unit.Pitch(r.Arrangement.Transpose)
		if i > 0 && r.Comb.Teeth[i-1].Pitch == t.Pitch || !written.Valid() {
			continue
		}
		words := s.say("tooth {1}", t.Tooth)
		if written != t.Pitch {
			words = s.say("tooth {1}, sounds as {2}", t.Tooth, t.Note)
		}
		all = append(all, option{written.String(), words})
	}
	return all
}

// adding gives what the form for another note held when it was refused, else what it starts with.
func (v projectView) adding(field, start string) string {
	if v.Problem != nil && v.Form.Get("do") == doAdd {
		return v.Form.Get(field)
	}
	return start
}

// Octave gives the number of the octave that lies n above where the note is now.
func (n noteView) Octave(by int) string {
	now := 0
	if n.Pluck != nil {
		now = n.Pluck.Octaves
	}
	return doOctave + strconv.Itoa(now+by)
}

// CanMove reports whether the note may be moved by so many octaves from where it is: two either way is the most, and the comb has,
// or may have, a tooth there.
func (n noteView) CanMove(by int) bool {
	if n.Pluck != nil {
		by += n.Pluck.Octaves
	}
	return by >= -2 && by <= 2 && n.reach[by+2]
}

// Shifted gives by how much the note is moved in time, for its field.
func (n noteView) Shifted() string {
	if n.Pluck == nil {
		return "0"
	}
	return strconv.FormatFloat(float64(n.Pluck.ShiftMs), 'f', -1, 64)
}

// fate says in a line what becomes of a note.
func (s Shown) fate(n noteView) string {
	if n.Dropped != nil {
		return s.say("left out")
	}
	if n.Pin == nil {
		return s.say("not on the cylinder")
	}
	parts := []string{s.say("tooth {1}", n.Pin.Tooth), n.Pin.At}
	if n.Pluck != nil && n.Pluck.Octaves != 0 {
		parts = append(parts, s.octaves(n.Pluck.Octaves))
	}
	if n.Pluck != nil && n.Pluck.ShiftMs != 0 {
		parts = append(parts, s.say("shifted {1} ms", short(n.Pluck.ShiftMs, 1)))
	}
	return strings.Join(parts, ", ")
}

// anchor makes an id of a text that may hold anything.
func anchor(id string) string {
	return strings.Map(func(r rune) rune {
		if r == '-' || r == '_' || r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' {
			return r
		}
		return '-'
	}, id)
}

// decisionJSON writes a decision as the value of a form's field.
func decisionJSON(d arrange.Decision) string { return string(marshalled(d)) }

// setupDecision writes the decision that changes the setup.
func setupDecision(change map[string]any) string {
	return decisionJSON(arrange.Decision{Kind: arrange.Change, Setup: marshalled(change)})
}

// marshalled gives the JSON of what always marshals, such as a decision that has been accepted.
func marshalled(v any) []byte {
	data, err := json.Marshal(v)
	if err != nil {
		panic("web: " + err.Error())
	}
	return data
}

// undoes names what undo takes back.
func (v projectView) undoes() string {
	if v.UndoText != "" || !v.Result.CanUndo || len(v.Result.Decisions) == 0 {
		return v.UndoText
	}
	return v.Shown.ledger(v.Result.Decisions[len(v.Result.Decisions)-1], v.Result)
}

// revision gives the revision as the value of a form's field.
func (m ProjectModel) revision() string { return strconv.Itoa(m.Revision) }

// wrong reports whether the change that was refused was refused for this field.
func (v projectView) wrong(name string) bool {
	if v.Problem == nil {
		return false
	}
	pointer := (&FieldError{Field: name}).Pointer()
	return v.Problem.Pointer == pointer || strings.HasPrefix(v.Problem.Pointer, pointer+"/") // or an item of its list
}

// atFault gives the name of the setting that a change was refused for; empty where it was none.
func (v projectView) atFault() string {
	for _, name := range sortedKeys(settings) {
		if v.wrong(name) {
			return name
		}
	}
	return ""
}

// detail says what is wrong, after the name of the setting that it is about. What is said of something typed stays as fields take it.
func (v projectView) detail() string {
	if name := v.atFault(); name != "" && v.Problem.Detail != "" {
		return v.Shown.say("{1}: {2}", v.Shown.say(settings[name].label), ended(v.Problem.Detail))
	}
	if typed := v.Form.Get("do"); typed == doAdd || typed == doMove {
		return ended(sentence(v.Problem.Detail))
	}
	return ended(v.Shown.Text(sentence(v.Problem.Detail)))
}

// mending lists the remedies of a finding.
func (s Shown) mending(f arrange.Finding, notes map[string]arrange.Note) []remedyView {
	decimals, labels := 0, map[string]int{}
	for _, r := range f.Remedies {
		if _, fraction, _ := strings.Cut(short(r.ValueChange, 2), "."); len(fraction) > 0 {
			decimals = 2
		}
		labels[r.Label.String()]++
	}
	list := make([]remedyView, len(f.Remedies))
	for i, r := range f.Remedies {
		view := remedyView{Remedy: r, Label: s.tell(r.Label), Effect: s.effect(r), Cost: s.costIn(r.ValueChange, decimals)}
		if n, ok := notes[noteOf(r.Decision)]; ok && labels[r.Label.String()] > 1 {
			view.Label = s.say("{1}, beat {2}", s.tell(r.Label), short(n.Beat, 2))
			if n.Bar != f.Bar {
				view.Label = s.say("{1}, bar {2}", s.tell(r.Label), n.Bar)
			}
		}
		list[i] = view
	}
	return list
}

// noteOf gives the id of the note that a decision is about, the last of several.
func noteOf(d arrange.Decision) string {
	if d.Kind == arrange.Several && len(d.Decisions) > 0 {
		return d.Decisions[len(d.Decisions)-1].Note
	}
	return d.Note
}

// effect says what a remedy does. That a note is then left out or moved, which is a finding of its own, the words of
// its effect say already.
func (s Shown) effect(r arrange.Remedy) string {
	var parts []string
	if !r.Effect.Empty() {
		parts = append(parts, strings.TrimSuffix(s.tell(r.Effect), "."))
	}
	if n := len(r.Clears); n > 1 {
		parts = append(parts, s.say("clears {1} findings", s.number(n)))
	}
	raised := 0
	for _, id := range r.Raises {
		if !strings.HasPrefix(id, string(arrange.LeftOut)+"-") && !strings.HasPrefix(id, string(arrange.Moved)+"-") {
			raised++
		}
	}
	if raised > 0 {
		parts = append(parts, s.count(raised, "raises one other finding", "raises {1} other findings"))
	}
	return strings.Join(parts, " · ")
}

// mended gives the sentence about a remedy beside its button.
func (s Shown) mended(r arrange.Remedy) string {
	if words := s.effect(r); words != "" {
		return words + " · " + s.cost(r.ValueChange)
	}
	return s.cost(r.ValueChange)
}

// arbor is one wheel of the train with its speed.
type arbor struct {
	Name  string
	Ratio string // from the arbor before it
	Rpm   string
}

func arbors(ctx context.Context, r *project.Result) []arbor {
	train := r.Setup.Drive
	if train.CylinderStage < 0 || train.CylinderStage > len(train.Stages) || r.Cylinder.RevolutionMs <= 0 {
		return nil
	}
	var list []arbor
	for i, rpm := range train.Speeds(r.Cylinder.RevolutionMs) {
		a := arbor{Name: say(ctx, "Arbor {1}", i+1), Rpm: fixed(rpm, 3)}
		if i > 0 {
			a.Ratio = short(train.Stages[i-1], 4)
		}
		switch {
		case i == 0:
			a.Name = say(ctx, "Great wheel")
		case i == len(train.Stages):
			a.Name = say(ctx, "Governor")
		}
		if i == train.CylinderStage {
			if i == 0 || i == len(train.Stages) {
				a.Name = say(ctx, "{1}, with the cylinder", a.Name)
			} else {
				a.Name = say(ctx, "Cylinder")
			}
		}
		list = append(list, a)
	}
	return list
}

// words says what a file is.
func (f File) words() string {
	if f.Text != "" {
		return f.Text
	}
	return bench.About(f.Name)
}

// paper is a sheet that the drill map is laid out for.
type paper struct{ Name, Query string }

var papers = []paper{{"A4", "a4"}, {"A3", "a3"}, {"Letter", "letter"}}

// onPaper gives the address of the drill map for a paper.
func (f File) onPaper(p paper) string {
	separator := "?"
	if strings.Contains(f.URL, "?") {
		separator = "&"
	}
	return f.URL + separator + "paper=" + p.Query
}

// isMap reports whether a file is laid out for a paper.
func (f File) isMap() bool { return f.Name == "drill-map.html" || f.isPDF() }

func (f File) isPDF() bool { return f.Name == "drill-map.pdf" }

// saved gives the name under which the map for a paper is saved.
func (f File) saved(p paper) string { return "drill-map-" + p.Query + path.Ext(f.Name) }
