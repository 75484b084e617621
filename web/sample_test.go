package web

import (
	"math"

	"pinwright/arrange"
	"pinwright/arrange/phrase"
	"pinwright/arrange/unit"
	"pinwright/pinmap"
	"pinwright/pinmap/drive"
	"pinwright/pinmap/project"
)

// result is made by hand: a run of notes up and down a comb of two octaves, one left out, one moved, one locked and
// shifted, and one that comes too soon.
func result() *project.Result {
	pitches := []unit.Pitch{72, 74, 76, 77, 79, 81, 81, 83, 84, 86, 88, 89, 91, 93, 95, 96}
	cylinder := pinmap.Cylinder{
		DiameterMm: 13, PinProjectionMm: 0.9, PinDiameterMm: 0.35, HoleWebMm: 0.25, LiftMm: 0.45, ToothSpacingMm: 1,
		FirstTrackMm: 1.5, GapDeg: 18, HoleDepthMm: 1, PaperMm: 0.1, BassEnd: pinmap.Left, Turns: pinmap.Up,
	}
	turn := drive.Default().RevolutionMs()
	r := &project.Result{Schema: project.Schema, Title: "Harbour bell, second setting"}
	r.Setup = project.Setup{
		Title: "Harbour bell, second setting", Date: "2024-05-01", Tempo: project.Tempo{Mode: "fill"}, Transpose: project.Transpose{Min: -24, Max: 24},
		Comb:     project.Comb{Mode: "cut", Teeth: len(pitches), Low: 60, High: 96, MaxTwins: 4, DampingCycles: 15, LeastRingMs: 60, QualityFactor: 900},
		Cylinder: cylinder, Drive: drive.Default(), Limits: project.Limits{ShiftMs: 25, MaxTogether: 5, TogetherMs: 30}, Bench: pinmap.DefaultBench(),
	}
	r.Cylinder = project.CylinderView{Cylinder: cylinder, RevolutionMs: turn, LengthMm: 18, ContactDeg: 3.486}
	r.Cylinder.CircumferenceMm = math.Pi * 13
	r.Cylinder.WrapMm = math.Pi * 13.1
	r.Drive = project.DriveView{CylinderRpm: 4.125, GreatWheelRpm: 1.5, GovernorRpm: 3586.275, Ratio: 2390.85}
	r.Comb.Mode = "cut"
	for i, p := range pitches {
		t := project.ToothView{Tooth: i + 1, Pitch: p, Note: p.String(), Twin: 1, Twins: 1, FrequencyHz: p.Frequency(), GovernedBy: "damper"}
		t.ContactMs = turn * 3.486 / 360
		t.DampMs = unit.Milliseconds(15000 / float64(p.Frequency()))
		t.RecoveryMs = t.ContactMs + t.DampMs + 60
		t.RepeatMs = t.RecoveryMs
		if p == 81 {
			t.Twins, t.Twin = 2, i-4
		}
		r.Comb.Teeth = append(r.Comb.Teeth, t)
	}
	sounding := turn * (1 - 18.0/360)
	r.Tune = project.TuneView{
		Title: "Harbour bell", Format: 1, Division: phrase.Of("{1} ticks a quarter note", 480), WrittenBPM: 112, PlayedBPM: 109.4,
		Parts: []project.PartView{
			{ID: "t2c1", Name: "Bell", Track: 2, Channel: 1, Program: 15, Low: "C5", High: "C7", Notes: 84, Role: project.Auto},
			{ID: "t3c10", Track: 3, Channel: 10, Low: "C2", High: "F2", Notes: 40, Role: arrange.Off, Percussion: true},
		},
		Remarks: []phrase.Phrase{phrase.Of("1 track without End of Track (track {1}, byte {2}).", 3, 77)},
	}
	r.Tune.Excerpt = project.ExcerptView{FromBar: 1, ToBar: 8, WrittenMs: 13500, PlayedMs: sounding}
	for bar := range 8 {
		r.Tune.Bars = append(r.Tune.Bars, bar+1)
		start := sounding * unit.Milliseconds(bar) / 8
		r.Tune.Excerpt.Bars = append(r.Tune.Excerpt.Bars, project.BarView{Number: bar + 1, StartMs: start, EndMs: start + sounding/8})
	}
	const notes = 101
	for i := range notes {
		at := sounding * unit.Milliseconds(i) / notes
		tooth := 1 + (i*5+i/7*3)%len(pitches)
		id := "n" + itoa(i+1)
		bar, beat := 1+i*8/notes, 1+math.Mod(float64(i)*32/notes, 4)
		pitch := pitches[tooth-1]
		n := arrange.Note{ID: id, OnsetMs: at, Pitch: pitch, Name: pitch.String(), Part: "t2c1", Role: arrange.Lead, Value: 10, Bar: bar, Beat: math.Floor(beat*2) / 2}
		pluck := project.Pluck{Note: id, Tooth: tooth, Pitch: pitch, TimeMs: at, Value: 10}
		switch i {
		case 20, 50, 77:
			n.Pitch = 66 + unit.Pitch(i/2)
			n.Name = n.Pitch.String()
			r.Tune.Notes = append(r.Tune.Notes, n)
			r.Arrangement.Dropped = append(r.Arrangement.Dropped, project.Dropped{Note: id, Reason: phrase.Text("no tooth has " + n.Name + ", and none is worth cutting for it")})
			r.Findings = append(r.Findings, arrange.Finding{
				ID: "off-comb:" + id, Kind: arrange.OffComb, Notes: []string{id}, Bar: bar, Beat: n.Beat, Text: phrase.Text(n.Name + " is left out: no tooth has it, and none is worth cutting for it."),
				Remedies: []arrange.Remedy{{Label: phrase.Text("Cut a tooth for " + n.Name), Effect: phrase.Text("one tooth more"), ValueChange: 10, Clears: []string{"off-comb:" + id}, Decision: arrange.Decision{Kind: arrange.Change, Setup: []byte(`{"comb":{"teeth":17}}`)}}},
			})
			continue
		case 30, 31:
			pluck.Octaves, pluck.Value = 1, 6
			one := 1
			r.Findings = append(r.Findings, arrange.Finding{
				ID: "moved:" + id, Kind: arrange.Moved, Notes: []string{id}, Teeth: []int{tooth}, Bar: bar, Beat: n.Beat, Text: phrase.Text(n.Name + " plays one octave up: no tooth has it lower."),
				Remedies: []arrange.Remedy{{Label: phrase.Text("Leave this note out"), Effect: phrase.Text("the tooth rings longer"), ValueChange: -6, Clears: []string{"moved:" + id}, Decision: arrange.Decision{Kind: arrange.LeaveOut, Note: id}},
					{Label: phrase.Text("Keep it here"), ValueChange: 0, Decision: arrange.Decision{Kind: arrange.Octave, Note: id, Octaves: &one}}},
			})
		case 44:
			pluck.Locked, pluck.ShiftMs = true, 12
			ms := 12.0
			r.Decisions = append(r.Decisions, project.DecisionView{Decision: arrange.Decision{Kind: arrange.Shift, Note: id, Ms: &ms}, Text: phrase.Text(n.Name + " in bar 4 shifted 12 ms later")})
		case 60:
			tooth = r.Arrangement.Plucks[len(r.Arrangement.Plucks)-1].Tooth
			pluck.Tooth, pluck.Pitch = tooth, pitches[tooth-1]
			angle := unit.Degrees(220.2)
			r.Findings = append([]arrange.Finding{{
				ID: "repeat:" + id, Kind: arrange.Repeat, Blocks: true, Notes: []string{r.Arrangement.Plucks[len(r.Arrangement.Plucks)-1].Note, id}, Teeth: []int{tooth},
				Bar: bar, Beat: n.Beat, AngleDeg: &angle, Have: &arrange.Amount{Value: 137, Unit: "ms"}, Need: &arrange.Amount{Value: 226, Unit: "ms"}, GovernedBy: "damper",
				Text: phrase.Text(pluck.Pitch.String() + " comes again after 137 ms. This tooth needs 226 ms; its damper governs."),
				Remedies: []arrange.Remedy{
					{Label: phrase.Text("Leave this note out"), Effect: phrase.Text("the tooth rings on"), ValueChange: -10, Clears: []string{"repeat:" + id}, Decision: arrange.Decision{Kind: arrange.LeaveOut, Note: id}},
					{Label: phrase.Text("Use the twin tooth"), Effect: phrase.Text("the second " + pluck.Pitch.String() + " plucks it"), Clears: []string{"repeat:" + id}, Decision: arrange.Decision{Kind: arrange.Place, Note: id, Tooth: 7}},
				},
			}}, r.Findings...)
		}
		r.Tune.Notes = append(r.Tune.Notes, n)
		r.Arrangement.Plucks = append(r.Arrangement.Plucks, pluck)
		angle := 9 + 360*float64((at+pluck.ShiftMs)/turn)
		r.Comb.Teeth[tooth-1].Plucks++
		r.Pins = append(r.Pins, pinmap.Pin{
			Pin: len(r.Pins) + 1, Tooth: tooth, Note: id, AngleDeg: unit.Degrees(angle), ArcMm: unit.Millimetres(angle / 360 * math.Pi * 13),
			AxialMm: unit.Millimetres(1.5 + float64(tooth-1)), TimeMs: at + pluck.ShiftMs, Bar: bar, Beat: n.Beat,
		})
	}
	r.Arrangement.Objective, r.Arrangement.Bound, r.Arrangement.TotalValue, r.Arrangement.Proven = 972, 972, 1010, true
	r.CanUndo = true
	return r
}

func model() ProjectModel {
	return ProjectModel{
		Result: result(), Revision: 4, PageURL: "/e/SECRET", DecideURL: "/e/SECRET/decisions", EditURL: "http://127.0.0.1/e/SECRET", ViewURL: "http://127.0.0.1/v/LOOK", RedoText: "",
		Files: files("/e/SECRET/files/"),
	}
}

func files(at string) []File {
	list := []File{{Name: "drill-map.html", URL: at + "drill-map.html", Open: true}}
	for _, name := range []string{"holes.csv", "comb.csv", "project.json"} {
		list = append(list, File{Name: name, URL: at + name})
	}
	return list
}
