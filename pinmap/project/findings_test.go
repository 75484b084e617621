package project_test

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange"
)

// The findings below are provoked on a cylinder that turns once in 10 s, at the written tempo, 500 ms a quarter note of 96 ticks,
// with the default geometry, so that the figures can be worked out by hand:
//
//	contact = 10 000·asin(0.45/7.4)/2π = 96.843 ms;  hole = 10 000·0.6/(13π) = 146.912 ms
//	C5: 96.843 + 15 000/523.251 + 60 = 185.510 ms;  C6: 96.843 + 14.333 + 60 = 171.177 ms
//	the gap of 18° leaves 9 500 ms; a bar is 2 000 ms
const slowTurn = `"tempo": {"mode": "written", "revolutionMs": 10000}, "transpose": {"min": 0, "max": 0}`

// onComb is a setup with the given teeth.
func onComb(teeth, more string) string {
	return `{` + slowTurn + `, "comb": {"mode": "fixed", "pitches": [` + teeth + `]}` + more + `}`
}

const (
	c5 = 72
	d5 = 74
	e5 = 76
	g5 = 79
	c6 = 84
)

// findingRow is a tune that provokes a finding, the finding, and what mends it.
type findingRow struct {
	name      string
	notes     []played
	setup     string
	decisions []string
	id        string
	kind      arrange.FindingKind
	blocks    bool
	bar       int
	beat      float64
	angle     float64 // 9 + 360·t/10 000
	have      *arrange.Amount
	need      *arrange.Amount
	text      string
	remedies  []string // labels, in order
}

