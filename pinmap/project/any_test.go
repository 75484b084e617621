package project_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"pgregory.net/rapid"

	"pinwright/arrange"
	"pinwright/arrange/tune"
	. "pinwright/arrange/tune/tunetest"
	"pinwright/arrange/unit"
	"pinwright/pinmap"
	"pinwright/pinmap/project"
)

// fataler is what a test and a generated case have in common.
type fataler interface {
	Helper()
	Fatalf(string, ...any)
}

func read(t fataler, data []byte) *tune.Tune {
	t.Helper()
	tn, err := tune.Read(data, tune.DefaultLimits)
	if err != nil {
		t.Fatalf("the tune cannot be read: %v", err)
	}
	return tn
}

func parse(t fataler, setup string) project.Setup {
	t.Helper()
	s, err := project.ParseSetup([]byte(setup))
	if err != nil {
		t.Fatalf("the setup %s cannot be used: %v", setup, err)
	}
	return s
}

// patience is how long any result of a small tune may take on a busy machine; a solver that runs away is a failure, not a wait.
const patience = 40 * time.Second

func derive(t fataler, tn *tune.Tune, s project.Setup, log []arrange.Decision, remedies bool) *project.Result {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	r, err := project.Derive(ctx, tn, s, log, project.Options{Remedies: remedies})
	if err != nil {
		t.Fatalf("derive: %v", err)
	}
	return r
}

func decide(t fataler, decisions ...string) []arrange.Decision {
	t.Helper()
	var all []arrange.Decision
	for _, line := range decisions {
		d, err := project.ParseDecision([]byte(line))
		if err != nil {
			t.Fatalf("the decision %s cannot be read: %v", line, err)
		}
		all = append(all, d)
	}
	return all
}

// played is a note of a test's tune, in ticks of 96 a quarter note.
type played struct {
	at    int
	pitch byte
}

// melody writes a tune of one part with 96 ticks a quarter note, at 120 quarter notes a minute.
func melody(notes ...played) []byte {
	slices.SortStableFunc(notes, func(a, b played) int { return a.at - b.at })
	var events [][]byte
	now := 0
	for _, n := range notes {
		events = append(events, On(n.at-now, 1, n.pitch, 80))
		now = n.at
	}
	for i, n := range notes {
		events = append(events, Off(map[bool]int{true: 24}[i == 0], 1, n.pitch))
	}
	return File(96, Track(events...))
}

// anyTune draws a tune of up to three parts with chords, fast repeats, changes of meter and tempo, and now and then a drum.
func anyTune(t *rapid.T) []byte {
	head := [][]byte{Tempo(0, rapid.IntRange(200_000, 900_000).Draw(t, "tempo"))}
	if rapid.Bool().Draw(t, "pick-up") {
		head = append(head, Meter(0, 1, 2), Meter(96, 3, 2))
	}
	if rapid.Bool().Draw(t, "tempo changes") {
		head = append(head, Tempo(300, 400_000), Meter(84, 5, 3))
	}
	tracks := [][]byte{Track(head...)}
	for part := range rapid.IntRange(1, 3).Draw(t, "parts") {
		channel := part + 1
		if part > 0 && rapid.IntRange(0, 5).Draw(t, "drum") == 0 {
			channel = 10
		}
		low := rapid.IntRange(40, 80).Draw(t, "low")
		var events [][]byte
		for range rapid.IntRange(1, 24).Draw(t, "notes") {
			pitch := byte(low + rapid.SampledFrom([]int{0, 0, 0, 2, 4, 7, 12, 12, 24, 31}).Draw(t, "step"))
			rest := rapid.SampledFrom([]int{0, 0, 1, 2, 6, 12, 24, 48, 48, 96, 200}).Draw(t, "rest")
			events = append(events, On(rest, channel, pitch, 80), Off(rapid.SampledFrom([]int{0, 6, 24}).Draw(t, "length"), channel, pitch))
		}
		tracks = append(tracks, Track(events...))
	}
	return File(96, tracks...)
}

