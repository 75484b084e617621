package project_test

import (
	"cmp"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange"
	"pinwright/arrange/tune"
	"pinwright/pinmap/project"
)

// outcome is a result as it is read by someone who has only its JSON and the design.
type outcome struct {
	Tune struct {
		Excerpt struct {
			FromBar, ToBar      int
			WrittenMs, PlayedMs float64
		}
		WrittenBPM, PlayedBPM float64
		Notes                 []struct {
			ID      string
			OnsetMs float64
			Pitch   int
			Part    string
			Role    string
			Value   float64
			Bar     int
			Beat    float64
			Merged  []string
		}
	}
	Comb struct {
		Spare int
		Teeth []struct {
			Tooth, Pitch, Twin, Twins, Plucks int
			Note, GovernedBy                  string
			FrequencyHz, RepeatMs, RingMs     float64
			PartialsHz                        []float64
		}
	}
	Arrangement struct {
		Transpose                    int
		Objective, Bound, TotalValue float64
		Proven                       bool
		Plucks                       []pluck
		Dropped                      []struct{ Note, Reason string }
	}
	Cylinder struct{ RevolutionMs, CircumferenceMm, LengthMm float64 }
	Pins     []struct {
		Pin, Tooth, Bar                        int
		Note                                   string
		AngleDeg, ArcMm, AxialMm, TimeMs, Beat float64
	}
	Drive        struct{ CylinderRpm, GovernorRpm, Ratio float64 }
	Findings     []arrange.Finding
	ClearToDrill bool
}

type pluck struct {
	Note                   string
	Tooth, Pitch, Octaves  int
	TimeMs, ShiftMs, Value float64
	Locked                 bool
}

func modulo(v, m float64) float64 { return v - m*math.Floor(v/m) }

func apart(a, b, turn float64) float64 {
	d := modulo(math.Abs(a-b), turn)
	return min(d, turn-d)
}

// wish is what the decisions in force say about one note.
type wish struct {
	place *arrange.Decision
	shift float64
}

// wishes folds a log by its definition: undo takes the last decision back, redo makes it again, release takes back all about a note.
func wishes(log []arrange.Decision, alias map[string]string) map[string]wish {
	var done, undone []arrange.Decision
	for _, d := range log {
		switch {
		case d.Kind == "undo" && len(done) > 0:
			undone, done = append(undone, done[len(done)-1]), done[:len(done)-1:len(done)-1]
		case d.Kind == "redo" && len(undone) > 0:
			done, undone = append(done, undone[len(undone)-1]), undone[:len(undone)-1:len(undone)-1]
		case d.Kind != "undo" && d.Kind != "redo":
			done, undone = append(done, d), nil
		}
	}
	w := map[string]wish{}
	for _, d := range done {
		if d.Kind != "several" {
			d = arrange.Decision{Decisions: []arrange.Decision{d}}
		}
		for _, p := range d.Decisions {
			id := alias[p.Note]
			if id == "" {
				continue
			}
			now := w[id]
			switch p.Kind {
			case "add", "move", "remove":
				continue
			case "release":
				now = wish{}
			case "shift":
				now.shift = *p.Ms
			default:
				now.place = &p
			}
			w[id] = now
		}
	}
	return w
}

