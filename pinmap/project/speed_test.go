package project_test

import (
	"context"
	"testing"

	"pinwright/fixtures"
	"pinwright/pinmap/project"
)

// plain writes a tune of n notes, four in a quarter note, over 48 pitches.
func plain(n int) []byte {
	notes := make([]played, n)
	for i := range notes {
		notes[i] = played{i * 24, byte(48 + (i*5+i/7)%48)}
	}
	return melody(notes...)
}

func BenchmarkDerive(b *testing.B) {
	demo := parse(b, string(fixtures.DemoSetup))
	for _, row := range []struct {
		name  string
		tune  []byte
		setup project.Setup
	}{
		{"demo", fixtures.DemoTune, demo},
		{"400 notes", plain(400), parse(b, `{"excerpt": {"fromBar": 1, "toBar": 25}, "tempo": {"revolutionMs": 60000}}`)},
		{"20 000 notes", plain(20_000), longComb(b)},
	} {
		tn := read(b, row.tune)
		b.Run(row.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := project.Derive(context.Background(), tn, row.setup, nil, project.Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// longComb is a comb of 144 teeth, three of each of 48 pitches, on a cylinder that turns slowly enough for the longest tune here.
func longComb(t fataler) project.Setup {
	var pitches []int
	for p := 48; p < 96; p++ {
		pitches = append(pitches, p, p, p)
	}
	return parse(t, `{"tempo": {"mode": "written"}, "transpose": {"min": 0, "max": 0}, "drive": {"greatWheelRpm": 0.005},
		"comb": {"mode": "fixed", "pitches": `+toJSON(t, pitches)+`}, "cylinder": {"diameterMm": 400, "gapDeg": 0}}`)
}

// TestAllocations keeps what deriving the demo allocates within a ceiling.
func TestAllocations(t *testing.T) {
	tn, s := read(t, fixtures.DemoTune), parse(t, string(fixtures.DemoSetup))
	got := testing.AllocsPerRun(10, func() { derive(t, tn, s, nil, false) })
	t.Logf("%v allocations", got)
	if most := 2000.0; got > most {
		t.Errorf("deriving the demo takes %v allocations, want at most %v", got, most)
	}
}
