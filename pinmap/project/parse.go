package project

import (
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"reflect"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"pinwright/arrange"
	"pinwright/arrange/comb"
	"pinwright/arrange/phrase"
	"pinwright/arrange/unit"
	"pinwright/pinmap"
	"pinwright/pinmap/drive"
)

// Bounds of a setup, so that a request cannot ask for more than a cylinder can be.
const (
	mostTeeth     = 144
	mostTitle     = 200 // characters
	shortestTurn  = unit.Milliseconds(200)
	longestTurn   = unit.Milliseconds(24 * 3600 * 1000)
	mostDecisions = 64   // in one of the kind several
	mostNoteID    = 40   // bytes
	mostCircles   = 64   // of a dividing head
	mostHoles     = 1000 // of a circle
	mostBeats     = 256  // in a bar (RP-001: the numerator of a meter is a byte)
)

// DefaultSetup gives the setup of a project in which the user has set nothing.
func DefaultSetup() Setup {
	return Setup{
		Parts:     []PartRole{},
		Tempo:     Tempo{Mode: "fill"},
		Transpose: Transpose{Min: -24, Max: 24},
		Comb: Comb{Mode: "cut", Teeth: 18, Low: 60, High: 96, MaxTwins: 4, Pitches: []unit.NoteName{},
			DampingCycles: comb.DefaultDampingCycles, LeastRingMs: comb.DefaultLeastRingMs, QualityFactor: comb.DefaultQualityFactor,
			RecoveryMs: map[unit.NoteName]unit.Milliseconds{}},
		Cylinder: pinmap.DefaultCylinder(),
		Drive:    drive.Default(),
		Limits:   Limits{ShiftMs: 25, MaxTogether: 5, TogetherMs: 30, SolveMs: 1000},
		Bench:    pinmap.DefaultBench(),
	}
}

// ParseSetup reads a setup; what it does not mention has its default, and nothing at all is the default setup. Errors
// are of type *FieldError.
func ParseSetup(data []byte) (Setup, error) {
	s := DefaultSetup()
	if len(data) == 0 {
		return s, nil
	}
	return s.With(data)
}

// With gives the setup with the fields of a JSON object replaced. Errors are of type *FieldError.
func (s Setup) With(change []byte) (Setup, error) {
	if !json.Valid(change) {
		return s, fieldError("", phrase.Of("the setup is not JSON; check its quotes, commas and braces"))
	}
	s.Comb.RecoveryMs = maps.Clone(s.Comb.RecoveryMs)
	if err := decodeOver(reflect.ValueOf(&s).Elem(), change, ""); err != nil {
		return s, err
	}
	if s.Parts == nil {
		s.Parts = []PartRole{}
	}
	if s.Comb.Pitches == nil {
		s.Comb.Pitches = []unit.NoteName{}
	}
	if s.Comb.RecoveryMs == nil {
		s.Comb.RecoveryMs = map[unit.NoteName]unit.Milliseconds{}
	}
	return s, s.check()
}

// between is one figure with its bounds.
type between struct {
	pointer          string
	value, low, high float64
	unit             phrase.Phrase
}