var findingRows = []findingRow{
	{name: "no tooth has the pitch", notes: []played{{0, c5}, {96, d5}}, setup: onComb(`"C5", "E5"`, ``),
		id: "off-comb-n2", kind: arrange.OffComb, bar: 1, beat: 2, angle: 27,
		text:     "D5 is left out. No tooth has D5 or an octave of it.",
		remedies: []string{"Retune the unused tooth 2, E5, to D5"},
	},
	{name: "no tooth has the pitch in the key", notes: []played{{0, c5}, {96, d5}}, setup: onComb(`"D5"`, `, "transpose": {"min": 2, "max": 2}`),
		id: "off-comb-n2", kind: arrange.OffComb, bar: 1, beat: 2, angle: 27,
		text: "D5 is left out. No tooth has E5 or an octave of it (D5 as written).",
	},
	{name: "nothing worth cutting", notes: []played{{0, c5}, {96, d5}, {192, c5}}, setup: `{` + slowTurn + `, "comb": {"teeth": 1}}`,
		id: "off-comb-n2", kind: arrange.OffComb, bar: 1, beat: 2, angle: 27,
		text:     "D5 is left out. No tooth has D5 or an octave of it, and none is worth cutting for it.",
		remedies: []string{"Cut one more tooth", "Play it as D5 all the same", "Play it an octave up, as D6", "Play it an octave down, as D4"},
	},
	{name: "one tooth too soon", notes: []played{{0, c5}, {24, c5}}, setup: onComb(`"C5", "E5"`, ``),
		id: "repeat-n2", kind: arrange.Repeat, bar: 1, beat: 1.25, angle: 13.5,
		have: &arrange.Amount{Value: 125, Unit: "ms"}, need: &arrange.Amount{Value: 185.510084, Unit: "ms"},
		text:     "C5 is left out. C5 again after 125 ms; this tooth needs 186 ms, its damper governs.",
		remedies: []string{"Retune the unused tooth 2, E5, to C5", "Play it as C5 all the same", "Leave the C5 of bar 1 beat 1 out"},
	},
	{name: "one tooth too soon, measured", notes: []played{{0, c5}, {96, c5}}, setup: `{` + slowTurn + `, "comb": {"mode": "fixed", "pitches": ["C5"], "recoveryMs": {"C5": 620}}}`,
		id: "repeat-n2", kind: arrange.Repeat, bar: 1, beat: 2, angle: 27,
		have: &arrange.Amount{Value: 500, Unit: "ms"}, need: &arrange.Amount{Value: 620, Unit: "ms"},
		text:     "C5 is left out. C5 again after 500 ms; this tooth needs 620 ms, its measured recovery governs.",
		remedies: []string{"Play it as C5 all the same", "Leave the C5 of bar 1 beat 1 out"},
	},
	{name: "one tooth too soon, as both were set", notes: []played{{0, c5}, {24, c5}}, setup: onComb(`"C5", "C6"`, ``),
		decisions: []string{`{"kind": "octave", "note": "n1", "octaves": 0}`, `{"kind": "octave", "note": "n2", "octaves": 0}`},
		id:        "repeat-n2-n1", kind: arrange.Repeat, blocks: true, bar: 1, beat: 1.25, angle: 13.5,
		have: &arrange.Amount{Value: 125, Unit: "ms"}, need: &arrange.Amount{Value: 185.510084, Unit: "ms"},
		text:     "C5 again after 125 ms; this tooth needs 186 ms, its damper governs.",
		remedies: []string{"Retune the unused tooth 2, C6, to C5", "Play it an octave up, as C6", "Leave the C5 of bar 1 beat 1.25 out", "Leave the C5 of bar 1 beat 1 out"},
	},
	{name: "one tooth too soon beside its twin", notes: []played{{0, c5}, {24, c5}}, setup: onComb(`"C5", "C5"`, ``),
		decisions: []string{`{"kind": "place", "note": "n1", "pitch": "C5", "twin": 2}`, `{"kind": "place", "note": "n2", "pitch": "C5", "twin": 2}`},
		id:        "repeat-n2-n1", kind: arrange.Repeat, blocks: true, bar: 1, beat: 1.25, angle: 13.5,
		have: &arrange.Amount{Value: 125, Unit: "ms"}, need: &arrange.Amount{Value: 185.510084, Unit: "ms"},
		text:     "C5 again after 125 ms; this tooth needs 186 ms, its damper governs.",
		remedies: []string{"Use the twin tooth, 1", "Leave the C5 of bar 1 beat 1.25 out", "Leave the C5 of bar 1 beat 1 out"},
	},
	{name: "one tooth a little too soon", notes: []played{{0, c5}, {33, c5}}, setup: onComb(`"C5"`, ``),
		id: "repeat-n2", kind: arrange.Repeat, bar: 1, beat: 1.34375, angle: 15.1875,
		have: &arrange.Amount{Value: 171.875, Unit: "ms"}, need: &arrange.Amount{Value: 185.510084, Unit: "ms"},
		text:     "C5 is left out. C5 again after 172 ms; this tooth needs 186 ms, its damper governs.",
		remedies: []string{"Move C5 13.7 ms later", "Move C5 13.7 ms earlier", "Play it as C5 all the same", "Leave the C5 of bar 1 beat 1 out"},
	},
	{name: "one tooth too soon in a tune that fills the turn", notes: []played{{0, c5}, {24, c5}},
		setup: `{"tempo": {"revolutionMs": 2000}, "transpose": {"min": 0, "max": 0}, "comb": {"mode": "fixed", "pitches": ["C5"], "leastRingMs": 80}, "cylinder": {"gapDeg": 0}}`,
		id:    "repeat-n2", kind: arrange.Repeat, bar: 1, beat: 1.25, angle: 22.5,
		have: &arrange.Amount{Value: 125, Unit: "ms"}, need: &arrange.Amount{Value: 128.035555, Unit: "ms"},
		text:     "C5 is left out. C5 again after 125 ms; this tooth needs 128 ms, its damper governs.",
		remedies: []string{"Move C5 3.1 ms later", "Move C5 3.1 ms earlier", "Slow the cylinder to 2.06 s a turn", "Play it as C5 all the same", "Leave the C5 of bar 1 beat 1 out"},
	},
	{name: "across the datum line, dropped", notes: []played{{0, c5}, {3*384 + 24*15, c5}}, setup: onComb(`"C5"`, `, "cylinder": {"gapDeg": 0}, "tempo": {"mode": "written", "revolutionMs": 8000}`),
		id: "seam-n1", kind: arrange.Seam, bar: 1, beat: 1,
		have: &arrange.Amount{Value: 125, Unit: "ms"}, need: &arrange.Amount{Value: 166.141452, Unit: "ms"},
		text:     "C5 is left out. C5 again after 125 ms across the datum line; this tooth needs 166 ms, its damper governs.",
		remedies: []string{"Play it as C5 all the same", "Leave the C5 of bar 4 beat 4.75 out"},
	},
	{name: "across the datum line, as both were set", notes: []played{{0, c5}, {3*384 + 24*15, c5}},
		setup:     onComb(`"C5"`, `, "cylinder": {"gapDeg": 0}, "tempo": {"mode": "written", "revolutionMs": 8000}`),
		decisions: []string{`{"kind": "octave", "note": "n1", "octaves": 0}`, `{"kind": "octave", "note": "n2", "octaves": 0}`},
		id:        "seam-n1-n2", kind: arrange.Seam, blocks: true, bar: 1, beat: 1,
		have: &arrange.Amount{Value: 125, Unit: "ms"}, need: &arrange.Amount{Value: 166.141452, Unit: "ms"},
		text:     "C5 again after 125 ms across the datum line; this tooth needs 166 ms, its damper governs.",
		remedies: []string{"Leave the C5 of bar 1 beat 1 out", "Leave the C5 of bar 4 beat 4.75 out"},
	},
	{name: "plucked already", notes: []played{{0, c5}, {0, c6}}, setup: onComb(`"C5", "C5"`, ``),
		id: "doubled-n1", kind: arrange.Doubled, bar: 1, beat: 1, angle: 9,
		have: &arrange.Amount{Value: 0, Unit: "ms"}, need: &arrange.Amount{Value: 185.510084, Unit: "ms"},
		text:     "C5 is left out. C5 is already plucked at this moment, for C6.",
		remedies: []string{"Play it as C5 all the same", "Leave C6 out"},
	},
	{name: "plucked twice, as both were set", notes: []played{{0, c5}, {0, c6}}, setup: onComb(`"C5", "C5"`, ``),
		decisions: []string{`{"kind": "place", "note": "n1", "pitch": "C5", "twin": 1}`, `{"kind": "place", "note": "n2", "pitch": "C5", "twin": 2}`},
		id:        "doubled-n2-n1", kind: arrange.Doubled, blocks: true, bar: 1, beat: 1, angle: 9,
		have: &arrange.Amount{Value: 2, Unit: "plucks"}, need: &arrange.Amount{Value: 1, Unit: "plucks"},
		text:     "C5 is plucked twice at this moment, for C5 and for C6; once is all that can be heard.",
		remedies: []string{"Leave C5 out", "Leave C6 out"},
	},
	{name: "moved", notes: []played{{0, c5}, {24, c5}, {192, e5}}, setup: onComb(`"C5", "E5", "C6"`, ``),
		id: "moved-n2", kind: arrange.Moved, bar: 1, beat: 1.25, angle: 13.5,
		have: &arrange.Amount{Value: 125, Unit: "ms"}, need: &arrange.Amount{Value: 185.510084, Unit: "ms"},
		text:     "C5 is played an octave up, as C6: C5 again after 125 ms; this tooth needs 186 ms, its damper governs.",
		remedies: []string{"Play it as C5 all the same", "Leave C5 out"},
	},
	{name: "moved by the user", notes: []played{{0, c5}}, setup: onComb(`"C5", "C6"`, ``), decisions: []string{`{"kind": "octave", "note": "n1", "octaves": 1}`},
		id: "moved-n1", kind: arrange.Moved, bar: 1, beat: 1, angle: 9,
		text:     "C5 is played an octave up, as C6: as you decided.",
		remedies: []string{"Play it as C5 all the same", "Leave C5 out"},
	},
	{name: "left out by the user", notes: []played{{0, c5}, {96, e5}}, setup: onComb(`"C5", "E5"`, ``), decisions: []string{`{"kind": "leave-out", "note": "n2"}`},
		id: "left-out-n2", kind: arrange.LeftOut, bar: 1, beat: 2, angle: 27,
		text:     "E5 is left out, as you decided.",
		remedies: []string{"Take the note back in"},
	},
	{name: "two holes", notes: []played{{0, c5}, {3, d5}, {96, e5}}, setup: onComb(`"C5", "D5", "E5"`, `, "cylinder": {"toothSpacingMm": 0.5}`),
		id: "holes-n2-n1", kind: arrange.Holes, blocks: true, bar: 1, beat: 1.03125, angle: 9.5625,
		have: &arrange.Amount{Value: 0.504056, Unit: "mm"}, need: &arrange.Amount{Value: 0.6, Unit: "mm"},
		text:     "The holes of teeth 1 and 2 lie 0.504 mm apart; they need 0.6 mm between centres.",
		remedies: []string{"Space the teeth 0.6 mm apart", "Leave D5 out", "Leave C5 out"},
	},
	// 300 divisions are 33.333 ms apart: 9° is 7.5 of them and set to 8, 15.75° is 13.125 and set to 13.
	{name: "a repeat that an index wheel breaks", notes: []played{{0, c5}, {36, c5}}, setup: onComb(`"C5"`, `, "bench": {"method": "wheel", "wheelDivisions": 300}`),
		id: "indexing-n2-n1", kind: arrange.Indexing, blocks: true, bar: 1, beat: 1.375, angle: 15.75,
		have: &arrange.Amount{Value: 166.666667, Unit: "ms"}, need: &arrange.Amount{Value: 185.510084, Unit: "ms"},
		text: "Set on an index wheel of 300 divisions, C5 comes again after 167 ms in place of 188 ms; this tooth needs 186 ms, its damper governs.",
		remedies: []string{"Use an index wheel of 360 divisions", "Set the holes with a dividing head", "Prick the holes through the wrapped map", "Move C5 12.6 ms later",
			"Move C5 0.1 ms earlier"},
	},
	{name: "holes that an index wheel sets too near", notes: []played{{0, c5}, {12, d5}}, setup: onComb(`"C5", "D5"`, `, "cylinder": {"toothSpacingMm": 0.55}, "bench": {"method": "wheel", "wheelDivisions": 100}`),
		id: "indexing-n2-n1", kind: arrange.Indexing, blocks: true, bar: 1, beat: 1.125, angle: 11.25,
		have: &arrange.Amount{Value: 0.55, Unit: "mm"}, need: &arrange.Amount{Value: 0.6, Unit: "mm"},
		text:     "Set on an index wheel of 100 divisions, the holes of teeth 1 and 2 lie 0.55 mm apart; they need 0.6 mm between centres.",
		remedies: []string{"Use an index wheel of 240 divisions", "Set the holes with a dividing head", "Prick the holes through the wrapped map"},
	},
	{name: "a cylinder too short", notes: []played{{0, c5}, {96, d5}, {192, e5}}, setup: onComb(`"C5", "D5", "E5"`, `, "cylinder": {"lengthMm": 3.2}`),
		id: "short", kind: arrange.Short, blocks: true,
		have: &arrange.Amount{Value: 3.2, Unit: "mm"}, need: &arrange.Amount{Value: 3.925, Unit: "mm"}, // 1.5 + 2 + 0.175 + 0.25
		text:     "The cylinder at hand is 3.2 mm long; a comb of 3 teeth needs 3.925 mm, with the metal beyond its last track.",
		remedies: []string{"Use a cylinder 4 mm long", "Put the first track 0.77 mm from the end", "Space the teeth 0.63 mm apart"},
	},
	// σ is 10 000·0.1/(13π) = 24.485 ms, and Φ((185.510 − 0.01 − 250)/(24.485·√2)) = 0.03125.
	{name: "a repeat at risk", notes: []played{{0, c5}, {48, c5}, {192, e5}}, setup: onComb(`"C5", "E5"`, `, "bench": {"mostRisk": 0.01}`),
		id: "risk", kind: arrange.Risk,
		have: &arrange.Amount{Value: 3.125392, Unit: "%"}, need: &arrange.Amount{Value: 1, Unit: "%"},
		text:     "Holes set and drilled to 0.1 mm (standard deviation, along the arc) let some repeat fail with a chance of 3.13 %; you allow 1 %. Most at risk is C5 in bar 1 beat 1.5, which comes again after 250 ms and needs 186 ms.",
		remedies: []string{"Set the holes with a dividing head", "Set the holes with a stepping motor", "Use a cylinder 14.4 mm thick"},
	},
	{name: "many together", notes: []played{{0, c5}, {0, d5}, {2, e5}, {4, g5}}, setup: onComb(`"C5", "D5", "E5", "G5"`, `, "limits": {"maxTogether": 3}`),
		id: "load-n1", kind: arrange.Load, blocks: true, bar: 1, beat: 1, angle: 9,
		have: &arrange.Amount{Value: 4, Unit: "teeth"}, need: &arrange.Amount{Value: 3, Unit: "teeth"},
		text:     "4 teeth are released within 30 ms; at most 3 at once keep the drive from stumbling.",
		remedies: []string{"Roll the chord, low notes first", "Allow 4 teeth together", "Leave C5 out"},
	},
	{name: "too long for the turn", notes: []played{{0, c5}, {3 * 384, d5}, {5 * 384, e5}}, setup: onComb(`"C5", "D5", "E5"`, `, "excerpt": {"fromBar": 1, "toBar": 6}`),
		id: "overrun", kind: arrange.Overrun, blocks: true, bar: 6, beat: 1,
		have: &arrange.Amount{Value: 9500, Unit: "ms"}, need: &arrange.Amount{Value: 12000, Unit: "ms"},
		text:     "At the written tempo the excerpt lasts 12000 ms; a turn without its gap has 9500 ms. 1 note comes after its end.",
		remedies: []string{"Let the tune fill the turn", "Slow the cylinder to 12.63 s a turn", "End with bar 4"},
	},
	{name: "after the end of the turn", notes: []played{{0, c5}, {3 * 384, d5}, {5 * 384, e5}}, setup: onComb(`"C5", "D5", "E5"`, `, "excerpt": {"fromBar": 1, "toBar": 6}`),
		id: "overrun-n3", kind: arrange.Overrun, bar: 6, beat: 1, angle: 9,
		text:     "E5 is left out. The turn ends before it: at the written tempo the excerpt does not fit the revolution.",
		remedies: []string{"Let the tune fill the turn", "Slow the cylinder to 12.63 s a turn", "End with bar 4"},
	},
	{name: "two places", notes: []played{{0, c5}}, setup: onComb(`"C5", "C6"`, ``),
		decisions: []string{`{"kind": "octave", "note": "n1", "octaves": 0}`, `{"kind": "place", "note": "n1", "pitch": "C6"}`},
		id:        "contradiction-n1-1-2", kind: arrange.Contradiction, blocks: true, bar: 1, beat: 1, angle: 9,
		text:     "Decision 1 (C5 in bar 1 beat 1 kept at its octave) and decision 2 (C5 in bar 1 beat 1 set on tooth C6) cannot both hold. The later one is drawn until you choose.",
		remedies: []string{"Release C5", "Keep decision 1", "Keep decision 2"},
	},
	{name: "two shifts among several", notes: []played{{0, c5}}, setup: onComb(`"C5", "C6"`, ``),
		decisions: []string{`{"kind": "several", "decisions": [{"kind": "shift", "note": "n1", "ms": 5}, {"kind": "shift", "note": "n1", "ms": -5}]}`},
		id:        "contradiction-n1-1.1-1.2", kind: arrange.Contradiction, blocks: true, bar: 1, beat: 1, angle: 8.82,
		text:     "Decision 1.1 (C5 in bar 1 beat 1 moved 5 ms later) and decision 1.2 (C5 in bar 1 beat 1 moved 5 ms earlier) cannot both hold. The later one is drawn until you choose.",
		remedies: []string{"Release C5", "Keep decision 1.1", "Keep decision 1.2"},
	},
	{name: "places in two keys", notes: []played{{0, c5}, {96, e5}}, setup: `{` + slowTurn + `, "transpose": {"min": -2, "max": 2}, "comb": {"mode": "fixed", "pitches": ["C5", "F#5"]}}`,
		decisions: []string{`{"kind": "place", "note": "n1", "pitch": "C5"}`, `{"kind": "place", "note": "n2", "pitch": "F#5"}`},
		id:        "contradiction-n2", kind: arrange.Contradiction, blocks: true, bar: 1, beat: 2, angle: 27,
		text:     "E5 is left out. You set it on F#5. No key keeps that together with your other decisions on this comb.",
		remedies: []string{"Release E5", "Leave E5 out"},
	},
	{name: "more places than teeth", notes: []played{{0, c5}, {96, d5}, {192, e5}}, setup: `{` + slowTurn + `, "comb": {"teeth": 2}}`,
		decisions: []string{`{"kind": "octave", "note": "n1", "octaves": 0}`, `{"kind": "octave", "note": "n2", "octaves": 0}`, `{"kind": "octave", "note": "n3", "octaves": 0}`},
		id:        "contradiction-n3", kind: arrange.Contradiction, blocks: true, bar: 1, beat: 3, angle: 45,
		text:     "E5 is left out. You set it at its written octave. No key and choice of 2 teeth keeps that together with your other decisions.",
		remedies: []string{"Release E5", "Leave E5 out"},
	},
	{name: "a place that a changed comb lacks", notes: []played{{0, c5}, {96, d5}}, setup: onComb(`"C5", "D5"`, ``),
		decisions: []string{`{"kind": "place", "note": "n1", "pitch": "C5"}`, `{"kind": "setup", "setup": {"comb": {"pitches": ["D5", "C6"]}}}`},
		id:        "contradiction-n1", kind: arrange.Contradiction, blocks: true, bar: 1, beat: 1, angle: 9,
		text:     "C5 is left out. You set it on tooth C5, which the comb does not have.",
		remedies: []string{"Release C5", "Leave C5 out"},
	},
	{name: "a place outside a changed comb to be cut", notes: []played{{0, c5}, {96, d5}}, setup: `{` + slowTurn + `}`,
		decisions: []string{`{"kind": "place", "note": "n1", "pitch": "C4"}`, `{"kind": "setup", "setup": {"comb": {"low": "C5"}}}`},
		id:        "contradiction-n1", kind: arrange.Contradiction, blocks: true, bar: 1, beat: 1, angle: 9,
		text:     "C5 is left out. You set it on C4, outside the comb, which is cut from C5 to C7.",
		remedies: []string{"Release C5", "Leave C5 out"},
	},
	{name: "a shift that a changed tolerance forbids", notes: []played{{0, c5}}, setup: onComb(`"C5"`, ``),
		decisions: []string{`{"kind": "shift", "note": "n1", "ms": -20}`, `{"kind": "setup", "setup": {"limits": {"shiftMs": 10}}}`},
		id:        "contradiction-n1-shift", kind: arrange.Contradiction, blocks: true, bar: 1, beat: 1, angle: 8.28,
		have: &arrange.Amount{Value: 20, Unit: "ms"}, need: &arrange.Amount{Value: 10, Unit: "ms"},
		text:     "You moved C5 by 20 ms; the setup now allows 10 ms at most.",
		remedies: []string{"Take the shift back", "Allow shifts of 20 ms"},
	},
	{name: "a note that is no longer in the excerpt", notes: []played{{0, c5}, {384, d5}}, setup: onComb(`"C5", "D5"`, ``),
		decisions: []string{`{"kind": "octave", "note": "n2", "octaves": 0}`, `{"kind": "setup", "setup": {"excerpt": {"fromBar": 1, "toBar": 1}}}`},
		id:        "unmet-1", kind: arrange.Unmet,
		text:     "Decision 1 speaks of D5 in bar 2 beat 1, which is not among the notes that are played now; it waits without effect.",
		remedies: []string{"Forget what was decided about it"},
	},
}

