package project

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strconv"

	"pinwright/arrange"
	"pinwright/arrange/phrase"
	"pinwright/arrange/tune"
	"pinwright/arrange/unit"
	"pinwright/pinmap"
)

// BesideView is one tune that shares the cylinder with the project's own, as it comes out there.
type BesideView struct {
	Tune       int               `json:"tune"` // from 1, in the order of the setup's projects
	Title      string            `json:"title"`
	OffsetMm   unit.Millimetres  `json:"offsetMm"` // how much farther from the bass-end face its track k lies than the project's own
	FromBar    int               `json:"fromBar"`
	ToBar      int               `json:"toBar"`
	WrittenBPM unit.BPM          `json:"writtenBpm"`
	PlayedBPM  unit.BPM          `json:"playedBpm"`
	Transpose  int               `json:"transpose"`
	Objective  float64           `json:"objective"`
	TotalValue float64           `json:"totalValue"`
	Proven     bool              `json:"proven"`
	Notes      int               `json:"notes"` // of its excerpt
	Played     int               `json:"played"`
	Dropped    int               `json:"dropped"`
	Pins       []pinmap.Pin      `json:"pins"`           // numbered by angle, then tooth; teeth as in the joint tables
	Comb       *CombView         `json:"comb,omitempty"` // its own, of two combs; its teeth are numbered on from the first comb's, spare ones too
	InTheWay   []arrange.Finding `json:"inTheWay"`       // its own findings that block, without remedies
	Findings   int               `json:"findings"`       // how many there are of its own, these among them
	Clear      bool              `json:"clearToDrill"`   // reports whether nothing of its own stands in the way
}

// Hole is one pin of the cylinder with the tune that it belongs to: 0 is the project's own. Its tooth is numbered on through two combs, see ToothOf; its
// note is one of its own tune.
type Hole struct {
	Tune int `json:"tune"`
	pinmap.Pin
}

// TuneLetter gives the letter by which a tune goes where people read of it: a is the project's own, tune 0.
func TuneLetter(tune int) string { return string(rune('a' + tune)) }

// Holes gives the pins of all tunes on the cylinder in one numbering, by angle, then axial distance. Of a project with nothing beside it they are
// Pins, each of tune 0.
func (r *Result) Holes() []Hole {
	all := tagged(0, r.Pins)
	if len(r.Beside) == 0 {
		return all
	}
	for _, b := range r.Beside {
		all = append(all, tagged(b.Tune, b.Pins)...)
	}
	return joint(all)
}

// ToothOf gives the tooth that a hole's pin plucks.
func (r *Result) ToothOf(h Hole) ToothView {
	if h.Tune > 0 && r.Beside[h.Tune-1].Comb != nil {
		teeth := r.Beside[h.Tune-1].Comb.Teeth
		return teeth[h.Tooth-teeth[0].Tooth]
	}
	return r.Comb.Teeth[h.Tooth-1]
}

func tagged(tune int, pins []pinmap.Pin) []Hole {
	all := make([]Hole, len(pins))
	for i, p := range pins {
		all[i] = Hole{tune, p}
	}
	return all
}

// joint sorts and numbers the holes of several tunes.
func joint(all []Hole) []Hole {
	slices.SortStableFunc(all, func(a, b Hole) int {
		return cmp.Or(cmp.Compare(a.AngleDeg, b.AngleDeg), cmp.Compare(a.AxialMm, b.AxialMm), cmp.Compare(a.Tune, b.Tune))
	})
	for i := range all {
		all[i].Pin.Pin = i + 1
	}
	return all
}

// fit is what a tune takes from the project beside whose own it stands.
type fit struct {
	Comb     *Comb `json:",omitempty"` // null: it has its own
	Cylinder pinmap.Cylinder
	Limits   Limits
	turn     unit.Milliseconds
}

// onto gives the setup of the tune as it stands beside the other.
func (f *fit) onto(s Setup) Setup {
	if f.Comb != nil {
		s.Comb = *f.Comb
	}
	s.Cylinder, s.Limits, s.Tempo.RevolutionMs = f.Cylinder, f.Limits, f.turn
	return s
}

