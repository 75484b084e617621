package web

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"

	"pinwright/arrange/phrase"
	"pinwright/arrange/unit"
	"pinwright/pinmap"
	"pinwright/pinmap/indexing"
	"pinwright/pinmap/project"
)

// benchView is the page of the tools: how each way of setting an angle does, what the chosen one asks for, and the files for it.
type benchView struct {
	projectView
	Ways   []wayRow
	Chosen wayRow
	Own    []string // names of the setup's fields that the chosen way has
	Others []string // and those of the other ways
	Risk   riskView
	First  []firstHole
	Files  []fileGroup // the first is for the tools that were chosen
}

// wayRow is one way of setting angles on this cylinder.
type wayRow struct {
	Method   pinmap.Method
	Words    string
	Circle   string // of a dividing head
	WorstDeg string
	WorstMm  string
	WorstMs  string
	RMSMs    string
	Breaks   int // repeats and webs that hold as computed and do not as set
	Rounds   bool
	Decision string // that chooses it
}

// riskView is what setting and drilling by hand may do.
type riskView struct {
	Sigma  string // standard deviation along the arc
	Jitter string // in ms
	Chance string // that some repeat fails
	Least  string // pins most at risk, with their chances
	Heard  string // share of the intervals whose error an ear can tell
	None   bool   // no repeat is at risk
}

// firstHole is one of the first holes with its picture: the cylinder from the end at which it is turned on clockwise, the drill above it.
type firstHole struct {
	Order, Pin, Tooth      int
	Note, Set, Move, Axial string
	X, Y                   float64 // of the hole, px
	DatumX, DatumY         float64
	Arc                    string // path from the datum line to the hole
}

// fileGroup is files for one purpose.
type fileGroup struct {
	Title phrase.Phrase
	Files []File
}

// fieldsOfWay gives the fields of the setup that a way of setting angles has.
var fieldsOfWay = map[pinmap.Method][]string{
	pinmap.Degrees: {"bench.leastDeg"},
	pinmap.Sixties: {"bench.leastSec"},
	pinmap.Head:    {"bench.headRatio", "bench.headCircles"},
	pinmap.Wheel:   {"bench.wheelDivisions"},
	pinmap.Stepper: {"bench.motorSteps", "bench.motorRatio"},
	pinmap.Vernier: {"bench.leastMm"},
}

// Sizes of the picture of a hole, px.
const (
	holePicture = 160.0
	holeRadius  = 56.0
)

func viewBench(m ProjectModel, s Shown) benchView {
	m.DecideURL += "?" + AtBench + "=1"
	v := benchView{projectView: viewProject(m, s)}
	r := m.Result
	c, turn, b := r.Cylinder.Cylinder, r.Cylinder.RevolutionMs, r.Setup.Bench
	need := func(tooth int) unit.Milliseconds { return r.Comb.Teeth[tooth-1].RepeatMs }
	var table indexing.Table
	for _, o := range methods {
		bench := b
		bench.Method = pinmap.Method(o.Value)
		t := indexing.Of(bench, c, turn, r.Pins)
		repeats, webs := indexing.Broken(t.Rows, r.Pins, c, turn, need)
		row := wayRow{Method: bench.Method, Words: s.say(o.Words), WorstDeg: fixed(t.WorstDeg, 4), WorstMm: s.figure(t.WorstMm, 3), WorstMs: fixed(t.WorstMs, 2), RMSMs: fixed(t.RMSMs, 2),
			Breaks: len(repeats) + len(webs), Rounds: bench.Method != pinmap.Wrap, Decision: setupDecision(map[string]any{"bench": map[string]any{"method": o.Value}})}
		if t.Circle > 0 {
			row.Circle = strconv.Itoa(t.Circle)
		}
		v.Ways = append(v.Ways, row)
		if bench.Method == b.Method {
			v.Chosen, table = row, t
		}
	}
	for _, o := range methods {
		if method := pinmap.Method(o.Value); method == b.Method {
			v.Own = fieldsOfWay[method]
		} else {
			v.Others = append(v.Others, fieldsOfWay[method]...)
		}
	}
	v.Risk = s.risk(r)
	v.First = s.firstHoles(&table, r)
	v.Files = groups(m.Files, b.Method)
	return v
}

// risk puts what may be expected into words.
func (s Shown) risk(r *project.Result) riskView {
	b := r.Bench
	v := riskView{Sigma: s.length(b.SigmaMm, 3), Jitter: fixed(b.JitterMs, 1), Chance: chance(b.Risk), Heard: chance(b.Heard), None: len(b.AtRisk) == 0}
	for i, p := range b.AtRisk {
		if i == 5 || p.Chance < 0.001 {
			break
		}
		pin := r.Pins[p.Pin-1]
		if i > 0 {
			v.Least += ", "
		}
		v.Least += s.say("pin {1} on track {2} ({3})", pin.Pin, pin.Tooth, chance(p.Chance))
	}
	return v
}

