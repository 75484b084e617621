package bench

import (
	"fmt"
	"math"
	"sort"

	"pgregory.net/rapid"

	"pinwright/arrange"
	"pinwright/arrange/phrase"
	"pinwright/arrange/unit"
	"pinwright/pinmap"
	"pinwright/pinmap/project"
)

// strike is a tooth released at an angle.
type strike struct {
	tooth int
	angle float64
}

// compact is the default cylinder of design.md, section 3.
func compact() pinmap.Cylinder {
	return pinmap.Cylinder{
		DiameterMm: 13, PinProjectionMm: 0.9, PinDiameterMm: 0.35, HoleWebMm: 0.25, LiftMm: 0.45, ToothSpacingMm: 1,
		FirstTrackMm: 1.5, GapDeg: 18, HoleDepthMm: 1, PaperMm: 0.1, BassEnd: pinmap.Left, Turns: pinmap.Up,
	}
}

// result computes a result from its strikes by the formulas of design.md, section 3.
func result(c pinmap.Cylinder, teeth int, strikes []strike) *project.Result {
	const turn = 14545.454545
	sort.Slice(strikes, func(a, b int) bool {
		if strikes[a].angle != strikes[b].angle {
			return strikes[a].angle < strikes[b].angle
		}
		return strikes[a].tooth < strikes[b].tooth
	})
	r := &project.Result{Schema: project.Schema, Title: "The tinker's morning", ClearToDrill: true}
	r.Setup.Title, r.Setup.Cylinder, r.Setup.Bench = r.Title, c, pinmap.DefaultBench()
	r.Setup.Comb.DampingCycles, r.Setup.Comb.LeastRingMs, r.Setup.Comb.QualityFactor = 15, 60, 900
	r.Tune.Title, r.Tune.PlayedBPM, r.Tune.WrittenBPM = "Tinker", 104, 100
	r.Cylinder = project.CylinderView{
		Cylinder: c, CircumferenceMm: math.Pi * c.DiameterMm, WrapMm: math.Pi * (c.DiameterMm + c.PaperMm), RevolutionMs: turn,
		LengthMm: 2*c.FirstTrackMm + unit.Millimetres(teeth-1)*c.ToothSpacingMm, ContactDeg: 3.5,
	}
	for k := 1; k <= teeth; k++ {
		pitch := min(unit.Pitch(59+k), 120)
		r.Comb.Teeth = append(r.Comb.Teeth, project.ToothView{
			Tooth: k, Pitch: pitch, Note: pitch.String(), Twin: 1, Twins: 1, FrequencyHz: pitch.Frequency(), ContactMs: 141, DampMs: 40,
			RecoveryMs: 240, HoleMs: 213, RepeatMs: 240, GovernedBy: "damper",
		})
	}
	for i, s := range strikes {
		id := fmt.Sprintf("n%d", i+1)
		tooth := &r.Comb.Teeth[s.tooth-1]
		tooth.Plucks++
		time := unit.Milliseconds((s.angle - float64(c.GapDeg)/2) / 360 * turn)
		bar, beat := int(time/1800)+1, 1+math.Mod(float64(time)/450, 4)
		r.Pins = append(r.Pins, pinmap.Pin{
			Pin: i + 1, Tooth: s.tooth, Note: id, AngleDeg: unit.Degrees(s.angle), ArcMm: unit.Millimetres(s.angle / 360 * math.Pi * float64(c.DiameterMm)),
			AxialMm: c.FirstTrackMm + unit.Millimetres(s.tooth-1)*c.ToothSpacingMm, TimeMs: time, Bar: bar, Beat: beat,
		})
		r.Arrangement.Plucks = append(r.Arrangement.Plucks, project.Pluck{Note: id, Tooth: s.tooth, Pitch: tooth.Pitch, TimeMs: time, Value: 10})
		r.Tune.Notes = append(r.Tune.Notes, arrange.Note{ID: id, OnsetMs: time, Pitch: tooth.Pitch, Name: tooth.Note, Bar: bar, Beat: beat})
	}
	for b := range 8 {
		r.Tune.Excerpt.Bars = append(r.Tune.Excerpt.Bars, project.BarView{Number: b + 1, StartMs: unit.Milliseconds(b) * 1800, EndMs: unit.Milliseconds(b+1) * 1800})
	}
	return r
}

// tuneful spreads n strikes over the teeth as a melody over broken chords would, the same every time.
func tuneful(teeth, n int, gap float64) []strike {
	var strikes []strike
	seen := map[strike]bool{}
	for i := 0; len(strikes) < n; i++ {
		step := float64(i*3/4) * (360 - gap) / math.Ceil(float64(n)*3/4)
		s := strike{1 + (i*7+i*i/5)%teeth, gap/2 + math.Mod(step, 360-gap)}
		for seen[s] {
			s.tooth = 1 + s.tooth%teeth
		}
		seen[s] = true
		strikes = append(strikes, s)
	}
	return strikes
}

// blocked gives r with findings that stand in the way.
func blocked(r *project.Result, n int) *project.Result {
	r.ClearToDrill = false
	for i := range n {
		r.Findings = append(r.Findings, arrange.Finding{
			ID: fmt.Sprintf("f%d", i), Kind: arrange.Repeat, Blocks: true, Notes: []string{"n1"}, Bar: 1 + i, Beat: 2.5,
			Text: phrase.Text("C5 comes again after 180 ms. This tooth needs 258 ms; its damper governs."),
		})
	}
	r.Findings = append(r.Findings, arrange.Finding{
		ID: "m", Kind: arrange.Moved, Notes: []string{"n2"}, Bar: 2, Beat: 1, Text: phrase.Text("D3 is plucked an octave up, on tooth 3: the comb has no D3."),
	})
	return r
}

// anyResult draws a valid result: any cylinder that the setup allows, any hand, pins anywhere on it.
func anyResult(t *rapid.T) *project.Result {
	c := compact()
	c.DiameterMm = unit.Millimetres(rapid.Float64Range(3, 400).Draw(t, "diameterMm"))
	c.ToothSpacingMm = unit.Millimetres(rapid.Float64Range(0.3, 6).Draw(t, "toothSpacingMm"))
	c.FirstTrackMm = unit.Millimetres(rapid.Float64Range(0.5, 20).Draw(t, "firstTrackMm"))
	c.PaperMm = unit.Millimetres(rapid.Float64Range(0, 0.3).Draw(t, "paperMm"))
	c.PinDiameterMm = unit.Millimetres(rapid.Float64Range(0.1, 2).Draw(t, "pinDiameterMm"))
	c.GapDeg = unit.Degrees(rapid.SampledFrom([]float64{0, 6, 18, 90}).Draw(t, "gapDeg"))
	c.BassEnd = rapid.SampledFrom([]pinmap.Side{pinmap.Left, pinmap.Right}).Draw(t, "bassEnd")
	c.Turns = rapid.SampledFrom([]pinmap.Turn{pinmap.Up, pinmap.Down}).Draw(t, "turns")
	teeth := rapid.IntRange(1, 144).Draw(t, "teeth")
	strikes := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) strike {
		return strike{rapid.IntRange(1, teeth).Draw(t, "tooth"), rapid.Float64Range(float64(c.GapDeg)/2, 359.999-float64(c.GapDeg)/2).Draw(t, "angle")}
	}), 0, 60).Draw(t, "strikes")
	return result(c, teeth, strikes)
}