// key tells what would come out otherwise apart.
func (f *fit) key() string {
	data, err := json.Marshal(f)
	if err != nil {
		panic("project: a comb and a cylinder do not marshal: " + err.Error())
	}
	return string(data) + strconv.FormatFloat(float64(f.turn), 'g', -1, 64)
}

// fitted gives what the tunes beside this one take from it, once its comb is known.
func (d *derivation) fitted() *fit {
	f := &fit{Cylinder: d.setup.Cylinder, Limits: d.setup.Limits, turn: d.timing.turn}
	f.Cylinder.LengthMm = 0
	f.Limits.SolveMs = max(f.Limits.SolveMs/d.setup.Beside.count(), 1) // together they take no longer than this one may
	if d.setup.Beside.Layout == Sideways {
		c := d.setup.Comb
		c.Mode, c.MaxTwins, c.Teeth = "fixed", mostTeeth, len(d.solution.Teeth)
		c.Pitches = make([]unit.NoteName, len(d.solution.Teeth))
		for i, p := range d.solution.Teeth {
			c.Pitches[i] = unit.NoteName(p)
		}
		f.Comb = &c
	}
	return f
}

// company remembers what came out for the tunes beside one, so that they are solved again only where the comb, the cylinder or the limits changed.
type company struct {
	read  map[string]*tune.Tune // by the project as written
	known map[guest]*BesideView
}

// guest is all that a tune beside another comes of.
type guest struct{ project, fit string }

func newCompany() *company {
	return &company{read: map[string]*tune.Tune{}, known: map[guest]*BesideView{}}
}

// mostKnown bounds what a company remembers; what is needed is then derived again.
const mostKnown = 64

// gather derives the tunes that stand beside this one. Errors are those of derive, and of a tune that cannot be read.
func (d *derivation) gather(ctx context.Context) error {
	b := d.setup.Beside
	if b == nil {
		return nil
	}
	f := d.fitted()
	key := f.key()
	d.others = make([]*BesideView, len(b.Projects))
	for i, p := range b.Projects {
		name := guest{p.written, key}
		v := d.company.known[name]
		if v == nil {
			var err error
			if v, err = d.company.derive(ctx, p, f); err != nil {
				return below(at("/beside/projects", i, ""), err)
			}
			if len(d.company.known) >= mostKnown {
				clear(d.company.known)
				clear(d.company.read)
			}
			d.company.known[name] = v
		}
		d.others[i] = v.beside(i+1, d)
	}
	return nil
}

// derive works out one tune by itself, its tracks not yet in their places.
func (c *company) derive(ctx context.Context, p Neighbour, f *fit) (*BesideView, error) {
	t := c.read[p.written]
	if t == nil {
		limits := tune.DefaultLimits
		limits.Bytes, limits.Silent = mostNeighbourTune, true
		var err error
		if t, err = tune.Read(p.Tune, limits); err != nil {
			if bad, ok := err.(*tune.Error); ok {
				return nil, fieldError("/tune", bad.Message)
			}
			return nil, err
		}
		c.read[p.written] = t
	}
	d := &derivation{file: t, base: p.Setup, done: p.Decisions, fit: f}
	if err := d.state(nil); err != nil {
		return nil, below("/setup", err)
	}
	var err error
	if d.solution, err = arrange.NewExact().Solve(ctx, d.problem); err != nil {
		return nil, err
	}
	d.lay()
	d.view()
	r := d.result
	v := &BesideView{Title: r.Title, FromBar: r.Tune.Excerpt.FromBar, ToBar: r.Tune.Excerpt.ToBar, WrittenBPM: r.Tune.WrittenBPM, PlayedBPM: r.Tune.PlayedBPM,
		Transpose: r.Arrangement.Transpose, Objective: r.Arrangement.Objective, TotalValue: r.Arrangement.TotalValue, Proven: r.Arrangement.Proven,
		Notes: len(d.notes), Played: len(r.Arrangement.Plucks), Dropped: len(r.Arrangement.Dropped), Pins: r.Pins, Comb: &r.Comb,
		InTheWay: []arrange.Finding{}, Findings: len(r.Findings), Clear: r.ClearToDrill}
	for _, found := range r.Findings {
		if found.Blocks {
			v.InTheWay = append(v.InTheWay, found)
		}
	}
	return v, nil
}

