package project

import (
	"cmp"
	"context"
	"math"
	"slices"

	"pinwright/arrange"
	"pinwright/arrange/phrase"
	"pinwright/arrange/unit"
	"pinwright/pinmap"
)

// Drilled is a hole in the metal.
type Drilled struct {
	AxialMm  unit.Millimetres `json:"axialMm"`  // from the bass-end face
	AngleDeg unit.Degrees     `json:"angleDeg"` // from the datum line, 0 to 360
}

// WayOut is a way to go on after a hole was drilled in the wrong place.
type WayOut struct {
	Kind        WayKind           `json:"kind"`
	Text        phrase.Phrase     `json:"text"`               // what to do, with figures
	Decision    *arrange.Decision `json:"decision,omitempty"` // to post, where the project itself changes
	Effect      phrase.Phrase     `json:"effect"`             // what else the decision changes
	DatumDeg    *unit.Degrees     `json:"datumDeg,omitempty"` // of a new datum line, from the old one
	ValueChange float64           `json:"valueChange"`        // of the objective; negative is a cost
}

// WayKind names a way out.
type WayKind string

// The ways out, in the order in which they are offered where they cost as much.
const (
	LeaveEmpty WayKind = "leave-empty" // no pin comes near: the hole stays as it is
	UseHole    WayKind = "use-hole"    // the note is shifted to where the hole is
	UseTwin    WayKind = "use-twin"    // the note goes to a twin tooth
	Plug       WayKind = "plug"        // the hole is closed, and the right one drilled
	NewDatum   WayKind = "new-datum"   // all is drilled anew from another datum line
)

// mostRuled bounds the pairs of holes and pins that are looked at for another datum line.
const mostRuled = 4_000_000

// Spoiled gives the ways out where the hole of a pin was drilled at another angle than its own, on the same track. drilled are the holes that are
// there already, the spoiled one with them or not; a new datum line is placed so that no pin comes near any of them. Errors are *FieldError, or those of
// the context. n log n in the pairs of drilled holes and pins on neighbouring tracks, and one derivation for each way that changes the project.
func (s *Session) Spoiled(ctx context.Context, log []arrange.Decision, pin int, angle unit.Degrees, drilled []Drilled) ([]WayOut, error) {
	done, _ := arrange.Fold(log)
	d, err := s.at(ctx, done)
	if err != nil {
		return nil, err
	}
	if pin < 1 || pin > len(d.pins) {
		return nil, fieldError("/pin", phrase.Of("there is no pin {1}; the cylinder has {2}", pin, len(d.pins)))
	}
	if !(angle >= 0 && angle <= 360) {
		return nil, fieldError("/angleDeg", phrase.Of("{1} degrees is not an angle round the cylinder; give 0 to 360", float64(angle)))
	}
	p, c := d.pins[pin-1], d.setup.Cylinder
	wrong := Drilled{AxialMm: p.AxialMm, AngleDeg: angle}
	off := c.ArcMm(offset(p.AngleDeg, angle))
	if math.Abs(float64(off)) < 1e-6 {
		return nil, fieldError("/angleDeg", phrase.Of("the hole stands at {1} degrees, where it belongs", figure(float64(angle), 3)))
	}
	var ways []WayOut
	if near := nearestPin(c, d.pins, wrong); near.apart >= c.PinDiameterMm+c.HoleWebMm-1e-9 {
		ways = append(ways, WayOut{Kind: LeaveEmpty, Text: phrase.Of("Leave it empty and drill the hole of pin {1} at {2}°: the nearest hole, that of pin {3}, lies {4} mm away, and an empty hole plays nothing.",
			pin, figure(float64(p.AngleDeg), 3), near.pin, figure(float64(near.apart), 2))})
	}
	before := ids(d.found)
	for _, o := range d.spoiledOffers(d.byID[p.Note], p, angle) {
		if !d.acceptable(o.decision) {
			continue
		}
		then, err := d.try(ctx, s.solver, append(slices.Clone(d.done), o.decision))
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if err != nil || !then.serves(d, p, o, drilled, before) {
			continue
		}
		decision := o.decision
		ways = append(ways, WayOut{Kind: o.kind, Text: o.label, Decision: &decision, Effect: d.effect(then), ValueChange: unit.Round(then.solution.Objective - d.solution.Objective)})
	}
	way := phrase.Of("on")
	if off > 0 {
		way = phrase.Of("back")
	}
	plug := phrase.Of("Plug it, file the plug flush, and drill the hole of pin {1} at {2}°, {3} mm along the arc {4} from the plug.", pin, figure(float64(p.AngleDeg), 3), figure(math.Abs(float64(off)), 3), way)
	if math.Abs(float64(off)) < float64(c.PinDiameterMm+c.HoleWebMm) {
		plug = phrase.Of("Plug it, file the plug flush, and drill the hole of pin {1} at {2}°: that is {3} mm along the arc {4} from it, into the plug, which must be soldered or cemented first and be as hard as the cylinder.",
			pin, figure(float64(p.AngleDeg), 3), figure(math.Abs(float64(off)), 3), way)
	}
	if hit, apart := brokenInto(c, drilled, wrong); apart < float64(c.PinDiameterMm+c.HoleWebMm) {
		plug = phrase.Join(" ", plug, phrase.Of("It lies {1} mm from the hole that was drilled at {2}°, nearer than the metal allows: plug and drill that one anew as well.",
			figure(apart, 3), figure(float64(hit.AngleDeg), 3)))
	}
	ways = append(ways, WayOut{Kind: Plug, Text: plug})
	if datum, ok := freeDatum(c, d.pins, append(slices.Clone(drilled), wrong)); ok {
		ways = append(ways, WayOut{Kind: NewDatum, DatumDeg: &datum, Text: phrase.Of("Scribe another datum line {1}° on from this one, {2} mm along the arc, and drill all holes from it: no pin comes near a hole that is there already.",
			figure(float64(datum), 2), figure(float64(c.ArcMm(datum)), 2))})
	}
	return ways, nil
}