// check reports the first field of a setup that cannot be used.
func (s Setup) check() error {
	if utf8.RuneCountInString(s.Title) > mostTitle {
		return fieldError("/title", phrase.Of("the title has {1} characters; at most {2} fit the map", utf8.RuneCountInString(s.Title), mostTitle))
	}
	for _, r := range s.Title {
		if unicode.IsControl(r) {
			return fieldError("/title", phrase.Of("the title holds a control character; leave line breaks and the like out"))
		}
	}
	if _, err := time.Parse(time.DateOnly, s.Date); s.Date != "" && err != nil {
		return fieldError("/date", phrase.Of("{1} is not a date; write year, month and day as in 2026-03-31", quote(s.Date)))
	}
	seen := map[string]bool{}
	for i, p := range s.Parts {
		switch p.Role {
		case arrange.Lead, arrange.Bass, arrange.Fill, arrange.Off:
		default:
			return fieldError(at("/parts", i, "role"), phrase.Of("{1} is not a role; give lead, bass, fill or off, or leave the part out of the list for automatic roles", quote(p.Role)))
		}
		if seen[p.ID] {
			return fieldError(at("/parts", i, "id"), phrase.Of("part {1} is listed twice; keep one", quote(p.ID)))
		}
		seen[p.ID] = true
	}
	if e := s.Excerpt; e != nil && e.ToBar < e.FromBar {
		return fieldError("/excerpt/toBar", phrase.Of("an excerpt from bar {1} to bar {2} ends before it begins; give fromBar and toBar, the same or later", e.FromBar, e.ToBar))
	}
	if s.Tempo.Mode != "fill" && s.Tempo.Mode != "written" {
		return fieldError("/tempo/mode", phrase.Of("{1} is not a way to set the tempo; give fill or written", quote(s.Tempo.Mode)))
	}
	if t := s.Tempo.RevolutionMs; t != 0 && (t < shortestTurn || t > longestTurn) {
		return fieldError("/tempo/revolutionMs", phrase.Of("{1} ms is no turn of a cylinder; give {2} to {3}, or 0 to let it follow", float64(t), float64(shortestTurn), float64(longestTurn)))
	}
	if s.Transpose.Min > s.Transpose.Max {
		return fieldError("/transpose/max", phrase.Of("{1} lies below min, {2}; raise it or lower min", s.Transpose.Max, s.Transpose.Min))
	}
	c, b, l, w := s.Comb, s.Cylinder, s.Limits, s.Bench
	figures := []between{
		{"/transpose/min", float64(s.Transpose.Min), -60, 60, phrase.Of("semitones")},
		{"/transpose/max", float64(s.Transpose.Max), -60, 60, phrase.Of("semitones")},
		{"/comb/teeth", float64(c.Teeth), 1, mostTeeth, phrase.Of("teeth")},
		{"/comb/maxTwins", float64(c.MaxTwins), 1, 12, phrase.Of("teeth alike")},
		{"/comb/dampingCycles", c.DampingCycles, 0, 1000, phrase.Of("vibrations")},
		{"/comb/leastRingMs", float64(c.LeastRingMs), 0, 10_000, phrase.Of("ms")},
		{"/comb/qualityFactor", c.QualityFactor, 50, 20_000, phrase.Of("as the quality factor")},
		{"/cylinder/diameterMm", float64(b.DiameterMm), 3, 400, phrase.Of("mm")},
		{"/cylinder/pinProjectionMm", float64(b.PinProjectionMm), 0.05, 20, phrase.Of("mm")},
		{"/cylinder/pinDiameterMm", float64(b.PinDiameterMm), 0.05, 5, phrase.Of("mm")},
		{"/cylinder/holeWebMm", float64(b.HoleWebMm), 0, 5, phrase.Of("mm")},
		{"/cylinder/liftMm", float64(b.LiftMm), 0.01, 20, phrase.Of("mm")},
		{"/cylinder/toothSpacingMm", float64(b.ToothSpacingMm), 0.1, 50, phrase.Of("mm")},
		{"/cylinder/tipMm", float64(b.TipMm), 0.01, 20, phrase.Of("mm")},
		{"/cylinder/firstTrackMm", float64(b.FirstTrackMm), 0, 200, phrase.Of("mm")},
		{"/cylinder/gapDeg", float64(b.GapDeg), 0, 350, phrase.Of("degrees")},
		{"/cylinder/holeDepthMm", float64(b.HoleDepthMm), 0.05, 50, phrase.Of("mm")},
		{"/cylinder/paperMm", float64(b.PaperMm), 0, 2, phrase.Of("mm")},
		{"/cylinder/lengthMm", float64(b.LengthMm), 0, 2000, phrase.Of("mm")},
		{"/drive/greatWheelRpm", float64(s.Drive.GreatWheelRpm), 0.0001, 1000, phrase.Of("rev/min")},
		{"/limits/shiftMs", float64(l.ShiftMs), 0, 1000, phrase.Of("ms")},
		{"/limits/maxTogether", float64(l.MaxTogether), 1, mostTeeth, phrase.Of("teeth")},
		{"/limits/togetherMs", float64(l.TogetherMs), 0, 1000, phrase.Of("ms")},
		{"/limits/solveMs", float64(l.SolveMs), 10, 10_000, phrase.Of("ms")},
		{"/bench/leastDeg", float64(w.LeastDeg), 0.000_01, 10, phrase.Of("degrees")},
		{"/bench/leastSec", w.LeastSec, 0.1, 3600, phrase.Of("seconds")},
		{"/bench/headRatio", float64(w.HeadRatio), 1, 1000, phrase.Of("turns of the crank")},
		{"/bench/wheelDivisions", float64(w.WheelDivisions), 1, 100_000, phrase.Of("divisions")},
		{"/bench/motorSteps", float64(w.MotorSteps), 1, 1_000_000, phrase.Of("steps")},
		{"/bench/motorRatio", w.MotorRatio, 0.001, 10_000, phrase.Of("turns of the motor")},
		{"/bench/leastMm", float64(w.LeastMm), 0.000_1, 1, phrase.Of("mm")},
		{"/bench/sigmaMm", float64(w.SigmaMm), 0, 5, phrase.Of("mm")},
		{"/bench/mostRisk", w.MostRisk, 0, 1, phrase.Of("as a chance")},
		{"/bench/mostRpm", float64(w.MostRpm), 100, 200_000, phrase.Of("rev/min")},
		{"/bench/spindleRpm", float64(w.SpindleRpm), 0, 200_000, phrase.Of("rev/min")},
		{"/bench/feedMmPerMin", w.FeedMmPerMin, 0, 2000, phrase.Of("mm a minute")},
		{"/bench/peckMm", float64(w.PeckMm), 0, 50, phrase.Of("mm")},
		{"/bench/clearMm", float64(w.ClearMm), 0.5, 100, phrase.Of("mm")},
		{"/bench/boreMm", float64(w.BoreMm), 0, 400, phrase.Of("mm")},
	}
	for _, f := range figures {
		if !(f.value >= f.low && f.value <= f.high) {
			return fieldError(f.pointer, phrase.Of("{1} {2} cannot be used; give {3} to {4}", f.value, f.unit, f.low, f.high))
		}
	}
	for _, p := range slices.Sorted(maps.Keys(c.RecoveryMs)) {
		if ms := c.RecoveryMs[p]; !(ms >= 1 && ms <= 60_000) {
			return fieldError("/comb/recoveryMs/"+escape(p.String()), phrase.Of("{1} ms cannot be used; give 1 to 60000", float64(ms)))
		}
	}
	if b.BassEnd != pinmap.Left && b.BassEnd != pinmap.Right {
		return fieldError("/cylinder/bassEnd", phrase.Of("{1} is not an end of the cylinder; give left or right, as seen from the comb", quote(b.BassEnd)))
	}
	if b.Turns != pinmap.Up && b.Turns != pinmap.Down {
		return fieldError("/cylinder/turns", phrase.Of("{1} is not a way to turn; give up or down: which way the surface next to the comb moves, as seen from the comb", quote(b.Turns)))
	}
	if b.HoleDepthMm >= b.DiameterMm/2 {
		return fieldError("/cylinder/holeDepthMm", phrase.Of("holes {1} mm deep reach the axis of a cylinder {2} mm thick; make them less than half as deep as it is thick", float64(b.HoleDepthMm), float64(b.DiameterMm)))
	}
	if b.LiftMm >= b.TipRadiusMm() {
		return fieldError("/cylinder/liftMm", phrase.Of("a lift of {1} mm is not below the radius of the pins' tips, {2} mm; make it smaller", float64(b.LiftMm), float64(b.TipRadiusMm())))
	}
	if (b.PinDiameterMm+b.HoleWebMm)*4 > b.CircumferenceMm() {
		return fieldError("/cylinder/pinDiameterMm", phrase.Of("pins of {1} mm with {2} mm of metal between do not suit a cylinder {3} mm thick; make them thinner", float64(b.PinDiameterMm), float64(b.HoleWebMm), float64(b.DiameterMm)))
	}
	if err := s.checkBench(); err != nil {
		return err
	}
	if err := s.checkComb(); err != nil {
		return err
	}
	if len(s.OtherComb) > mostTeeth {
		return fieldError("/otherComb", phrase.Of("{1} teeth are listed; give at most {2}", len(s.OtherComb), mostTeeth))
	}
	if err := s.Share.check(); err != nil {
		return err
	}
	if err := s.Beside.check(b); err != nil {
		return err
	}
	return s.checkDrive()
}