// beside gives the tune in its place beside another; what was remembered of it stays as it is.
func (v *BesideView) beside(number int, d *derivation) *BesideView {
	placed := *v
	placed.Tune = number
	before := 0 // teeth of the first comb
	if d.setup.Beside.Layout == Sideways {
		placed.Comb = nil
		placed.OffsetMm = unit.Millimetres(number) * d.sideways()
	} else {
		before = d.combSize()
		c := *v.Comb
		c.Teeth = slices.Clone(c.Teeth)
		for i := range c.Teeth {
			c.Teeth[i].Tooth += before
		}
		placed.Comb = &c
		placed.OffsetMm = d.secondComb() - d.setup.Cylinder.FirstTrackMm
	}
	placed.Pins = slices.Clone(v.Pins)
	for i := range placed.Pins {
		placed.Pins[i].Tooth += before
		placed.Pins[i].AxialMm += placed.OffsetMm
	}
	return &placed
}

// combSize gives the teeth of the comb, spare ones too.
func (d *derivation) combSize() int { return len(d.solution.Teeth) + d.solution.Spare }

// sideways gives how far the cylinder is moved from one tune to the next, s/n.
func (d *derivation) sideways() unit.Millimetres {
	return d.setup.Cylinder.ToothSpacingMm / unit.Millimetres(d.setup.Beside.count()+1)
}

// secondComb gives the place of the first track of the second comb of two.
func (d *derivation) secondComb() unit.Millimetres {
	c := d.setup.Cylinder
	return c.AxialMm(max(d.combSize(), 1)) + max(d.setup.Beside.GapMm, c.ToothSpacingMm)
}

// leastLengthMm gives the least length of a cylinder for all that stands on it: as much metal beyond the last track as before the first.
func (d *derivation) leastLengthMm() unit.Millimetres {
	c := d.setup.Cylinder
	least := c.LeastLengthMm(d.combSize())
	switch b := d.setup.Beside; {
	case b == nil:
	case b.Layout == Sideways:
		least += unit.Millimetres(b.count()) * d.sideways()
	default:
		second := d.others[0].Comb
		least = d.secondComb() + unit.Millimetres(max(len(second.Teeth)+second.Spare, 1)-1)*c.ToothSpacingMm + c.FirstTrackMm
	}
	return least
}

// leastSideMm is the least that must stay free between a tooth's tip and the pins of the next tune: the play of the arbor along its axis and the error
// with which the cylinder is shifted. From memory; measure your own.
const leastSideMm unit.Millimetres = 0.05

// mostCrowded bounds the pairs of holes of different tunes that are told one by one.
const mostCrowded = 200

// beside gives what stands in the way between the tunes of one cylinder.
func (d *derivation) beside() []arrange.Finding {
	if len(d.others) == 0 {
		return nil
	}
	all := d.unclear()
	holes := tagged(0, d.pins)
	for _, o := range d.others {
		holes = append(holes, tagged(o.Tune, o.Pins)...)
	}
	holes = joint(holes)
	all = append(all, d.crossing(holes)...)
	if d.setup.Beside.Layout == Sideways {
		return append(all, d.passing()...)
	}
	return append(all, d.strain(holes)...)
}

// tuneName names a tune of the cylinder inside a sentence.
func (d *derivation) tuneName(tune int) phrase.Phrase {
	if tune == 0 {
		return phrase.Of("this tune")
	}
	return phrase.Of("tune {1}, {2},", TuneLetter(tune), d.others[tune-1].Title)
}