// brokenInto gives the drilled hole that is nearest to another, itself left out, and how far apart their centres are.
func brokenInto(c pinmap.Cylinder, drilled []Drilled, wrong Drilled) (hit Drilled, apart float64) {
	apart = math.Inf(1)
	for _, hole := range drilled {
		far := centres(c, hole, wrong)
		if placeOf(hole.AxialMm, hole.AngleDeg) != placeOf(wrong.AxialMm, wrong.AngleDeg) && far < apart {
			hit, apart = hole, far
		}
	}
	return hit, apart
}

// kindOffer is an offer that is a way out: the note's pin comes to stand on that tooth at that angle.
type kindOffer struct {
	offer
	kind  WayKind
	tooth int
	angle unit.Degrees
}

// serves reports whether an offer did what it is for: the note has its pin where the offer says, every hole that was drilled right still has a pin, and
// nothing new stands in the way.
func (d *derivation) serves(was *derivation, p pinmap.Pin, o kindOffer, drilled []Drilled, before map[string]bool) bool {
	for _, f := range d.found {
		if f.Blocks && !before[f.ID] {
			return false
		}
	}
	is := slices.IndexFunc(d.pins, func(q pinmap.Pin) bool { return q.Note == p.Note })
	if is < 0 || d.pins[is].Tooth != o.tooth || math.Abs(float64(offset(d.pins[is].AngleDeg, o.angle))) > samePlace {
		return false
	}
	had, has := places(was.pins), places(d.pins)
	for _, hole := range drilled {
		if at := placeOf(hole.AxialMm, hole.AngleDeg); had[at] && !has[at] && at != placeOf(p.AxialMm, p.AngleDeg) {
			return false
		}
	}
	return true
}

// samePlace is the angle, in degrees, within which two holes are one.
const samePlace = 1e-3

// placeOf gives a hole's place to a thousandth of a mm and of a degree.
func placeOf(axial unit.Millimetres, angle unit.Degrees) [2]int64 {
	return [2]int64{int64(math.Round(float64(axial) * 1000)), int64(math.Round(float64(angle)*1000)) % 360_000}
}

func places(pins []pinmap.Pin) map[[2]int64]bool {
	all := make(map[[2]int64]bool, len(pins))
	for _, p := range pins {
		all[placeOf(p.AxialMm, p.AngleDeg)] = true
	}
	return all
}

