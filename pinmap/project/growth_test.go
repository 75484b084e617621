package project

import (
	"context"
	"fmt"
	"slices"
	"testing"
	"time"

	"pinwright/arrange"
	"pinwright/arrange/tune"
	"pinwright/arrange/tune/tunetest"
	"pinwright/arrange/unit"
)

// TestGrowth: what is derived around the solution grows as the notes do, also where most of them are left out and where thousands
// are decided on. Eight times the notes take some eight times as long; a quadratic loop would make it sixty-four. The limit is
// twenty-four, and the best of several runs counts.
func TestGrowth(t *testing.T) {
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
		{"holes and teeth crowded", crowded, nil},
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
		t.Run(row.name, func(t *testing.T) {
			small, large := around(t, row.setup, row.decide, 1000), around(t, row.setup, row.decide, 8000)
			t.Logf("1 000 notes %v, 8 000 notes %v", small, large)
			if large > 24*small {
				t.Errorf("eight times the notes take %v in place of %v", large, small)
			}
		})
	}
}

// around times everything but the solution, for n notes.
func around(t *testing.T, setup Setup, decide func(int) arrange.Decision, n int) time.Duration {
	t.Helper()
	var events [][]byte
	for i := range n {
		events = append(events, tunetest.Note(0, 1, byte(48+(i*5+i/7)%48), 24))
	}
	tn, err := tune.Read(tunetest.File(96, tunetest.Track(events...)), tune.DefaultLimits)
	if err != nil {
		t.Fatal(err)
	}
	var log []arrange.Decision
	for i := 1; decide != nil && i <= n; i += 4 {
		log = append(log, decide(i))
	}
	d, err := derive(context.Background(), tn, setup, log, arrange.NewExact(), nil)
	if err != nil {
		t.Fatal(err)
	}
	roles, err := d.partRoles()
	if err != nil {
		t.Fatal(err)
	}
	var runs []time.Duration
	for range 5 {
		start := time.Now()
		d.notes = arrange.Compose(d.timing.sources(tn, roles))
		d.byID = arrange.ByID(d.notes)
		d.settle()
		d.pose()
		d.index()
		d.result = d.view(roles)
		d.result.Findings = d.findings()
		for _, f := range d.result.Findings {
			d.offers(f)
		}
		runs = append(runs, time.Since(start))
	}
	return slices.Min(runs)
}