// recompute works a result out again from the tune, the setup as it stands and the log, by the formulas of design.md alone, and
// gives what does not agree.
func recompute(t fataler, tn *tune.Tune, log []arrange.Decision, r *project.Result) (bad []string) {
	t.Helper()
	var o outcome
	if err := json.Unmarshal([]byte(toJSON(t, r)), &o); err != nil {
		t.Fatalf("read the result: %v", err)
	}
	byHand, blank, bars := edited(tn, log), len(tn.Notes) == 0, len(tn.Bars)
	tn = rewritten(tn, log)
	say := func(format string, args ...any) { bad = append(bad, fmt.Sprintf(format, args...)) }
	near := func(got, want, tolerance float64, what string, args ...any) {
		if !(math.Abs(got-want) <= tolerance) {
			say("%s: %v, want %v", fmt.Sprintf(what, args...), got, want)
		}
	}
	s := r.Setup
	c := s.Cylinder
	gap := float64(c.GapDeg)

	// Time (design 3).
	role := map[string]string{}
	for _, p := range tn.Parts {
		if p.Channel == 10 {
			role[p.ID] = "off"
		}
	}
	for _, p := range s.Parts {
		role[p.ID] = string(p.Role)
	}
	var sounding []tune.Note
	for _, n := range tn.Notes {
		if role[tn.Parts[n.Part].ID] != "off" {
			sounding = append(sounding, n)
		}
	}
	cylinderRpm := float64(s.Drive.GreatWheelRpm)
	for _, stage := range s.Drive.Stages[:s.Drive.CylinderStage] {
		cylinderRpm *= stage
	}
	turn := cmp.Or(float64(s.Tempo.RevolutionMs), 60_000/cylinderRpm)
	barOf := map[int]tune.Bar{}
	for _, b := range tn.Bars {
		barOf[b.Number] = b
	}
	from, to := o.Tune.Excerpt.FromBar, o.Tune.Excerpt.ToBar
	silent := len(sounding) == 0
	if silent { // written by hand, so that nothing need sound: the run of bars is counted from the first bar line
		if !byHand {
			say("nothing sounds")
		}
		from := tn.Bars[0]
		sounding = []tune.Note{{Bar: from.Number, OnsetMs: from.StartMs, Quarter: from.StartQuarter}, {Bar: tn.Bars[len(tn.Bars)-1].Number}}
	}
	if blank && s.Excerpt == nil { // all bars that were asked for, and those that were written beyond
		want := max(sounding[len(sounding)-1].Bar, bars)
		if silent {
			want = bars
		}
		if from != sounding[0].Bar || to != want {
			say("the excerpt runs from %d to %d, want %d to %d", from, to, sounding[0].Bar, want)
		}
	} else if s.Excerpt != nil {
		if from != s.Excerpt.FromBar || to != s.Excerpt.ToBar {
			say("excerpt %d to %d", from, to)
		}
	} else { // every run of whole bars from the first sounding bar, up to the last one, tried one by one
		want, best := 0, math.Inf(1)
		for _, b := range tn.Bars {
			if b.Number < sounding[0].Bar || b.Number > sounding[len(sounding)-1].Bar {
				continue
			}
			ratio := float64(b.EndMs-sounding[0].OnsetMs) / ((1 - gap/360) * turn)
			if off := max(ratio, 1/ratio); off < best-1e-9 {
				want, best = b.Number, off
			}
		}
		if from != sounding[0].Bar || to != want {
			say("the excerpt runs from %d to %d, want %d to %d", from, to, sounding[0].Bar, want)
		}
	}
	sounding = slices.DeleteFunc(sounding, func(n tune.Note) bool { return n.Bar < from || n.Bar > to })
	if silent {
		sounding = nil
	}
	first := tune.Note{OnsetMs: barOf[from].StartMs, Quarter: barOf[from].StartQuarter}
	if len(sounding) > 0 {
		first = sounding[0]
	} else if !byHand {
		say("nothing sounds in the excerpt")
	}
	written := float64(barOf[to].EndMs - first.OnsetMs)
	stretch := 1.0
	if s.Tempo.Mode == "fill" {
		stretch = (1 - gap/360) * turn / written
	} else if s.Tempo.RevolutionMs == 0 {
		turn = written / (1 - gap/360)
	}
	near(o.Cylinder.RevolutionMs, turn, 1e-6*max(1, turn/1000), "turn")
	near(o.Tune.Excerpt.WrittenMs, written, 1e-5, "span")
	near(o.Tune.Excerpt.PlayedMs, written*stretch, 1e-5, "span as played")
	bpm := (barOf[to].EndQuarter - first.Quarter) / written * 60_000
	near(o.Tune.WrittenBPM, bpm, 1e-6*bpm+1e-6, "written tempo")
	near(o.Tune.PlayedBPM, bpm/stretch, 1e-6*bpm/stretch+1e-6, "tempo as played")

	// Notes: merging and roles, pair by pair (design 4).
	type source struct {
		tune.Note
		at   float64
		lead int // index of the source that it is merged into
	}
	src := make([]source, len(sounding))
	for i, n := range sounding {
		src[i] = source{n, float64(n.OnsetMs-first.OnsetMs) * stretch, i}
		for j := range i {
			if src[j].lead == j && src[j].Pitch == n.Pitch && src[i].at-src[j].at <= 10 {
				src[i].lead = j
			}
		}
	}
	cluster := make([]int, len(src)) // the first note of each merged note's onset
	start := 0
	for i := range src {
		if src[i].lead != i {
			continue
		}
		if src[i].at-src[start].at > 10 {
			start = i
		}
		cluster[i] = start
	}
	value := map[string]float64{"lead": 10, "bass": 5, "fill": 3}
	alias := map[string]string{}
	index := map[string]int{} // into o.Tune.Notes
	clusterOf := map[string]int{}
	for i, n := range o.Tune.Notes {
		index[n.ID] = i
	}
	count, total := 0, 0.0
	for i, n := range src {
		alias[n.ID] = src[n.lead].ID
		if n.lead != i {
			continue
		}
		count++
		at, ok := index[n.ID]
		if !ok {
			say("note %s is missing", n.ID)
			continue
		}
		got := o.Tune.Notes[at]
		clusterOf[n.ID] = cluster[i]
		highest, lowest, members := true, true, 0
		for j, m := range src {
			if m.lead == j && cluster[j] == cluster[i] {
				members++
				highest = highest && m.Pitch <= n.Pitch
				lowest = lowest && m.Pitch >= n.Pitch
			}
		}
		auto := "fill"
		if highest {
			auto = "lead"
		} else if lowest {
			auto = "bass"
		}
		want := ""
		for _, m := range src {
			if src[m.lead].ID == n.ID {
				if own := cmp.Or(role[tn.Parts[m.Part].ID], auto); value[own] > value[want] {
					want = own
				}
			}
		}
		if got.Role != want || got.Value != value[want] || got.Pitch != int(n.Pitch) || got.Bar != n.Bar || got.Beat != n.Beat {
			say("note %s is %+v, want the role %s", n.ID, got, want)
		}
		near(got.OnsetMs, n.at, 1e-5, "onset of %s", n.ID)
		total += value[want]
	}
	if count != len(o.Tune.Notes) {
		say("%d notes, want %d", len(o.Tune.Notes), count)
	}
	near(o.Arrangement.TotalValue, total, 1e-6, "value of all notes")

	// The comb (design 2, 4).
	a := o.Arrangement
	radius := float64(c.DiameterMm)/2 + float64(c.PinProjectionMm)
	contact := turn * math.Asin(float64(c.LiftMm)/radius) / (2 * math.Pi)
	around := math.Pi * float64(c.DiameterMm)
	hole := turn * float64(c.PinDiameterMm+c.HoleWebMm) / around
	need := map[int]float64{}
	alike := map[int]int{}
	var pitches []int
	for i, k := range o.Comb.Teeth {
		pitches = append(pitches, k.Pitch)
		alike[k.Pitch]++
		hz := 440 * math.Pow(2, float64(k.Pitch-69)/12)
		near(k.FrequencyHz, hz, 1e-5, "frequency of tooth %d", i+1)
		near(k.RingMs, 1000*math.Log(1000)*s.Comb.QualityFactor/(math.Pi*hz), 1e-4, "ring of tooth %d", i+1)
		ratios := []float64{1, 6.266893, 17.547482} // of a bar clamped at one end, any textbook on vibration
		for ratios[len(ratios)-1]*hz > 0.45*44_100 {
			ratios = ratios[:len(ratios)-1]
		}
		if len(k.PartialsHz) != len(ratios) {
			say("tooth %d sounds with %v Hz, want %d partials", i+1, k.PartialsHz, len(ratios))
		}
		for n, ratio := range ratios[:min(len(ratios), len(k.PartialsHz))] {
			near(k.PartialsHz[n], ratio*hz, 1e-6*hz, "partial of tooth %d", i+1)
		}
		recovery, governor := contact+1000*s.Comb.DampingCycles/hz+float64(s.Comb.LeastRingMs), "damper"
		for name, own := range s.Comb.RecoveryMs {
			if int(name) == k.Pitch {
				recovery, governor = float64(own), "measured"
			}
		}
		if hole > recovery {
			recovery, governor = hole, "holes"
		}
		need[i+1] = recovery
		near(k.RepeatMs, recovery, 1e-5, "repeat time of tooth %d", i+1)
		if k.Tooth != i+1 || k.GovernedBy != governor || k.Twin != alike[k.Pitch] {
			say("tooth %d is %+v, want it governed by %s, twin %d", i+1, k, governor, alike[k.Pitch])
		}
		if s.Comb.Mode == "cut" && (k.Pitch < int(s.Comb.Low) || k.Pitch > int(s.Comb.High)) {
			say("tooth %d, %s, lies outside what may be cut", i+1, k.Note)
		}
	}
	if !slices.IsSorted(pitches) {
		say("the teeth are not sorted: %v", pitches)
	}
	for p, n := range alike {
		if n > s.Comb.MaxTwins {
			say("%d teeth of pitch %d", n, p)
		}
	}
	if s.Comb.Mode == "fixed" {
		var want []int
		for _, p := range s.Comb.Pitches {
			want = append(want, int(p))
		}
		slices.Sort(want)
		if !slices.Equal(pitches, want) {
			say("the comb is %v, want %v", pitches, want)
		}
	} else if len(pitches)+o.Comb.Spare != s.Comb.Teeth {
		say("%d teeth and %d spare, want %d", len(pitches), o.Comb.Spare, s.Comb.Teeth)
	}

	// Plucks (design 4).
	if a.Transpose < s.Transpose.Min || a.Transpose > s.Transpose.Max {
		say("the key moves by %d", a.Transpose)
	}
	wanted := wishes(log, alias)
	told := func(kind string, blocks bool, notes ...string) bool {
		return slices.ContainsFunc(o.Findings, func(f arrange.Finding) bool {
			for _, n := range notes {
				if !slices.Contains(f.Notes, n) {
					return false
				}
			}
			return (kind == "" || strings.Contains(kind, string(f.Kind))) && (f.Blocks || !blocks)
		})
	}
	placed := func(id string) bool { return wanted[id].place != nil && wanted[id].place.Kind != "leave-out" }
	standing := map[string]int{} // how often a note is plucked or dropped
	of := map[string]pluck{}
	objective := 0.0
	perTooth := map[int][]pluck{}
	for _, p := range a.Plucks {
		standing[p.Note]++
		of[p.Note] = p
		at, ok := index[p.Note]
		if !ok || p.Tooth < 1 || p.Tooth > len(pitches) {
			say("pluck %+v is of no note or tooth", p)
			continue
		}
		n := o.Tune.Notes[at]
		worth := value[n.Role] * map[int]float64{0: 1, 1: .6, -1: .6, 2: .45, -2: .45}[p.Octaves]
		objective += worth
		near(p.Value, worth, 1e-6, "value of %s", p.Note)
		if p.Pitch != n.Pitch+a.Transpose+12*p.Octaves || pitches[p.Tooth-1] != p.Pitch || p.Octaves < -2 || p.Octaves > 2 {
			say("pluck %+v of %+v in the key %+d, tooth %d", p, n, a.Transpose, pitches[p.Tooth-1])
		}
		near(apart(p.TimeMs, n.OnsetMs+wanted[p.Note].shift, turn), 0, 1e-5, "time of %s", p.Note)
		if p.Octaves != 0 && !told("moved", false, p.Note) {
			say("%s is moved and nothing says so", p.Note)
		}
		for _, q := range perTooth[p.Tooth] {
			if d := apart(p.TimeMs, q.TimeMs, turn); d < need[p.Tooth]-0.01-2e-6 && !(placed(p.Note) && placed(q.Note) && told("repeat seam doubled", true, p.Note, q.Note)) && !(len(perTooth[p.Tooth]) > 0 && nearer(perTooth[p.Tooth], a.Plucks, p, q, turn)) {
				say("%s and %s on tooth %d: %v ms, needs %v", p.Note, q.Note, p.Tooth, d, need[p.Tooth])
			}
		}
		perTooth[p.Tooth] = append(perTooth[p.Tooth], p)
		for _, q := range a.Plucks {
			if q.Note < p.Note && q.Pitch == p.Pitch && clusterOf[q.Note] == clusterOf[p.Note] && apart(p.TimeMs, q.TimeMs, turn) <= 10 && !(placed(p.Note) && placed(q.Note) && told("doubled", true, p.Note, q.Note)) {
				say("%s and %s are both plucked at pitch %d", p.Note, q.Note, p.Pitch)
			}
		}
	}
	near(a.Objective, objective, 1e-6, "objective")
	if a.Bound < a.Objective-1e-6 || a.Proven != (a.Bound-a.Objective <= 1e-6) {
		say("objective %v, bound %v, proven %v", a.Objective, a.Bound, a.Proven)
	}
	for _, d := range a.Dropped {
		standing[d.Note]++
		if d.Reason == "" || !told("", false, d.Note) {
			say("%s is dropped and nothing says why", d.Note)
		}
	}
	for _, n := range o.Tune.Notes {
		if standing[n.ID] != 1 {
			say("%s is plucked or dropped %d times", n.ID, standing[n.ID])
		}
		p, isPlucked := of[n.ID]
		late := n.OnsetMs > (1-gap/360)*turn+0.5+1e-6
		if late && (isPlucked || !told("overrun", true)) {
			say("%s comes after the end of the turn", n.ID)
		}
		w := wanted[n.ID].place
		switch {
		case w == nil:
		case w.Kind == "leave-out":
			if isPlucked {
				say("%s was left out and is plucked", n.ID)
			}
		case !isPlucked:
			if !late && !told("contradiction", true, n.ID) {
				say("%s was set on a tooth, is dropped, and nothing says so", n.ID)
			}
		case w.Octaves != nil && *w.Octaves != p.Octaves, w.Pitch != nil && int(*w.Pitch) != p.Pitch, w.Twin > 0 && o.Comb.Teeth[p.Tooth-1].Twin != w.Twin, !p.Locked:
			say("%s was set by %+v and is %+v", n.ID, *w, p)
		}
	}
	for i, k := range o.Comb.Teeth {
		if k.Plucks != len(perTooth[i+1]) {
			say("tooth %d has %d plucks, says %d", i+1, len(perTooth[i+1]), k.Plucks)
		}
	}

	// Pins (design 3).
	if len(o.Pins) != len(a.Plucks) {
		say("%d pins for %d plucks", len(o.Pins), len(a.Plucks))
	}
	most := 0
	divisions := float64(s.Bench.WheelDivisions)
	before := map[int]int{} // place of the last pin of each tooth, from 1
	for i, p := range o.Pins {
		if n := before[p.Tooth]; n > 0 && s.Bench.Method == "wheel" { // two that follow each other, each on the nearest division
			q := o.Pins[n-1]
			a, b := q.AngleDeg/360*divisions, p.AngleDeg/360*divisions
			tie := min(math.Abs(a-math.Floor(a)-0.5), math.Abs(b-math.Floor(b)-0.5)) < 1e-4
			computed, reached := (b-a)/divisions*turn, (math.Round(b)-math.Round(a))/divisions*turn
			if least := need[p.Tooth] - 0.01; !tie && computed > least+1e-4 && reached < least-1e-4 && !told("indexing", true, p.Note, q.Note) {
				say("the wheel sets %s and %s %v ms apart, they need %v, and nothing says so", q.Note, p.Note, reached, need[p.Tooth])
			}
		}
		before[p.Tooth] = i + 1
		q := of[p.Note]
		angle := gap/2 + 360*p.TimeMs/turn
		near(p.AngleDeg, angle, 2e-5, "angle of pin %d", i+1)
		near(p.ArcMm, angle/360*around, 2e-5, "arc of pin %d", i+1)
		near(p.AxialMm, float64(c.FirstTrackMm)+float64(p.Tooth-1)*float64(c.ToothSpacingMm), 2e-6, "axial of pin %d", i+1)
		near(p.TimeMs, q.TimeMs, 0, "time of pin %d", i+1)
		n := o.Tune.Notes[index[p.Note]]
		if p.Pin != i+1 || p.Tooth != q.Tooth || p.Bar != n.Bar || p.Beat != n.Beat {
			say("pin %+v does not come from %+v", p, q)
		}
		if i > 0 && (p.AngleDeg < o.Pins[i-1].AngleDeg || p.AngleDeg == o.Pins[i-1].AngleDeg && p.Tooth < o.Pins[i-1].Tooth-0 && p.TimeMs == o.Pins[i-1].TimeMs) {
			say("pin %d stands before pin %d", i+1, i)
		}
		together := 0
		for j, q := range o.Pins {
			if modulo(q.TimeMs-p.TimeMs, turn) <= float64(s.Limits.TogetherMs)-1e-5 {
				together++
			}
			arc := math.Abs(p.ArcMm - q.ArcMm)
			if d := math.Hypot(min(arc, around-arc), p.AxialMm-q.AxialMm); j < i && q.Tooth != p.Tooth && d < float64(c.PinDiameterMm+c.HoleWebMm)-1e-5 && !told("holes", true, p.Note, q.Note) {
				say("the holes of %s and %s lie %v mm apart and nothing says so", p.Note, q.Note, d)
			}
		}
		most = max(most, together)
	}
	if most > s.Limits.MaxTogether && !told("load", true) {
		say("%d teeth together and nothing says so", most)
	}
	if s.Tempo.Mode == "written" && written > (1-gap/360)*turn+0.5+1e-5 && !told("overrun", true) {
		say("the tune overruns the turn and nothing says so")
	}

	// What follows.
	near(o.Cylinder.CircumferenceMm, around, 1e-5, "circumference")
	long := 2*float64(c.FirstTrackMm) + float64(max(len(pitches)+o.Comb.Spare, 1)-1)*float64(c.ToothSpacingMm)
	if at := float64(c.LengthMm); at > 0 {
		held := float64(c.FirstTrackMm) + float64(max(len(pitches), 1)-1)*float64(c.ToothSpacingMm) + float64(c.PinDiameterMm)/2 + float64(c.HoleWebMm)
		long = max(at, held)
		if at < held-1e-5 && len(pitches) > 0 && !told("short", true) {
			say("the cylinder is too short, and nothing says so")
		}
	}
	near(o.Cylinder.LengthMm, long, 1e-5, "length")
	near(o.Drive.CylinderRpm, 60_000/turn, 1e-5, "speed of the cylinder")
	beyond := 1.0
	for _, stage := range s.Drive.Stages[s.Drive.CylinderStage:] {
		beyond *= stage
	}
	near(o.Drive.GovernorRpm, 60_000/turn*beyond, 1e-3, "speed of the governor")
	seen := map[string]bool{}
	blocks := false
	for _, f := range o.Findings {
		if seen[f.ID] {
			say("two findings are called %s", f.ID)
		}
		seen[f.ID] = true
		blocks = blocks || f.Blocks
		for _, n := range f.Notes {
			if _, ok := index[n]; !ok {
				say("finding %s speaks of the note %s, which is not there", f.ID, n)
			}
		}
		for _, k := range f.Teeth {
			if k < 1 || k > len(pitches) {
				say("finding %s speaks of tooth %d", f.ID, k)
			}
		}
		if f.Text.Empty() || f.Notes == nil || f.Teeth == nil || f.Remedies == nil {
			say("finding %s lacks something: %+v", f.ID, f)
		}
	}
	if o.ClearToDrill == blocks {
		say("clear to drill: %v, with findings that block: %v", o.ClearToDrill, blocks)
	}
	return bad
}

