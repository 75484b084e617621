package web

import (
	"math"

	"pinwright/arrange/phrase"
	"pinwright/arrange/unit"
	"pinwright/pinmap"
	"pinwright/pinmap/project"
)

// Scene is the cylinder and its comb as the scripts of a page draw, sound and turn them; static/scene.js says the same in its types. What
// there are many of stands in columns. Angles are degrees from the datum line, lengths mm, times ms on the cylinder.
type Scene struct {
	Title           string            `json:"title"`
	TurnMs          unit.Milliseconds `json:"turnMs"`
	GapDeg          unit.Degrees      `json:"gapDeg"`
	ContactDeg      unit.Degrees      `json:"contactDeg"` // the pin carries the tooth so far before it drops
	DiameterMm      unit.Millimetres  `json:"diameterMm"`
	CircumferenceMm unit.Millimetres  `json:"circumferenceMm"`
	LengthMm        unit.Millimetres  `json:"lengthMm"`
	ProjectionMm    unit.Millimetres  `json:"projectionMm"` // of a pin
	PinMm           unit.Millimetres  `json:"pinMm"`        // its diameter
	WebMm           unit.Millimetres  `json:"webMm"`        // least metal between two holes
	LiftMm          unit.Millimetres  `json:"liftMm"`       // of a tooth's tip when it drops
	FirstTrackMm    unit.Millimetres  `json:"firstTrackMm"`
	SpacingMm       unit.Millimetres  `json:"spacingMm"`
	BassBottom      bool              `json:"bassBottom"` // reports whether the bass end lies at the bottom of the drawing
	TurnsUp         bool              `json:"turnsUp"`    // reports whether the surface next to the comb moves up
	ShiftMs         unit.Milliseconds `json:"shiftMs"`    // as far as a note may be shifted
	Rpm             []unit.Rpm        `json:"rpm"`        // of each arbor, great wheel to governor
	CylinderArbor   int               `json:"cylinderArbor"`
	Teeth           []sceneTooth      `json:"teeth"`
	Pins            scenePins         `json:"pins"`
	Left            []sceneLeft       `json:"left"`
	Written         sceneWritten      `json:"written"`
	Bars            []sceneBar        `json:"bars"`
	Findings        []sceneFinding    `json:"findings"`
	Transpose       int               `json:"transpose"`
	Quality         float64           `json:"quality"`  // of a tooth left to ring, Q
	Deciding        *sceneDeciding    `json:"deciding"` // null where the reader cannot change the project
}

// sceneTooth is one tooth, the lowest first.
type sceneTooth struct {
	Note     string            `json:"note"`
	Pitch    unit.Pitch        `json:"pitch"`
	Hz       unit.Hertz        `json:"hz"`
	DampMs   unit.Milliseconds `json:"dampMs"`
	RepeatMs unit.Milliseconds `json:"repeatMs"`
	Twin     int               `json:"twin"`
}

// scenePins is the pins by angle.
type scenePins struct {
	Note    []string            `json:"note"`
	Tooth   []int               `json:"tooth"` // from 1
	Deg     []unit.Degrees      `json:"deg"`
	Octaves []int               `json:"octaves"`
	ShiftMs []unit.Milliseconds `json:"shiftMs"`
	Locked  []int               `json:"locked"` // indexes
	Bar     []int               `json:"bar"`
	Beat    []float64           `json:"beat"`
}

// sceneLeft is a note that is left out, where its pin would have stood; between two tracks where the comb has no tooth of its pitch.
type sceneLeft struct {
	Note   string       `json:"note"`
	Name   string       `json:"name"`
	Pitch  unit.Pitch   `json:"pitch"` // in the key that is played
	Deg    unit.Degrees `json:"deg"`
	Track  float64      `json:"track"`
	Reason string       `json:"reason"`
	Bar    int          `json:"bar"`
	Beat   float64      `json:"beat"`
}

// sceneWritten is the notes as written, in the key that is played.
type sceneWritten struct {
	Note  []string            `json:"note"`
	AtMs  []unit.Milliseconds `json:"atMs"`
	Pitch []unit.Pitch        `json:"pitch"`
}

// sceneBar is a bar of which some lies on the turn; its line lies before the datum line where the bar begins with rests.
type sceneBar struct {
	Number int          `json:"number"`
	Deg    unit.Degrees `json:"deg"`
	EndDeg unit.Degrees `json:"endDeg"`
	Beats  float64      `json:"beats"`
}

type sceneFinding struct {
	Anchor string   `json:"anchor"` // of its line on the page; empty where it has none
	Kind   string   `json:"kind"`
	Blocks bool     `json:"blocks"`
	Notes  []string `json:"notes"`
	Text   string   `json:"text"`
}

type sceneDeciding struct {
	URL      string `json:"url"`
	Revision int    `json:"revision"`
	FirstBar int    `json:"firstBar"` // of the tune, played or not
	Added    int    `json:"added"`    // notes that were ever added; the next is called a and one more
}

