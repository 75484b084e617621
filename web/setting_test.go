package web

import (
	"cmp"
	"errors"
	"net/url"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange"
	"pinwright/arrange/unit"
	"pinwright/pinmap"
	"pinwright/pinmap/project"
)

// anySetup draws a setup with every field set to something that its form can hold.
func anySetup(t *rapid.T) project.Setup {
	number := func(name string) float64 { return unit.Round(rapid.Float64Range(-500, 500).Draw(t, name)) }
	note := rapid.Custom(func(t *rapid.T) unit.NoteName { return unit.NoteName(rapid.IntRange(0, 127).Draw(t, "note")) })
	s := project.Setup{
		Title:     rapid.StringMatching(`[a-zA-Zäß<>&" ]{0,3}x?`).Filter(func(s string) bool { return s == "" || s[len(s)-1] == 'x' && s[0] != ' ' }).Draw(t, "title"),
		Date:      rapid.SampledFrom([]string{"", "2024-02-29"}).Draw(t, "date"),
		Tempo:     project.Tempo{Mode: rapid.SampledFrom([]string{"fill", "written"}).Draw(t, "mode"), RevolutionMs: unit.Milliseconds(number("T"))},
		Transpose: project.Transpose{Min: rapid.IntRange(-24, 0).Draw(t, "min"), Max: rapid.IntRange(0, 24).Draw(t, "max")},
		Comb: project.Comb{
			Mode: rapid.SampledFrom([]string{"cut", "fixed"}).Draw(t, "comb"), Teeth: rapid.IntRange(1, 200).Draw(t, "teeth"),
			Low: note.Draw(t, "low"), High: note.Draw(t, "high"), MaxTwins: rapid.IntRange(1, 9).Draw(t, "twins"),
			Pitches:       rapid.SliceOfN(note, 0, 4).Draw(t, "pitches"),
			DampingCycles: number("cycles"), LeastRingMs: unit.Milliseconds(number("ring")), QualityFactor: number("Q"),
			RecoveryMs: rapid.MapOfN(note, rapid.Just(unit.Milliseconds(250.5)), 0, 3).Draw(t, "recovery"),
		},
		Cylinder: pinmap.Cylinder{
			DiameterMm: unit.Millimetres(number("D")), PinProjectionMm: unit.Millimetres(number("h")), PinDiameterMm: unit.Millimetres(number("d")),
			HoleWebMm: unit.Millimetres(number("w")), LiftMm: unit.Millimetres(number("lift")), ToothSpacingMm: unit.Millimetres(number("s")),
			FirstTrackMm: unit.Millimetres(number("z")), GapDeg: unit.Degrees(number("g")), HoleDepthMm: unit.Millimetres(number("depth")),
			PaperMm: unit.Millimetres(number("p")), BassEnd: rapid.SampledFrom([]pinmap.Side{pinmap.Left, pinmap.Right}).Draw(t, "end"),
			Turns: rapid.SampledFrom([]pinmap.Turn{pinmap.Up, pinmap.Down}).Draw(t, "turns"),
		},
		Limits: project.Limits{ShiftMs: unit.Milliseconds(number("shift")), MaxTogether: rapid.IntRange(1, 9).Draw(t, "together"), TogetherMs: unit.Milliseconds(number("ms"))},
	}
	s.Cylinder.LengthMm = unit.Millimetres(number("length"))
	s.Bench = pinmap.Bench{
		Method: rapid.SampledFrom(pinmap.Methods()).Draw(t, "method"), LeastDeg: unit.Degrees(number("degrees")), LeastSec: number("seconds"),
		HeadRatio: rapid.IntRange(1, 90).Draw(t, "head"), HeadCircles: rapid.SliceOfN(rapid.IntRange(1, 60), 0, 4).Draw(t, "circles"),
		WheelDivisions: rapid.IntRange(1, 999).Draw(t, "divisions"), MotorSteps: rapid.IntRange(1, 3200).Draw(t, "steps"), MotorRatio: number("ratio"),
		LeastMm: unit.Millimetres(number("vernier")), SigmaMm: unit.Millimetres(number("sigma")), MostRisk: number("risk"),
		Material: rapid.SampledFrom(pinmap.Materials()).Draw(t, "material"), MostRpm: unit.Rpm(number("most")), SpindleRpm: unit.Rpm(number("spindle")),
		FeedMmPerMin: number("feed"), PeckMm: unit.Millimetres(number("peck")), ClearMm: unit.Millimetres(number("clear")), BoreMm: unit.Millimetres(number("bore")),
		PinShape: rapid.SampledFrom([]pinmap.PinShape{pinmap.Cone, pinmap.Round}).Draw(t, "shape"),
	}
	s.Drive.GreatWheelRpm = unit.Rpm(number("rpm"))
	s.Drive.Stages = rapid.SliceOfN(rapid.Just(2.75), 0, 4).Draw(t, "stages")
	s.Drive.CylinderStage = rapid.IntRange(0, 4).Draw(t, "stage")
	if rapid.Bool().Draw(t, "chosen") {
		s.Excerpt = &project.Excerpt{FromBar: rapid.IntRange(0, 4).Draw(t, "from"), ToBar: rapid.IntRange(4, 9).Draw(t, "to")}
	}
	for _, id := range []string{"t1c1", "t2c10"} {
		if role := rapid.SampledFrom(roleChoices).Draw(t, id); role != automatic {
			s.Parts = append(s.Parts, project.PartRole{ID: id, Role: arrange.Role(role)})
		}
	}
	return s
}