// unclear gives a finding for each tune of which something of its own stands in the way.
func (d *derivation) unclear() []arrange.Finding {
	var all []arrange.Finding
	for _, o := range d.others {
		if o.Clear {
			continue
		}
		n := len(o.InTheWay)
		all = append(all, arrange.Finding{ID: fmt.Sprintf("%s-tune-%d", arrange.Beside, o.Tune), Kind: arrange.Beside, Blocks: true, Tunes: []int{o.Tune},
			Have: amount(float64(n), "findings"), Need: amount(0, "findings"),
			Text: phrase.Plural(n, phrase.Of("Tune {1}, {2}, is not clear to drill on this cylinder: 1 thing stands in its way. It is settled in its own project, which is then put here anew.", TuneLetter(o.Tune), o.Title),
				phrase.Of("Tune {1}, {2}, is not clear to drill on this cylinder: {3} things stand in its way. They are settled in its own project, which is then put here anew.", TuneLetter(o.Tune), o.Title, n))})
	}
	return all
}

// crossing gives a finding for each two holes of different tunes that would break into each other.
//
// Between neighbouring tracks of several tunes of one comb lies s/n, so tracks are numbered through all tunes for the search; those of a second
// comb, which lie a tooth spacing or more apart, go on after the first.
func (d *derivation) crossing(holes []Hole) []arrange.Finding {
	c := d.setup.Cylinder
	pins := make([]pinmap.Pin, len(holes))
	for i, h := range holes {
		pins[i] = h.Pin
		if d.setup.Beside.Layout == Sideways {
			pins[i].Tooth = (h.Tooth-1)*(len(d.others)+1) + h.Tune + 1
		}
	}
	if d.setup.Beside.Layout == Sideways {
		c.ToothSpacingMm = d.sideways()
	}
	d.crossed = map[string][2]Hole{}
	var all []arrange.Finding
	for k := range pinmap.EachCrowded(pins, c) {
		a, b := holes[k.A], holes[k.B]
		if a.Tune == b.Tune {
			continue // told by itself
		}
		if len(all) == mostCrowded {
			return append(all, arrange.Finding{ID: string(arrange.Holes) + "-beside", Kind: arrange.Holes, Blocks: true,
				Text: phrase.Of("More holes of different tunes lie too near each other than the {1} pairs that are told here.", mostCrowded)})
		}
		if a.Tune > b.Tune {
			a, b = b, a
		}
		angle := a.AngleDeg
		f := arrange.Finding{AngleDeg: &angle}
		if a.Tune == 0 {
			f = d.about(arrange.Holes, d.byID[a.Note])
			f.Notes, f.Teeth = []string{a.Note}, []int{a.Tooth}
		}
		f.ID = fmt.Sprintf("%s-%d-%s-%d-%s", arrange.Holes, a.Tune, a.Note, b.Tune, b.Note)
		f.Kind, f.Blocks, f.Tunes = arrange.Holes, true, []int{a.Tune, b.Tune}
		f.Have, f.Need = amount(float64(k.DistanceMm), "mm"), amount(float64(k.NeedMm), "mm")
		if !d.mute {
			f.Text = phrase.Of("The hole of {1} of {2} and that of {3} of {4} lie {5} mm apart; they need {6} mm between centres.",
				d.holeName(a), d.tuneName(a.Tune), d.holeName(b), d.tuneName(b.Tune), figure(float64(k.DistanceMm), 3), figure(float64(k.NeedMm), 3))
		}
		d.crossed[f.ID] = [2]Hole{a, b}
		all = append(all, f)
	}
	return all
}

// holeName names a hole by its tooth's pitch and its place in its own tune.
func (d *derivation) holeName(h Hole) phrase.Phrase {
	if before := d.combSize(); d.setup.Beside.Layout == TwoCombs && h.Tune > 0 {
		return placed(d.others[h.Tune-1].Comb.Teeth[h.Tooth-before-1].Note, h.Bar, h.Beat)
	}
	return placed(d.solution.Teeth[h.Tooth-1], h.Bar, h.Beat)
}