// chance writes a chance in per cent, as finely as it can be meant.
func chance(p float64) string {
	switch {
	case p > 0 && p < 0.0005:
		return "< 0.1 %"
	case p > 0.9995 && p < 1:
		return "> 99.9 %"
	}
	return fixed(100*p, 1) + " %"
}

// firstHoles draws the first three holes in the order of drilling.
func (s Shown) firstHoles(table *indexing.Table, r *project.Result) (list []firstHole) {
	order := indexing.Order(r.Pins)
	for i, k := range order[:min(3, len(order))] {
		p, row := r.Pins[k], table.Rows[k]
		h := firstHole{Order: i + 1, Pin: p.Pin, Tooth: p.Tooth, Note: s.note(r.Comb.Teeth[p.Tooth-1].Note), Set: table.Setting(row), Move: table.MoveWords(row), Axial: s.length(p.AxialMm, 2)}
		if h.Set == "" {
			h.Set = s.angle(p.AngleDeg, 2)
		}
		// The drill stands above: the cylinder is turned until the hole lies there, and the datum line has gone on by the hole's angle.
		a := float64(p.AngleDeg) * math.Pi / 180
		middle := holePicture / 2
		h.X, h.Y = middle, middle-holeRadius
		h.DatumX, h.DatumY = middle+holeRadius*math.Sin(a), middle-holeRadius*math.Cos(a)
		large := 0
		if p.AngleDeg > 180 {
			large = 1
		}
		const inner = 0.72 * holeRadius
		h.Arc = fmt.Sprintf("M%s %sA%s %s 0 %d 1 %s %s", px(middle), px(middle-inner), px(inner), px(inner), large, px(middle+inner*math.Sin(a)), px(middle-inner*math.Cos(a)))
		list = append(list, h)
	}
	return list
}

// groups sorts files by what they are for, those for the chosen way of setting angles first.
func groups(files []File, method pinmap.Method) []fileGroup {
	purposes := []struct {
		title phrase.Phrase
		names []string
		first bool
	}{
		{phrase.Of("To drill by hand"), []string{"drill-map.html", "drill-map.pdf", "holes.csv"}, method != pinmap.Stepper},
		{phrase.Of("For a machine with a rotary axis"), []string{"drill-dry.ngc", "drill.ngc", "holes.csv"}, method == pinmap.Stepper},
		{phrase.Of("For a drawing program or a cutter"), []string{"map.svg", "map.dxf"}, false},
		{phrase.Of("To print a trial"), []string{"cylinder.stl", "cylinder.3mf", "end-discs.stl", "comb-trial.stl"}, false},
		{phrase.Of("For the comb"), []string{"comb.csv"}, false},
		{phrase.Of("To hear"), []string{"audition.wav", "arrangement.mid"}, false},
		{phrase.Of("To keep"), []string{"bench.zip", "project.json"}, false},
	}
	var first, rest []fileGroup
	for _, p := range purposes {
		g := fileGroup{Title: p.title}
		for _, name := range p.names {
			for _, f := range files {
				if f.Name == name {
					g.Files = append(g.Files, f)
				}
			}
		}
		if len(g.Files) == 0 {
			continue
		}
		if p.first {
			first = append(first, g)
		} else {
			rest = append(rest, g)
		}
	}
	return append(first, rest...)
}

// sharings are the ways in which tunes share a cylinder.
var sharings = []option{{string(project.Sideways), "one comb, the cylinder moves sideways"}, {string(project.TwoCombs), "the cylinder, each with a comb of its own"}}

// mayAdd reports whether another tune can be put on the cylinder, and in which ways.
func (v benchView) mayAdd() (bool, []option) {
	b := v.Result.Setup.Beside
	switch {
	case b == nil:
		return true, sharings
	case b.Layout == project.TwoCombs:
		return false, nil
	}
	return len(b.Projects) < project.MostNeighbours, sharings[:1]
}

// without gives the decision that takes a tune off the cylinder; the others are named by their places.
func (v benchView) without(tune int) string {
	places := []int{}
	for _, b := range v.Result.Beside {
		if b.Tune != tune {
			places = append(places, b.Tune)
		}
	}
	var beside any
	if len(places) > 0 {
		beside = map[string]any{"projects": places}
	}
	return setupDecision(map[string]any{"beside": beside})
}

// BesideDecision gives the decision that puts a project on the cylinder beside those that are there, in a layout. The project is checked where the
// decision is.
func BesideDecision(r *project.Result, layout string, file []byte) (string, error) {
	if !json.Valid(file) {
		return "", &FieldError{"beside", phrase.Of("the file is not a project; choose one that was saved as project.json")}
	}
	projects := []any{}
	for _, b := range r.Beside {
		projects = append(projects, b.Tune)
	}
	return setupDecision(map[string]any{"beside": map[string]any{"layout": layout, "projects": append(projects, json.RawMessage(file))}}), nil
}

// end gives the end of the cylinder from which it is seen to turn clockwise while angles grow.
func (v benchView) end() string {
	if v.Result.Cylinder.AxialRunsUp() {
		return v.Shown.say("treble end")
	}
	return v.Shown.say("bass end")
}