// wholeForm is the form of every field, with a role for each of the two parts.
func wholeForm(s project.Setup) url.Values {
	form := url.Values{"part.t1c1": {automatic}, "part.t2c10": {automatic}}
	for name, values := range formValues(s) {
		form[name] = values
	}
	return form
}

func TestAFormThatChangesNothingGivesNoChange(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anySetup(t)
		change, err := SetupChange(wholeForm(s), s)
		if err != nil || change != nil {
			t.Fatalf("got %s, %v; the form holds what the setup holds", change, err)
		}
	})
}

func TestAChangeLaidOverTheSetupGivesTheSetupOfTheForm(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from, to := usable(t), usable(t)
		change, err := SetupChange(wholeForm(to), from)
		if err != nil {
			t.Fatal(err)
		}
		got := from
		if change != nil {
			if got, err = from.With(change); err != nil {
				t.Fatal(err)
			}
		}
		byID := func(a, b project.PartRole) int { return cmp.Compare(a.ID, b.ID) }
		slices.SortFunc(got.Parts, byID)
		slices.SortFunc(to.Parts, byID)
		if got, want := jsonOf(got), jsonOf(to); !reflect.DeepEqual(got, want) {
			t.Fatalf("got %v\nwant %v", got, want)
		}
	})
}

// usable draws a setup that a project can have.
func usable(t *rapid.T) project.Setup {
	drawn := anySetup(t)
	s := project.DefaultSetup()
	s.Title, s.Date, s.Excerpt, s.Tempo.Mode = drawn.Title, drawn.Date, drawn.Excerpt, drawn.Tempo.Mode
	s.Comb.RecoveryMs, s.Comb.Pitches, s.Comb.MaxTwins, s.Comb.Teeth = drawn.Comb.RecoveryMs, drawn.Comb.Pitches, drawn.Comb.MaxTwins, drawn.Comb.Teeth%100+1
	s.Transpose, s.Cylinder.BassEnd, s.Cylinder.Turns = drawn.Transpose, drawn.Cylinder.BassEnd, drawn.Cylinder.Turns
	s.Cylinder.DiameterMm = unit.Millimetres(unit.Round(rapid.Float64Range(12, 400).Draw(t, "D")))
	s.Cylinder.GapDeg = unit.Degrees(unit.Round(rapid.Float64Range(0, 350).Draw(t, "g")))
	s.Drive.Stages = rapid.SliceOfN(rapid.Float64Range(1, 9), 1, 4).Draw(t, "ratios")
	for i := range s.Drive.Stages {
		s.Drive.Stages[i] = unit.Round(s.Drive.Stages[i])
	}
	s.Drive.CylinderStage = rapid.IntRange(0, 1).Draw(t, "stage")
	s.Parts = append([]project.PartRole{}, drawn.Parts...)
	return s
}

// sample is a setup with a few fields set.
func sample() project.Setup {
	s := project.Setup{Comb: project.Comb{Mode: "cut", Teeth: 18, Low: 60, High: 96, RecoveryMs: map[unit.NoteName]unit.Milliseconds{76: 230}}}
	s.Cylinder.DiameterMm = 13
	s.Drive.Stages = []float64{2.75, 24}
	s.Parts = []project.PartRole{{ID: "t1c1", Role: arrange.Lead}}
	s.Excerpt = &project.Excerpt{FromBar: 1, ToBar: 8}
	return s
}