func (s Share) check() error {
	for i, name := range s.Files {
		if !slices.Contains(files[:], name) {
			return fieldError(at("/share/files", i, ""), phrase.Of("{1} is not a file that is made here; the files are {2}", quote(name), strings.Join(files[:], ", ")))
		}
		if slices.Contains(s.Files[:i], name) {
			return fieldError(at("/share/files", i, ""), phrase.Of("{1} is listed twice; keep one", name))
		}
	}
	return nil
}

func (s Setup) checkBench() error {
	b := s.Bench
	if !slices.Contains(pinmap.Methods(), b.Method) {
		return fieldError("/bench/method", phrase.Of("{1} is not a way to set an angle; give wrap, degrees, dms, head, wheel, stepper or vernier", quote(b.Method)))
	}
	if len(b.HeadCircles) < 1 || len(b.HeadCircles) > mostCircles {
		return fieldError("/bench/headCircles", phrase.Of("{1} circles are listed; give 1 to {2}", len(b.HeadCircles), mostCircles))
	}
	for i, holes := range b.HeadCircles {
		if holes < 1 || holes > mostHoles {
			return fieldError(at("/bench/headCircles", i, ""), phrase.Of("a circle of {1} holes cannot be used; give 1 to {2}", holes, mostHoles))
		}
	}
	if !slices.Contains(pinmap.Materials(), b.Material) {
		return fieldError("/bench/material", phrase.Of("{1} is not a material that feeds are known for; give {2}", quote(b.Material), strings.Join(pinmap.Materials(), ", ")))
	}
	if b.PinShape != pinmap.Cone && b.PinShape != pinmap.Round {
		return fieldError("/bench/pinShape", phrase.Of("{1} is not a shape of a printed pin; give cone or round", quote(b.PinShape)))
	}
	if left := s.Cylinder.DiameterMm - 2*s.Cylinder.HoleDepthMm; b.BoreMm > 0 && b.BoreMm >= left {
		return fieldError("/bench/boreMm", phrase.Of("a bore of {1} mm meets the holes, which leave {2} mm between them; make it narrower", float64(b.BoreMm), float64(left)))
	}
	return nil
}

