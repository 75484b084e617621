package web

import (
	"pinwright/arrange/unit"
	"pinwright/pinmap"
	"pinwright/pinmap/indexing"
	"pinwright/pinmap/project"
)

// DrillModel is the page beside the drill: one hole after the other.
type DrillModel struct {
	Result     *project.Result
	Revision   int
	Drilled    []project.Drilled // that are marked
	PageURL    string            // of this page
	ProjectURL string            // of the page that it belongs to
	KeeperURL  string            // of the script that keeps the page for when there is no connection
	DrilledURL string            // POST marks holes; empty where the reader cannot change the project
	SpoiledURL string            // POST gives the ways out of a spoiled hole
	DecideURL  string            // POST makes a decision
}

// drilling is what the page's script works on; static/drilling.js says the same in its types.
type drilling struct {
	Title    string            `json:"title"`
	Revision int               `json:"revision"`
	Drilled  []project.Drilled `json:"drilled"`
	Keeper   string            `json:"keeper"`
	MarkURL  string            `json:"markUrl"`
	WaysURL  string            `json:"waysUrl"`
	Decide   string            `json:"decideUrl"`
	WebMm    unit.Millimetres  `json:"webMm"` // between the centres of two holes, least
	Around   unit.Millimetres  `json:"circumferenceMm"`
	Units    float64           `json:"units"`   // of the tool in a turn; 0 where it is not counted
	Counted  bool              `json:"counted"` // reports whether the tool is moved on by a count of its units
	Spaces   bool              `json:"spaces"`  // reports whether they are the holes of a circle
	Holes    []drillHole       `json:"holes"`   // in the order in which they are drilled
}

// drillHole is one hole with its figures as they are shown, and its place for the marks.
type drillHole struct {
	Pin      int              `json:"pin"`
	Tooth    int              `json:"tooth"`
	Note     string           `json:"note"`
	AxialMm  unit.Millimetres `json:"axialMm"`
	AngleDeg unit.Degrees     `json:"angleDeg"`
	Set      string           `json:"set"`  // what the tool is set to
	Move     string           `json:"move"` // from the hole before; empty where the tool is read, not counted
	Angle    string           `json:"angle"`
	Arc      string           `json:"arc"`
	Axial    string           `json:"axial"`
	Place    string           `json:"place"` // in the tune
	NewTrack bool             `json:"newTrack"`
	Tune     string           `json:"tune"` // its title, where there are several
	Own      int              `json:"own"`  // its pin among those of the project's own tune; 0 of another
}

// drilling gives the holes in the order of drilling, each with its setting.
func (m DrillModel) drilling(s Shown) drilling {
	r := m.Result
	c, holes := r.Cylinder.Cylinder, r.Holes()
	pins := make([]pinmap.Pin, len(holes))
	for i, h := range holes {
		pins[i] = h.Pin
	}
	table := indexing.Of(r.Setup.Bench, c, r.Cylinder.RevolutionMs, pins)
	own := make(map[string]int, len(r.Pins))
	for _, p := range r.Pins {
		own[p.Note] = p.Pin
	}
	d := drilling{Title: r.Title, Revision: m.Revision, Drilled: m.Drilled, Keeper: m.KeeperURL, MarkURL: m.DrilledURL, WaysURL: m.SpoiledURL, Decide: m.DecideURL,
		WebMm: c.PinDiameterMm + c.HoleWebMm, Units: table.Units(), Spaces: table.Method == pinmap.Head,
		Counted: table.Counts(), Around: r.Cylinder.CircumferenceMm, Holes: []drillHole{}}
	if d.Drilled == nil {
		d.Drilled = []project.Drilled{}
	}
	last := unit.Millimetres(-1)
	for _, i := range indexing.Order(pins) {
		p, row := pins[i], table.Rows[i]
		hole := drillHole{Pin: p.Pin, Tooth: p.Tooth, Note: s.note(r.ToothOf(holes[i]).Note), AxialMm: p.AxialMm, AngleDeg: p.AngleDeg, Set: table.Setting(row),
			Move: table.MoveWords(row), Angle: s.angle(p.AngleDeg, 2), Arc: s.length(p.ArcMm, 2), Axial: s.length(p.AxialMm, 2), Place: s.place(p.Bar, p.Beat),
			NewTrack: p.AxialMm != last}
		if len(r.Beside) > 0 {
			hole.Tune = tuneTitle(r, holes[i].Tune)
		}
		if holes[i].Tune == 0 {
			hole.Own = own[p.Note]
		}
		if hole.Set == "" {
			hole.Set = hole.Angle
		}
		last = p.AxialMm
		d.Holes = append(d.Holes, hole)
	}
	return d
}

// tuneTitle gives the title of a tune on the cylinder.
func tuneTitle(r *project.Result, tune int) string {
	if tune == 0 {
		return r.Title
	}
	return r.Beside[tune-1].Title
}