func TestFindings(t *testing.T) {
	for _, row := range findingRows {
		t.Run(row.name, func(t *testing.T) {
			tn, s, log := read(t, melody(row.notes...)), parse(t, row.setup), decide(t, row.decisions...)
			r := derive(t, tn, s, log, true)
			if bad := recompute(t, tn, log, r); len(bad) > 0 {
				t.Error(bad)
			}
			f := find(r, row.id)
			if f == nil {
				t.Fatalf("there is no finding %s among %v\n%v", row.id, ids(r), toJSON(t, r.Findings))
			}
			if f.Kind != row.kind || f.Blocks != row.blocks || f.Bar != row.bar || f.Beat != row.beat {
				t.Errorf("kind %s, blocks %v, bar %d beat %v; want %s, %v, %d, %v", f.Kind, f.Blocks, f.Bar, f.Beat, row.kind, row.blocks, row.bar, row.beat)
			}
			if r.ClearToDrill == slices.ContainsFunc(r.Findings, func(f arrange.Finding) bool { return f.Blocks }) || row.blocks && r.ClearToDrill {
				t.Errorf("clear to drill: %v", r.ClearToDrill)
			}
			if f.AngleDeg == nil {
				if row.angle != 0 {
					t.Errorf("no angle, want %v", row.angle)
				}
			} else if d := float64(*f.AngleDeg) - row.angle; d > 1e-6 || d < -1e-6 {
				t.Errorf("angle %v, want %v", *f.AngleDeg, row.angle)
			}
			if toJSON(t, f.Have) != toJSON(t, row.have) || toJSON(t, f.Need) != toJSON(t, row.need) {
				t.Errorf("has %s, needs %s; want %s, %s", toJSON(t, f.Have), toJSON(t, f.Need), toJSON(t, row.have), toJSON(t, row.need))
			}
			if f.Text.String() != row.text {
				t.Errorf("it says %q,\nwant    %q", f.Text, row.text)
			}
			var labels []string
			for _, m := range f.Remedies {
				labels = append(labels, m.Label.String())
			}
			if !slices.Equal(labels, row.remedies) {
				t.Errorf("remedies %q, want %q", labels, row.remedies)
			}
			for _, m := range f.Remedies {
				if then := derive(t, tn, s, append(slices.Clip(log), m.Decision), false); find(then, f.ID) != nil {
					t.Errorf("%q does not clear it", m.Label)
				}
			}
		})
	}
}