// passing gives findings where the teeth cannot pass between the pins of the other tunes, or where there is nothing to shift the cylinder in.
//
//	track of this tune      track of the next
//	        |<------ s/n ------>|
//	    [   tip   ]          (  pin  )
//	    |<-- b -->|  least   |<- d ->|
//
// What is free between the tip of a tooth and a pin of the next tune, s/n − (b + d)/2, must be leastSideMm or more. And while the cylinder is shifted
// no tooth may be held, which a pin does through the contact angle before its release.
func (d *derivation) passing() []arrange.Finding {
	c := d.setup.Cylinder
	var all []arrange.Finding
	need := (c.TipMm+c.PinDiameterMm)/2 + leastSideMm
	if have := d.sideways(); have < need-1e-9 {
		all = append(all, arrange.Finding{ID: string(arrange.Beside) + "-tips", Kind: arrange.Beside, Blocks: true,
			Have: amount(float64(have), "mm"), Need: amount(float64(need), "mm"),
			Text: phrase.Of("The tracks of {1} tunes lie {2} mm apart; a tooth's tip {3} mm wide passes pins {4} mm thick of the next tune only where they lie {5} mm apart.",
				d.setup.Beside.count()+1, figure(float64(have), 3), figure(float64(c.TipMm), 3), figure(float64(c.PinDiameterMm), 3), figure(float64(need), 3))})
	}
	if have, need := c.GapDeg, c.Contact(); have < need {
		all = append(all, arrange.Finding{ID: string(arrange.Beside) + "-gap", Kind: arrange.Beside, Blocks: true,
			Have: amount(float64(have), "degrees"), Need: amount(float64(need), "degrees"),
			Text: phrase.Of("The cylinder is shifted to the next tune in the silent gap, which has {1}°; a pin holds its tooth through {2}° before the release, so no less than that must be silent.",
				figure(float64(have), 2), figure(float64(need), 2))})
	}
	return all
}

// strain gives a finding for each run of plucks in which more teeth of both combs are released together than the drive is trusted with, and those of one
// comb alone are not.
func (d *derivation) strain(holes []Hole) []arrange.Finding {
	n, most, within := len(holes), d.setup.Limits.MaxTogether, d.setup.Limits.TogetherMs
	pins := make([]pinmap.Pin, n)
	for i, h := range holes {
		pins[i] = h.Pin
	}
	var all []arrange.Finding
	for from := 0; from < n; {
		to, of := from, [2]int{} // pins from..to-1, and how many of each tune
		for to < from+n && (to == from || d.later(pins, from, to) <= within) {
			of[holes[to%n].Tune]++
			to++
		}
		if to-from <= most {
			from++
			continue
		}
		if max(of[0], of[1]) <= most {
			first := holes[from]
			f := arrange.Finding{ID: fmt.Sprintf("%s-%d-%s", arrange.Load, first.Tune, first.Note), Kind: arrange.Load, Blocks: true, Tunes: []int{0, 1}, AngleDeg: &first.AngleDeg,
				Have: amount(float64(to-from), "teeth"), Need: amount(float64(most), "teeth")}
			for i := from; i < to; i++ {
				if h := holes[i%n]; h.Tune == 0 {
					f.Notes, f.Teeth = append(f.Notes, h.Note), append(f.Teeth, h.Tooth)
					if f.Bar == 0 {
						f.Bar, f.Beat = h.Bar, h.Beat
					}
				}
			}
			f.Text = phrase.Of("{1} teeth of the two combs are released within {2}; at most {3} at once keep the drive from stumbling.", to-from, ms(within), most)
			all = append(all, f)
		}
		from = to
	}
	return all
}