func (s Setup) checkComb() error {
	c := s.Comb
	switch c.Mode {
	case "cut":
		if c.Low > c.High {
			return fieldError("/comb/low", phrase.Of("{1} lies above high, {2}; lower it or raise high", c.Low, c.High))
		}
	case "fixed":
		if len(c.Pitches) == 0 {
			return fieldError("/comb/pitches", phrase.Of("a given comb has no teeth; list their notes, such as C5 and D5, or let the comb be cut for the tune"))
		}
		if len(c.Pitches) > mostTeeth {
			return fieldError("/comb/pitches", phrase.Of("{1} teeth are listed; give at most {2}", len(c.Pitches), mostTeeth))
		}
		alike := map[unit.NoteName]int{}
		for i, p := range c.Pitches {
			if alike[p]++; alike[p] > c.MaxTwins {
				return fieldError(at("/comb/pitches", i, ""), phrase.Of("{1} is listed more than {2} times; raise maxTwins or take one away", p, c.MaxTwins))
			}
		}
	default:
		return fieldError("/comb/mode", phrase.Of("{1} is not a kind of comb; give cut or fixed", quote(c.Mode)))
	}
	return nil
}

func (s Setup) checkDrive() error {
	d := s.Drive
	if len(d.Stages) < 1 || len(d.Stages) > 12 {
		return fieldError("/drive/stages", phrase.Of("{1} stages are listed; give 1 to 12 ratios", len(d.Stages)))
	}
	for i, r := range d.Stages {
		if !(r >= 0.01 && r <= 1000) {
			return fieldError(at("/drive/stages", i, ""), phrase.Of("a ratio of {1} cannot be used; give 0.01 to 1000", r))
		}
	}
	if d.CylinderStage < 0 || d.CylinderStage > len(d.Stages) {
		return fieldError("/drive/cylinderStage", phrase.Of("stage {1} is not in the train of {2}; give 0 (the great wheel) to {3}", d.CylinderStage, len(d.Stages), len(d.Stages)))
	}
	if t := d.RevolutionMs(); !(t >= shortestTurn && t <= longestTurn) {
		return fieldError("/drive", phrase.Of("the cylinder would turn once in {1} ms; change the great wheel or the stages so that it takes {2} to {3}", fmt.Sprintf("%.4g", float64(t)), float64(shortestTurn), float64(longestTurn)))
	}
	return nil
}

