package bench

import (
	"bytes"
	"context"
	"testing"

	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"
	"pgregory.net/rapid"

	"pinwright/arrange/tune"
	"pinwright/pinmap"
	"pinwright/pinmap/project"
)

// TestDerived writes the files of results that are derived from generated tunes, and finds each pin on the map.
func TestDerived(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var track smf.Track
		n := rapid.IntRange(1, 40).Draw(t, "notes")
		for range n {
			key := rapid.Uint8Range(48, 96).Draw(t, "key")
			track.Add(rapid.Uint32Range(0, 480).Draw(t, "rest"), midi.NoteOn(0, key, 90))
			track.Add(120, midi.NoteOff(0, key))
		}
		track.Close(0)
		score := smf.New()
		score.TimeFormat = smf.MetricTicks(480)
		if err := score.Add(track); err != nil {
			t.Fatal(err)
		}
		data, err := score.Bytes()
		if err != nil {
			t.Fatal(err)
		}
		read, err := tune.Read(data, tune.DefaultLimits)
		if err != nil {
			t.Fatal(err)
		}
		setup := project.DefaultSetup()
		setup.Cylinder.BassEnd = rapid.SampledFrom([]pinmap.Side{pinmap.Left, pinmap.Right}).Draw(t, "bassEnd")
		r, err := project.Derive(context.Background(), read, setup, nil, project.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range Names() {
			switch name {
			case "audition.wav", "drill-map.pdf", zipName:
				continue // these take longest by far, and have laws of their own
			}
			maker, _ := File(name)
			var b bytes.Buffer
			if err := maker.Write(&b, Job{Result: r, Tune: data, Setup: setup}); err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			if name == "drill-map.html" {
				m := readMap(t, b.String())
				if len(m.sheets) != 1 {
					t.Fatalf("the compact cylinder takes %d sheets, want 1", len(m.sheets))
				}
				checkTiles(t, r, planSheets(Job{Result: r}, A4, judge(r).height(), rect{}), m)
			}
		}
	})
}