// besideOffers mends what stands in the way between the tunes of one cylinder.
func (d *derivation) besideOffers(f arrange.Finding) []offer {
	b, c := d.setup.Beside, d.setup.Cylinder
	var all []offer
	cylinder := func(label phrase.Phrase, field string, value float64) {
		all = append(all, offer{label, d.change(field == "gapDeg", map[string]any{"cylinder": map[string]any{field: value}})})
	}
	n := float64(b.count() + 1)
	fraction := float64(c.ToothSpacingMm) / n // between neighbouring tracks of one comb
	off := len(b.Projects)                    // the tune that is taken off
	spacing, thinner := 0.0, math.Inf(1)
	switch pair, crossed := d.crossed[f.ID]; {
	case f.Kind == arrange.Load:
		if have := int(f.Have.Value); have <= mostTeeth {
			all = append(all, offer{phrase.Of("Allow {1} teeth together", have), d.change(false, map[string]any{"limits": map[string]any{"maxTogether": have}})})
		}
	case f.Kind == arrange.Holes:
		if crossed {
			off = pair[1].Tune
			all = append(all, d.apart(pair)...)
		}
		if b.Layout == Sideways {
			spacing, thinner = n*float64(c.PinDiameterMm+c.HoleWebMm), fraction-float64(c.HoleWebMm)
		} else {
			need := math.Ceil(float64(c.PinDiameterMm+c.HoleWebMm)*20) / 20
			if need > float64(max(b.GapMm, c.ToothSpacingMm)) {
				all = append(all, offer{phrase.Of("Set the combs {1} mm apart", figure(need, 2)), d.change(false, map[string]any{"beside": map[string]any{"gapMm": need}})})
			}
		}
	case f.ID == string(arrange.Beside)+"-tips":
		spacing, thinner = n*f.Need.Value, 2*(fraction-float64(leastSideMm))-float64(c.TipMm)
	case f.ID == string(arrange.Beside)+"-gap":
		gap := math.Ceil(f.Need.Value + 1)
		cylinder(phrase.Of("Leave a gap of {1}°", gap), "gapDeg", gap)
	default:
		off = f.Tunes[0]
	}
	if spacing = math.Ceil(spacing*20-1e-6) / 20; spacing > float64(c.ToothSpacingMm) {
		cylinder(phrase.Of("Space the teeth {1} mm apart", figure(spacing, 2)), "toothSpacingMm", spacing)
	}
	if thinner = math.Floor(thinner*100+1e-6) / 100; thinner < float64(c.PinDiameterMm) && thinner >= 0.05 {
		cylinder(phrase.Of("Use pins {1} mm thick", figure(thinner, 2)), "pinDiameterMm", thinner)
	}
	return append(all, offer{phrase.Of("Take tune {1}, {2}, off the cylinder", TuneLetter(off), d.others[off-1].Title), d.change(false, b.without(off))})
}

// apart moves the note of this tune away from a hole of another along the arc, or leaves it out.
func (d *derivation) apart(pair [2]Hole) []offer {
	own, other := pair[0], pair[1]
	if own.Tune != 0 {
		return nil
	}
	note, c := d.byID[own.Note], d.setup.Cylinder
	need := float64(c.PinDiameterMm + c.HoleWebMm)
	axial, around := float64(own.AxialMm-other.AxialMm), float64(c.CircumferenceMm())
	arc := math.Remainder(float64(own.ArcMm-other.ArcMm), around)
	free := math.Sqrt(max(need*need-axial*axial, 0))
	var all []offer
	if d.locks[note].ShiftMs == 0 {
		for _, to := range [...]float64{free, -free} {
			by := (to - arc) / around * float64(d.timing.turn)
			label := phrase.Of("Move {1} {2} ms later", d.notes[note].Name, figure(math.Ceil(by*10)/10, 1))
			if by = math.Ceil(by*10) / 10; to < 0 {
				by = math.Floor((to-arc)/around*float64(d.timing.turn)*10) / 10
				label = phrase.Of("Move {1} {2} ms earlier", d.notes[note].Name, figure(-by, 1))
			}
			if by = unit.Round(by); math.Abs(by) <= float64(d.setup.Limits.ShiftMs) {
				all = append(all, offer{label, d.on(note, arrange.Decision{Kind: arrange.Shift, Ms: &by})})
			}
		}
	}
	return append(all, d.leaveOut(note))
}