// at joins a pointer.
func at(pointer string, index int, field string) string {
	p := pointer + "/" + itoa(index)
	if field != "" {
		p += "/" + field
	}
	return p
}

// ParseDecision reads one decision and checks that it has the fields of its kind, and only those. Errors are of type *FieldError.
func ParseDecision(data []byte) (arrange.Decision, error) {
	var d arrange.Decision
	if !json.Valid(data) {
		return d, fieldError("", phrase.Of("the decision is not JSON; check its quotes, commas and braces"))
	}
	if err := decodeOver(reflect.ValueOf(&d).Elem(), data, ""); err != nil {
		return d, err
	}
	return d, checkDecision(d, "", true)
}

func checkDecision(d arrange.Decision, pointer string, top bool) error {
	type fields struct{ note, octaves, pitch, tooth, twin, ms, bar, beat, setup, decisions bool }
	has := fields{d.Note != "", d.Octaves != nil, d.Pitch != nil, d.Tooth != 0, d.Twin != 0, d.Ms != nil, d.Bar != nil, d.Beat != nil, d.Setup != nil, d.Decisions != nil}
	var need, may fields
	switch d.Kind {
	case arrange.Octave:
		need = fields{note: true, octaves: true}
	case arrange.Place:
		need, may = fields{note: true}, fields{pitch: true, tooth: true, twin: true}
		if has.tooth == has.pitch {
			return fieldError(pointer+"/pitch", phrase.Of("a place needs either pitch, such as \"C5\", or tooth, a number"))
		}
		if has.tooth && has.twin {
			return fieldError(pointer+"/twin", phrase.Of("tooth already says which of the teeth alike is meant; leave twin out"))
		}
	case arrange.LeaveOut, arrange.Release, arrange.Remove:
		need = fields{note: true}
	case arrange.Shift:
		need = fields{note: true, ms: true}
	case arrange.Add:
		need = fields{pitch: true, bar: true, beat: true}
	case arrange.Move:
		need, may = fields{note: true}, fields{pitch: true, bar: true, beat: true}
		if has.note && !has.pitch && !has.bar && !has.beat {
			return fieldError(pointer+"/bar", phrase.Of("a move needs at least one of bar, beat and pitch"))
		}
	case arrange.Change:
		need = fields{setup: true}
		if has.setup {
			if _, err := DefaultSetup().shape(d.Setup); err != nil {
				err.Pointer = pointer + "/setup" + err.Pointer
				return err
			}
		}
	case arrange.Several:
		need = fields{decisions: true}
	case arrange.Undo, arrange.Redo:
		if !top {
			return fieldError(pointer+"/kind", phrase.Of("{1} stands alone; it cannot be one of several", d.Kind))
		}
	default:
		return fieldError(pointer+"/kind", phrase.Of("{1} is not a kind of decision; give octave, place, leave-out, shift, release, add, move, remove, setup, several, undo or redo", quote(d.Kind)))
	}
	for _, f := range []struct {
		name           string
		has, need, may bool
	}{
		{"note", has.note, need.note, may.note}, {"octaves", has.octaves, need.octaves, may.octaves}, {"pitch", has.pitch, need.pitch, may.pitch},
		{"tooth", has.tooth, need.tooth, may.tooth}, {"twin", has.twin, need.twin, may.twin}, {"ms", has.ms, need.ms, may.ms},
		{"bar", has.bar, need.bar, may.bar}, {"beat", has.beat, need.beat, may.beat},
		{"setup", has.setup, need.setup, may.setup}, {"decisions", has.decisions, need.decisions, may.decisions},
	} {
		if f.need && !f.has {
			return fieldError(pointer+"/"+f.name, phrase.Of("a decision of the kind {1} needs it", d.Kind))
		}
		if f.has && !f.need && !f.may {
			return fieldError(pointer+"/"+f.name, phrase.Of("a decision of the kind {1} does not have it; leave it out", d.Kind))
		}
	}
	if len(d.Note) > mostNoteID {
		return fieldError(pointer+"/note", phrase.Of("{1} is not the id of a note", quote(d.Note)))
	}
	if d.Octaves != nil && (*d.Octaves < -arrange.Reach || *d.Octaves > arrange.Reach) {
		return fieldError(pointer+"/octaves", phrase.Of("{1} octaves are too far; give -2 to 2", *d.Octaves))
	}
	if d.Tooth < 0 || d.Tooth > mostTeeth {
		return fieldError(pointer+"/tooth", phrase.Of("there is no tooth {1}; give 1 to {2}", d.Tooth, mostTeeth))
	}
	if d.Twin < 0 || d.Twin > 12 {
		return fieldError(pointer+"/twin", phrase.Of("there is no twin {1}; give 1 for the first of the teeth alike", d.Twin))
	}
	if d.Ms != nil && !(math.Abs(*d.Ms) <= 1000) {
		return fieldError(pointer+"/ms", phrase.Of("{1} ms is too far; a note can be moved by the tolerance of the setup at most", *d.Ms))
	}
	if d.Beat != nil && !(*d.Beat >= 1 && *d.Beat < mostBeats) {
		return fieldError(pointer+"/beat", phrase.Of("there is no beat {1}; beats count from 1 at the bar line", *d.Beat))
	}
	if d.Kind == arrange.Several {
		if len(d.Decisions) == 0 || len(d.Decisions) > mostDecisions {
			return fieldError(pointer+"/decisions", phrase.Of("{1} decisions are listed; give 1 to {2}", len(d.Decisions), mostDecisions))
		}
		if !top {
			return fieldError(pointer+"/kind", phrase.Of("several cannot be one of several; list its decisions directly"))
		}
		for i, part := range d.Decisions {
			if err := checkDecision(part, at(pointer+"/decisions", i, ""), false); err != nil {
				return err
			}
		}
	}
	return nil
}

// shape checks that a change has the fields and types of a setup, whatever its figures.
func (s Setup) shape(change []byte) (Setup, *FieldError) {
	if err := decodeOver(reflect.ValueOf(&s).Elem(), change, ""); err != nil {
		return s, err.(*FieldError)
	}
	return s, nil
}