// anySetup draws the JSON of a setup that suits the tune.
func anySetup(t *rapid.T, tn *tune.Tune) []byte {
	s := map[string]any{}
	may := func(name string) bool { return rapid.IntRange(0, 2).Draw(t, name) == 0 }
	comb := map[string]any{"maxTwins": rapid.IntRange(1, 3).Draw(t, "maxTwins")}
	switch rapid.IntRange(0, 2).Draw(t, "comb") {
	case 0:
		comb["teeth"] = rapid.IntRange(1, 20).Draw(t, "teeth")
		comb["low"], comb["high"] = rapid.IntRange(40, 72).Draw(t, "lowest"), rapid.IntRange(72, 100).Draw(t, "highest")
	case 1:
		comb["mode"], comb["maxTwins"] = "fixed", 12
		comb["pitches"] = rapid.SliceOfN(rapid.IntRange(55, 90), 1, 12).Draw(t, "pitches")
	}
	if may("recovery") {
		comb["recoveryMs"] = map[string]any{"C5": 400, "E5": 30, "G5": rapid.IntRange(1, 900).Draw(t, "recoveryMs")}
	}
	if may("damping") {
		comb["dampingCycles"], comb["leastRingMs"] = rapid.IntRange(0, 60).Draw(t, "cycles"), rapid.IntRange(0, 200).Draw(t, "leastRingMs")
	}
	if may("ring") {
		comb["qualityFactor"] = rapid.IntRange(50, 20_000).Draw(t, "qualityFactor")
	}
	s["comb"] = comb
	if may("cylinder") {
		s["cylinder"] = map[string]any{"lengthMm": rapid.SampledFrom([]float64{0, 4, 60}).Draw(t, "length at hand"),
			"gapDeg":     rapid.SampledFrom([]float64{0, 0, 6, 18, 90, 340.5}).Draw(t, "gapDeg"),
			"diameterMm": rapid.SampledFrom([]float64{6, 13, 30.25}).Draw(t, "diameterMm"), "toothSpacingMm": rapid.SampledFrom([]float64{0.4, 0.55, 1.2}).Draw(t, "toothSpacingMm")}
	}
	tempo := map[string]any{"mode": rapid.SampledFrom([]string{"fill", "written"}).Draw(t, "mode")}
	if may("revolution") {
		tempo["revolutionMs"] = rapid.SampledFrom([]float64{400, 1000, 2500.5, 6000, 30_000}).Draw(t, "revolutionMs")
	}
	s["tempo"] = tempo
	if may("key") {
		x := rapid.IntRange(-12, 12).Draw(t, "x")
		s["transpose"] = map[string]any{"min": x, "max": x + rapid.SampledFrom([]int{0, 0, 3}).Draw(t, "more")}
	}
	if may("part roles") {
		part := tn.Parts[rapid.IntRange(0, len(tn.Parts)-1).Draw(t, "part")]
		roles := []string{"lead", "bass", "fill", "off"}
		s["parts"] = []any{map[string]any{"id": part.ID, "role": rapid.SampledFrom(roles).Draw(t, "role")}}
	}
	if may("excerpt") {
		from := rapid.IntRange(0, len(tn.Bars)-1).Draw(t, "from")
		to := rapid.IntRange(from, len(tn.Bars)-1).Draw(t, "to")
		s["excerpt"] = map[string]any{"fromBar": tn.Bars[from].Number, "toBar": tn.Bars[to].Number}
	}
	if may("limits") {
		s["limits"] = map[string]any{"maxTogether": rapid.IntRange(1, 6).Draw(t, "maxTogether"), "togetherMs": rapid.SampledFrom([]int{0, 30, 500}).Draw(t, "togetherMs"),
			"shiftMs": rapid.SampledFrom([]int{0, 25, 300}).Draw(t, "shiftMs")}
	}
	if may("bench") {
		s["bench"] = map[string]any{"method": rapid.SampledFrom(pinmap.Methods()).Draw(t, "method"), "wheelDivisions": rapid.SampledFrom([]int{24, 100, 360}).Draw(t, "divisions"),
			"leastDeg": rapid.SampledFrom([]float64{0.1, 3}).Draw(t, "leastDeg"), "mostRisk": rapid.SampledFrom([]float64{0, 0.01, 0.5}).Draw(t, "mostRisk"),
			"sigmaMm": rapid.SampledFrom([]float64{0, 0.01, 1}).Draw(t, "σ")}
	}
	data, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// anyStep draws a plain decision: about notes in and out of the excerpt, sensible or not.
func anyStep(t *rapid.T, tn *tune.Tune, setup project.Setup) arrange.Decision {
	d := arrange.Decision{Note: fmt.Sprint("n", 1+rapid.IntRange(0, min(len(tn.Notes), 9)).Draw(t, "note"))}
	switch rapid.IntRange(0, 11).Draw(t, "kind") {
	case 10, 11:
		return anyWriting(t, tn, 2)
	case 0, 1, 2:
		o := rapid.IntRange(-2, 2).Draw(t, "octaves")
		d.Kind, d.Octaves = arrange.Octave, &o
	case 3, 4:
		p := unit.NoteName(rapid.IntRange(55, 90).Draw(t, "pitch"))
		if setup.Comb.Mode == "fixed" {
			p = rapid.SampledFrom(setup.Comb.Pitches).Draw(t, "pitch on the comb")
		}
		d.Kind, d.Pitch, d.Twin = arrange.Place, &p, rapid.IntRange(0, 2).Draw(t, "twin")
	case 5:
		d.Kind = arrange.LeaveOut
	case 6, 7:
		ms := rapid.SampledFrom([]float64{-25, -10, 0, 7.5, 25, 300}).Draw(t, "ms")
		d.Kind, d.Ms = arrange.Shift, &ms
	case 8:
		d.Kind = arrange.Release
	case 9:
		change := rapid.SampledFrom([]string{`{"cylinder":{"gapDeg":0}}`, `{"comb":{"teeth":3}}`, `{"transpose":{"min":-3,"max":3}}`, `{"limits":{"shiftMs":10}}`,
			`{"tempo":{"revolutionMs":3000}}`, `{"comb":{"leastRingMs":300}}`, `{"comb":{"mode":"cut","low":"C5","high":"C6"}}`, `{"parts":[]}`, `{"excerpt":null}`}).Draw(t, "change")
		d = arrange.Decision{Kind: arrange.Change, Setup: json.RawMessage(change)}
	}
	return d
}

// anyLog draws a log of decisions, undo and redo among them, that may contradict each other.
func anyLog(t *rapid.T, tn *tune.Tune, setup project.Setup) []arrange.Decision {
	var log []arrange.Decision
	for range rapid.IntRange(0, 8).Draw(t, "decisions") {
		switch rapid.IntRange(0, 9).Draw(t, "step") {
		case 0:
			log = append(log, arrange.Decision{Kind: arrange.Undo})
		case 1:
			log = append(log, arrange.Decision{Kind: arrange.Redo})
		case 2:
			var parts []arrange.Decision
			for range rapid.IntRange(1, 4).Draw(t, "parts of one") {
				parts = append(parts, anyStep(t, tn, setup))
			}
			log = append(log, arrange.Decision{Kind: arrange.Several, Decisions: parts})
		default:
			log = append(log, anyStep(t, tn, setup))
		}
	}
	return log
}

// anyCase draws a tune with a setup and a log that give a result.
func anyCase(t *rapid.T) (*tune.Tune, project.Setup, []arrange.Decision) {
	tn := read(t, anyTune(t))
	data := anySetup(t, tn)
	s := parse(t, string(data))
	log := anyLog(t, tn, s)
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	if _, err := project.Derive(ctx, tn, s, log, project.Options{}); err != nil {
		var field *project.FieldError
		if !errors.As(err, &field) {
			t.Fatalf("the error %v is not about a field", err)
		}
		t.Skip(err.Error()) // an excerpt in which nothing sounds, and the like
	}
	return tn, s, log
}

func toJSON(t fataler, v any) string {
	t.Helper()
	data, err := json.Marshal(v)
	if err != nil {
		t.Fatalf("marshal: %v", err)
	}
	return string(data)
}

// find gives the finding of an id.
func find(r *project.Result, id string) *arrange.Finding {
	i := slices.IndexFunc(r.Findings, func(f arrange.Finding) bool { return f.ID == id })
	if i < 0 {
		return nil
	}
	return &r.Findings[i]
}

func ids(r *project.Result) []string {
	all := make([]string, len(r.Findings))
	for i, f := range r.Findings {
		all[i] = f.ID
	}
	return all
}

// melodyInThree writes C5 D5 E5 G5 in bar 1, nothing in bar 2 and G5 in bar 3, which is a 64th long at 240 quarter notes a minute.
func melodyInThree() []byte {
	return File(96, Track(Tempo(0, 250_000), Note(0, 1, 72, 48), Note(48, 1, 74, 48), Note(48, 1, 76, 48), Note(48, 1, 79, 48),
		Meter(48+384, 1, 6), Note(0, 1, 79, 3)))
}

// givenComb is a setup with the comb C5 D5 E5 G5 G5 and the written key.
func givenComb(t fataler) project.Setup {
	return parse(t, `{"comb": {"mode": "fixed", "pitches": ["C5", "D5", "E5", "G5", "G5"]}, "transpose": {"min": 0, "max": 0}}`)
}