// TestEveryKind: the rows above tell of every kind of finding that a result can have.
func TestEveryKind(t *testing.T) {
	for _, kind := range []arrange.FindingKind{arrange.OffComb, arrange.Repeat, arrange.Seam, arrange.Doubled, arrange.Moved, arrange.LeftOut, arrange.Holes, arrange.Load,
		arrange.Overrun, arrange.Indexing, arrange.Short, arrange.Risk, arrange.Contradiction, arrange.Unmet} {
		if !slices.ContainsFunc(findingRows, func(r findingRow) bool {
			return r.kind == kind
		}) {
			t.Errorf("no row is about %s", kind)
		}
	}
}

// TestRetuningKeepsTheOrder: teeth stand in the order of their pitches, so that a tooth retuned past another would leave the pins of those between
// on other notes.
func TestRetuningKeepsTheOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tn, s, log := anyCase(t)
		r := derive(t, tn, s, log, true)
		for _, f := range r.Findings {
			for _, m := range f.Remedies {
				if !strings.HasPrefix(m.Label.String(), "Retune ") {
					continue
				}
				then := derive(t, tn, s, append(slices.Clip(log), m.Decision), false)
				changed := 0
				for i, tooth := range then.Comb.Teeth {
					if tooth.Pitch != r.Comb.Teeth[i].Pitch {
						changed++
					}
				}
				if changed != 1 {
					t.Fatalf("%s: %d teeth have another note", m.Label, changed)
				}
			}
		}
	})
}