// SceneOf gives the scene of a result.
func SceneOf(r *project.Result) Scene {
	c := r.Cylinder
	s := Scene{Title: r.Title, TurnMs: c.RevolutionMs, GapDeg: c.GapDeg, ContactDeg: c.ContactDeg, DiameterMm: c.DiameterMm, CircumferenceMm: c.CircumferenceMm,
		LengthMm: c.LengthMm, ProjectionMm: c.PinProjectionMm, PinMm: c.PinDiameterMm, WebMm: c.HoleWebMm, LiftMm: c.LiftMm, FirstTrackMm: c.FirstTrackMm,
		SpacingMm: c.ToothSpacingMm, BassBottom: (c.BassEnd == pinmap.Left) == (c.Turns == pinmap.Up), TurnsUp: c.Turns == pinmap.Up, ShiftMs: r.Setup.Limits.ShiftMs,
		Rpm: r.Setup.Drive.Speeds(c.RevolutionMs), CylinderArbor: r.Setup.Drive.CylinderStage, Transpose: r.Arrangement.Transpose, Quality: r.Setup.Comb.QualityFactor,
		Teeth: make([]sceneTooth, len(r.Comb.Teeth)), Left: []sceneLeft{}, Bars: []sceneBar{}, Findings: []sceneFinding{}}
	for i, t := range r.Comb.Teeth {
		s.Teeth[i] = sceneTooth{Note: t.Note, Pitch: t.Pitch, Hz: t.FrequencyHz, DampMs: t.DampMs, RepeatMs: t.RepeatMs, Twin: t.Twin}
	}
	s.Pins = pinColumns(r)
	notes := notesByID(r)
	transpose := unit.Pitch(r.Arrangement.Transpose)
	angle := func(at unit.Milliseconds) unit.Degrees { return c.AngleDeg(at, c.RevolutionMs) }
	for _, d := range r.Arrangement.Dropped {
		if n, ok := notes[d.Note]; ok {
			s.Left = append(s.Left, sceneLeft{Note: n.ID, Name: n.Name, Pitch: n.Pitch + transpose, Deg: angle(n.OnsetMs),
				Track: needed(r.Comb.Teeth, n.Pitch+transpose), Reason: d.Reason.String(), Bar: n.Bar, Beat: n.Beat})
		}
	}
	w := &s.Written
	w.Note, w.AtMs, w.Pitch = make([]string, len(r.Tune.Notes)), make([]unit.Milliseconds, len(r.Tune.Notes)), make([]unit.Pitch, len(r.Tune.Notes))
	for i, n := range r.Tune.Notes {
		w.Note[i], w.AtMs[i], w.Pitch[i] = n.ID, thousandth(n.OnsetMs), n.Pitch+transpose
	}
	for _, b := range r.Tune.Excerpt.Bars {
		at := func(t unit.Milliseconds) unit.Degrees {
			return c.GapDeg/2 + unit.Degrees(360*float64(t/c.RevolutionMs))
		}
		if from, to := at(b.StartMs), at(b.EndMs); to > 0 && from <= 360 {
			s.Bars = append(s.Bars, sceneBar{b.Number, from, to, b.Beats})
		}
	}
	for i, f := range r.Findings {
		shown := sceneFinding{Kind: string(f.Kind), Blocks: f.Blocks, Notes: f.Notes, Text: f.Text.String()}
		if i < mostFindings {
			shown.Anchor = anchor(f.ID)
		}
		s.Findings = append(s.Findings, shown)
	}
	return s
}

// Scene gives the scene of a result as a reader has figures shown: its names and texts are those of the page, its numbers stay.
func (s Shown) Scene(r *project.Result) Scene {
	scene := SceneOf(r)
	if s == (Shown{}) {
		return scene
	}
	for i := range scene.Teeth {
		scene.Teeth[i].Note = s.note(scene.Teeth[i].Note)
	}
	reasons := map[string]phrase.Phrase{}
	for _, d := range r.Arrangement.Dropped {
		reasons[d.Note] = d.Reason
	}
	for i, l := range scene.Left {
		scene.Left[i].Name, scene.Left[i].Reason = s.note(l.Name), s.tell(reasons[l.Note])
	}
	for i := range scene.Findings {
		scene.Findings[i].Text = s.tell(r.Findings[i].Text)
	}
	if s.Angles == Sixties { // a thousandth of a degree is more than three seconds
		for i, p := range r.Pins {
			scene.Pins.Deg[i] = unit.Degrees(unit.Round(float64(p.AngleDeg)))
		}
	}
	return scene
}

// pinColumns gives the pins by angle.
func pinColumns(r *project.Result) scenePins {
	plucks := map[string]project.Pluck{}
	for _, p := range r.Arrangement.Plucks {
		plucks[p.Note] = p
	}
	n := len(r.Pins)
	c := scenePins{Note: make([]string, n), Tooth: make([]int, n), Deg: make([]unit.Degrees, n), Octaves: make([]int, n),
		ShiftMs: make([]unit.Milliseconds, n), Locked: []int{}, Bar: make([]int, n), Beat: make([]float64, n)}
	for i, p := range r.Pins {
		pluck := plucks[p.Note]
		c.Note[i], c.Tooth[i], c.Deg[i], c.Octaves[i], c.ShiftMs[i] = p.Note, p.Tooth, thousandth(p.AngleDeg), pluck.Octaves, pluck.ShiftMs
		c.Bar[i], c.Beat[i] = p.Bar, math.Round(p.Beat*1000)/1000
		if pluck.Locked {
			c.Locked = append(c.Locked, i)
		}
	}
	return c
}

// thousandth rounds a figure that is only drawn or heard to a thousandth, which keeps the page small.
func thousandth[T ~float64](v T) T { return T(math.Round(float64(v)*1000) / 1000) }

// scene gives the scene of a page on which the project can be changed.
func (v projectView) scene() Scene {
	s := v.Shown.Scene(v.Result)
	s.Deciding = &sceneDeciding{URL: v.DecideURL, Revision: v.Revision}
	if len(v.Result.Tune.Bars) > 0 {
		s.Deciding.FirstBar = v.Result.Tune.Bars[0]
	}
	for _, d := range v.Result.Decisions {
		s.Deciding.Added += len(d.Added)
	}
	return s
}