// nearer reports whether another pluck of the tooth stands between two that clash, so that the clash is told with that one.
func nearer(_ []pluck, all []pluck, p, q pluck, turn float64) bool {
	d := apart(p.TimeMs, q.TimeMs, turn)
	for _, m := range all {
		if m.Tooth == p.Tooth && m.Note != p.Note && m.Note != q.Note && apart(m.TimeMs, p.TimeMs, turn) <= d && apart(m.TimeMs, q.TimeMs, turn) <= d {
			return true
		}
	}
	return false
}

// realTunes gives the paths of the 53 MIDI files of Debian's simutrans-data.
func realTunes(t *testing.T) []string {
	t.Helper()
	files, err := filepath.Glob("/usr/share/games/simutrans/music/*.mid")
	if err != nil {
		t.Fatal(err)
	}
	if len(files) == 0 {
		if os.Getenv("CI") == "true" {
			t.Fatal("Debian's simutrans-data is not installed")
		}
		t.Skip("SKIPPED: Debian's simutrans-data is not installed, so nothing is tried on real tunes")
	}
	if len(files) != 53 {
		t.Errorf("%d files, want 53", len(files))
	}
	return files
}

// TestRealTunes recomputes the results of real tunes.
func TestRealTunes(t *testing.T) {
	files := realTunes(t)
	proven := 0
	for _, path := range files {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		tn := read(t, data)
		r := derive(t, tn, project.DefaultSetup(), nil, false)
		for _, complaint := range recompute(t, tn, nil, r) {
			t.Errorf("%s: %s", filepath.Base(path), complaint)
		}
		if r.Arrangement.Proven {
			proven++
		}
	}
	t.Logf("%d files, %d proven", len(files), proven)
}

// TestGeneratedTunes recomputes the results of generated tunes with generated setups and decisions, contradictory ones among them.
func TestGeneratedTunes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tn, s, log := anyCase(t)
		r := derive(t, tn, s, log, false)
		if bad := recompute(t, tn, log, r); len(bad) > 0 {
			t.Fatalf("%s\n%s", strings.Join(bad, "\n"), toJSON(t, r))
		}
	})
}
