package project

import (
	"context"
	"fmt"
	"testing"

	"pinwright/arrange"
	"pinwright/arrange/tune"
	"pinwright/arrange/tune/tunetest"
	"pinwright/arrange/unit"
)

// BenchmarkAround measures what is derived around the solution, also where most notes are left out, where teeth or holes crowd, and
// where thousands are decided on. ns/note is to stay about what it is at 1 000 notes; a quadratic loop would make it eight times as
// much. (Where teeth crowd, the larger case has findings of a second kind: its holes meet as well.)
func BenchmarkAround(b *testing.B) {
	rich := DefaultSetup()
	rich.Tempo.Mode, rich.Transpose, rich.Drive.GreatWheelRpm = "written", Transpose{}, 0.005
	rich.Cylinder.DiameterMm, rich.Cylinder.GapDeg, rich.Comb.Mode = 400, 0, "fixed"
	poor := rich
	poor.Comb.Pitches = []unit.NoteName{48, 48, 60}
	for p := unit.NoteName(48); p < 96; p++ {
		rich.Comb.Pitches = append(rich.Comb.Pitches, p, p, p)
	}
	crowded := rich
	crowded.Cylinder.DiameterMm, crowded.Cylinder.ToothSpacingMm, crowded.Limits.MaxTogether, crowded.Limits.TogetherMs = 40, 0.3, 1, 200
	for _, row := range []struct {
		name   string
		setup  Setup
		decide func(n int) arrange.Decision // on note n, every fourth
	}{
		{"most notes played", rich, nil},
		{"most notes left out", poor, nil},
		{"teeth crowded, holes too at 8 000", crowded, nil},
		{"notes left out by decision", rich, func(n int) arrange.Decision {
			return arrange.Decision{Kind: arrange.LeaveOut, Note: fmt.Sprint("n", n)}
		}},
		{"decisions that contradict each other", rich, func(n int) arrange.Decision {
			o := n / 4 % 2
			return arrange.Decision{Kind: arrange.Octave, Note: fmt.Sprint("n", 1+n/8*8), Octaves: &o}
		}},
		{"decisions on notes that are not there", rich, func(n int) arrange.Decision {
			return arrange.Decision{Kind: arrange.LeaveOut, Note: fmt.Sprint("x", n)}
		}},
	} {
		for _, n := range []int{1000, 8000} {
			b.Run(fmt.Sprintf("%s/%d", row.name, n), func(b *testing.B) { around(b, row.setup, row.decide, n) })
		}
	}
}

// around measures everything but the solution, for n notes.
func around(b *testing.B, setup Setup, decide func(int) arrange.Decision, n int) {
	var events [][]byte
	for i := range n {
		events = append(events, tunetest.Note(0, 1, byte(48+(i*5+i/7)%48), 24))
	}
	tn, err := tune.Read(tunetest.File(96, tunetest.Track(events...)), tune.DefaultLimits)
	if err != nil {
		b.Fatal(err)
	}
	var log []arrange.Decision
	for i := 1; decide != nil && i <= n; i += 4 {
		log = append(log, decide(i))
	}
	d, err := derive(context.Background(), tn, setup, log, arrange.NewExact(), nil)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		solution := d.solution
		d = &derivation{tune: tn, base: setup, done: log}
		if err := d.state(nil); err != nil {
			b.Fatal(err)
		}
		d.solution = solution
		d.lay()
		d.view()
		for _, f := range d.found {
			d.offers(f)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/note")
}