func TestSetupChange(t *testing.T) {
	for _, test := range []struct{ name, form, want string }{
		{"one number", "cylinder.diameterMm=13.5", `{"cylinder":{"diameterMm":13.5}}`},
		{"the same number in other digits", "cylinder.diameterMm=13.00", ``},
		{"two sections", "cylinder.gapDeg=20&comb.teeth=20", `{"comb":{"teeth":20},"cylinder":{"gapDeg":20}}`},
		{"a note in another spelling", "comb.low=B%233&comb.high=b6", `{"comb":{"high":"B6"}}`},
		{"a list of notes", "comb.pitches=C5,+d5%0D%0Ae5%3BF%235", `{"comb":{"pitches":["C5","D5","E5","F#5"]}}`},
		{"measured recoveries", "comb.recoveryMs=C5+250%0D%0Ad5%3A+240.5%0D%0AE5+230", `{"comb":{"recoveryMs":{"C5":250,"D5":240.5}}}`},
		{"a measured recovery taken back", "comb.recoveryMs=D5+300", `{"comb":{"recoveryMs":{"D5":300,"E5":null}}}`},
		{"stages", "drive.stages=2.75+5.75+6.3+24", `{"drive":{"stages":[2.75,5.75,6.3,24]}}`},
		{"a part made bass", "part.t1c1=bass", `{"parts":[{"id":"t1c1","role":"bass"}]}`},
		{"a part made automatic", "part.t1c1=auto", `{"parts":[]}`},
		{"another part set", "part.t2c3=off", `{"parts":[{"id":"t1c1","role":"lead"},{"id":"t2c3","role":"off"}]}`},
		{"the excerpt", "excerpt.fromBar=0&excerpt.toBar=4", `{"excerpt":{"fromBar":0,"toBar":4}}`},
		{"the excerpt given back", "excerpt.fromBar=&excerpt.toBar=", `{"excerpt":null}`},
		{"no revolution time", "tempo.revolutionMs=", ``},
		{"the title and the date", "title=Harbour+bell&date=2024-05-01", `{"date":"2024-05-01","title":"Harbour bell"}`},
		{"fields of no setup", "revision=4&colour=red", ``},
	} {
		t.Run(test.name, func(t *testing.T) {
			got, err := SetupChange(parse(t, test.form), sample())
			if err != nil {
				t.Fatal(err)
			}
			if string(got) != test.want {
				t.Errorf("got %s, want %s", got, test.want)
			}
		})
	}
}

func TestSetupChangeNamesTheFieldAtFault(t *testing.T) {
	for _, test := range []struct{ name, form, field, pointer string }{
		{"no number", "cylinder.diameterMm=wide", "cylinder.diameterMm", "/cylinder/diameterMm"},
		{"an emptied number", "cylinder.gapDeg=", "cylinder.gapDeg", "/cylinder/gapDeg"},
		{"a decimal comma", "cylinder.gapDeg=13%2C5", "cylinder.gapDeg", "/cylinder/gapDeg"},
		{"not a number", "cylinder.gapDeg=NaN", "cylinder.gapDeg", "/cylinder/gapDeg"},
		{"without end", "cylinder.gapDeg=Inf", "cylinder.gapDeg", "/cylinder/gapDeg"},
		{"too large for a float", "cylinder.gapDeg=1e999", "cylinder.gapDeg", "/cylinder/gapDeg"},
		{"hexadecimal", "cylinder.gapDeg=0x10", "cylinder.gapDeg", "/cylinder/gapDeg"},
		{"half a tooth", "comb.teeth=17.5", "comb.teeth", "/comb/teeth"},
		{"no note", "comb.low=H4", "comb.low", "/comb/low"},
		{"a note off the scale in a list", "comb.pitches=C5+G99", "comb.pitches", "/comb/pitches"},
		{"a recovery without ms", "comb.recoveryMs=C5", "comb.recoveryMs", "/comb/recoveryMs"},
		{"a recovery of no note", "comb.recoveryMs=X5+250", "comb.recoveryMs", "/comb/recoveryMs"},
		{"a recovery of no number", "comb.recoveryMs=C5+long", "comb.recoveryMs", "/comb/recoveryMs"},
		{"a stage that is no number", "drive.stages=2.75+fast", "drive.stages", "/drive/stages"},
		{"one bar of two", "excerpt.fromBar=3&excerpt.toBar=", "excerpt.toBar", "/excerpt/toBar"},
		{"no bar", "excerpt.fromBar=first&excerpt.toBar=4", "excerpt.fromBar", "/excerpt/fromBar"},
		{"no role", "part.t1c1=solo", "part.t1c1", "/parts"},
	} {
		t.Run(test.name, func(t *testing.T) {
			_, err := SetupChange(parse(t, test.form), sample())
			var field *FieldError
			if !errors.As(err, &field) {
				t.Fatalf("got %v, want a FieldError", err)
			}
			if field.Field != test.field || field.Pointer() != test.pointer || field.Message.Empty() {
				t.Errorf("got %q at %q: %q; want %q at %q", field.Field, field.Pointer(), field.Message, test.field, test.pointer)
			}
		})
	}
}

func parse(t *testing.T, form string) url.Values {
	t.Helper()
	values, err := url.ParseQuery(form)
	if err != nil {
		t.Fatal(err)
	}
	return values
}