// spoiledOffers shift the note to where the hole is, where the tolerance allows it, and place it on its twins.
func (d *derivation) spoiledOffers(note int, p pinmap.Pin, angle unit.Degrees) (all []kindOffer) {
	pitch, id := d.solution.Teeth[p.Tooth-1], d.notes[note].ID
	name := unit.NoteName(pitch)
	by := d.locks[note].ShiftMs + d.timing.turn*unit.Milliseconds(offset(p.AngleDeg, angle)/360)
	if ms := unit.Round(float64(by)); math.Abs(ms) <= float64(d.setup.Limits.ShiftMs) {
		label := phrase.Of("Set the pin into it: {1} then sounds {2} ms late.", d.notes[note].Name, figure(ms, 1))
		if ms < 0 {
			label = phrase.Of("Set the pin into it: {1} then sounds {2} ms early.", d.notes[note].Name, figure(-ms, 1))
		}
		here := 1 + slices.Index(d.teethOf[pitch], p.Tooth)
		all = append(all, kindOffer{offer{label, several(arrange.Decision{Kind: arrange.Release, Note: id}, arrange.Decision{Kind: arrange.Place, Note: id, Pitch: &name, Twin: here},
			arrange.Decision{Kind: arrange.Shift, Note: id, Ms: &ms})}, UseHole, p.Tooth, angle})
	}
	for twin, tooth := range d.teethOf[pitch] {
		if tooth != p.Tooth && d.isFree(tooth, note) {
			all = append(all, kindOffer{offer{phrase.Of("Use the twin tooth, {1}, whose track has room here; the spoiled hole is plugged or stays empty.", tooth),
				d.on(note, arrange.Decision{Kind: arrange.Place, Pitch: &name, Twin: twin + 1})}, UseTwin, tooth, p.AngleDeg})
		}
	}
	return all
}

// offset gives the way from one angle to another round the circle, -180 to 180.
func offset(from, to unit.Degrees) unit.Degrees {
	return unit.Degrees(math.Remainder(float64(to-from), 360))
}

// centres gives the distance of two holes' centres on the unrolled surface, mm.
func centres(c pinmap.Cylinder, a, b Drilled) float64 {
	return math.Hypot(float64(c.ArcMm(offset(a.AngleDeg, b.AngleDeg))), float64(a.AxialMm-b.AxialMm))
}

// neighbour is the pin nearest to a place.
type neighbour struct {
	pin   int
	apart unit.Millimetres // between centres on the unrolled surface
}

// nearestPin looks at all pins. Linear.
func nearestPin(c pinmap.Cylinder, pins []pinmap.Pin, at Drilled) neighbour {
	near := neighbour{apart: unit.Millimetres(math.Inf(1))}
	for _, p := range pins {
		if apart := unit.Millimetres(centres(c, Drilled{p.AxialMm, p.AngleDeg}, at)); apart < near.apart {
			near = neighbour{p.Pin, apart}
		}
	}
	return near
}

// freeDatum gives the least angle, in hundredths of a degree, to which the datum line can be moved on so that every pin, measured from it, keeps d + w from every hole that is
// there. It reports whether there is one; it is not looked for where the pairs would be too many.
func freeDatum(c pinmap.Cylinder, pins []pinmap.Pin, drilled []Drilled) (unit.Degrees, bool) {
	least := float64(c.PinDiameterMm + c.HoleWebMm)
	byAxial := slices.Clone(pins)
	slices.SortStableFunc(byAxial, func(a, b pinmap.Pin) int { return cmp.Compare(a.AxialMm, b.AxialMm) })
	var ruled [][2]float64 // out, in degrees; from may lie below 0
	for _, hole := range drilled {
		from, _ := slices.BinarySearchFunc(byAxial, float64(hole.AxialMm)-least, func(p pinmap.Pin, at float64) int { return cmp.Compare(float64(p.AxialMm), at) })
		for _, p := range byAxial[from:] {
			beside := float64(p.AxialMm - hole.AxialMm)
			if beside >= least {
				break
			}
			if len(ruled) >= mostRuled {
				return 0, false
			}
			half := math.Sqrt(least*least-beside*beside) / float64(c.CircumferenceMm()) * 360
			at := math.Mod(float64(hole.AngleDeg-p.AngleDeg)+720, 360)
			for _, round := range [...]float64{-360, 0, 360} {
				ruled = append(ruled, [2]float64{at - half + round, at + half + round})
			}
		}
	}
	slices.SortFunc(ruled, func(a, b [2]float64) int { return cmp.Compare(a[0], b[0]) })
	free := 0.01 // the least that tells two lines apart
	for _, r := range ruled {
		if r[0] >= free {
			break
		}
		free = math.Max(free, math.Ceil(r[1]*100-1e-6)/100)
	}
	return unit.Degrees(free), free < 360
}
