package tune_test

import (
	"bytes"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"pinwright/arrange/tune"
	. "pinwright/arrange/tune/tunetest"
)

// shown gives each note as "part pitch onset-end bar:beat".
func shown(t *tune.Tune) []string {
	var list []string
	for _, n := range t.Notes {
		list = append(list, fmt.Sprintf("%s %v %.6g-%.6g %d:%.6g", t.Parts[n.Part].ID, n.Pitch, float64(n.OnsetMs), float64(n.EndMs), n.Bar, n.Beat))
	}
	return list
}

func mustRead(t *testing.T, data []byte) *tune.Tune {
	t.Helper()
	got, err := tune.Read(data, tune.DefaultLimits)
	if err != nil {
		t.Fatalf("Read: %v", err)
	}
	return got
}

func TestMalformed(t *testing.T) {
	names := map[string]bool{}
	for _, row := range Malformed() {
		t.Run(row.Name, func(t *testing.T) {
			if names[row.Name] {
				t.Error("a second case of this name")
			}
			names[row.Name] = true
			got, err := tune.Read(row.Data, tune.DefaultLimits)
			var refused *tune.Error
			if !errors.As(err, &refused) {
				t.Fatalf("Read = %v, %v; want a *tune.Error", got, err)
			}
			if refused.Fault != row.Fault || !strings.Contains(refused.Message.String(), row.Words) {
				t.Errorf("fault %d: %s\nwant fault %d with %q", refused.Fault, refused.Message, row.Fault, row.Words)
			}
		})
	}
	if len(names) < 60 {
		t.Errorf("%d cases, want at least 60", len(names))
	}
}

func TestLimits(t *testing.T) {
	twoTracks := File(96, Track(Note(0, 1, 60, 96)), Track(Note(0, 2, 62, 96)))
	with := func(change func(*tune.Limits)) tune.Limits {
		l := tune.DefaultLimits
		change(&l)
		return l
	}
	tests := []struct {
		name   string
		limits tune.Limits
		words  string // of the error; empty where the file is read
	}{
		{"the defaults", tune.DefaultLimits, ""},
		{"bytes just enough", with(func(l *tune.Limits) { l.Bytes = len(twoTracks) }), ""},
		{"a byte too many", with(func(l *tune.Limits) { l.Bytes = len(twoTracks) - 1 }), fmt.Sprintf("has %d bytes; at most %d ", len(twoTracks), len(twoTracks)-1)},
		{"events just enough", with(func(l *tune.Limits) { l.Events = 6 }), ""},
		{"an event too many", with(func(l *tune.Limits) { l.Events = 5 }), "more than 5 events"},
		{"tracks just enough", with(func(l *tune.Limits) { l.Tracks = 2 }), ""},
		{"a track too many", with(func(l *tune.Limits) { l.Tracks = 1 }), "2 tracks; at most 1"},
		{"time just enough", with(func(l *tune.Limits) { l.MusicMs = 500 }), ""},
		{"a moment too long", with(func(l *tune.Limits) { l.MusicMs = 499.9 }), "The music lasts 0.0002 hours; at most 0.0002 hours"},
	}
	for _, row := range tests {
		t.Run(row.name, func(t *testing.T) {
			_, err := tune.Read(twoTracks, row.limits)
			var refused *tune.Error
			switch {
			case row.words == "" && err != nil:
				t.Errorf("refused: %v", err)
			case row.words != "" && (!errors.As(err, &refused) || refused.Fault != tune.TooLarge || !strings.Contains(refused.Message.String(), row.words)):
				t.Errorf("error %v, want TooLarge with %q", err, row.words)
			}
		})
	}
}

// Standard MIDI Files 1.0 (RP-001), the appendix with the example: the same music as format 0 and as format 1.
func TestSpecificationExamples(t *testing.T) {
	tests := []struct {
		name, hex string
		want      []string // exact
		programs  []int
	}{
		{
			"format 0",
			"4D546864 00000006 0000 0001 0060 4D54726B 0000003B 00FF580404021808 00FF510307A120 00C005 00C12E 00C246 00923060 003C60 60914340 60904C20 8140823040 003C40 00814340 00804C40 00FF2F00",
			[]string{"t1c3 C3 0-2000 1:1", "t1c3 C4 0-2000 1:1", "t1c2 G4 500-2000 1:2", "t1c1 E5 1000-2000 1:3"},
			[]int{6, 47, 71},
		},
		{
			"format 1",
			"4D546864 00000006 0001 0004 0060 4D54726B 00000014 00FF580404021808 00FF510307A120 8300FF2F00 4D54726B 00000010 00C005 8140904C20 81404C00 00FF2F00 4D54726B 0000000F 00C12E 60914340 82204300 00FF2F00 4D54726B 00000015 00C246 00923060 003C60 83003000 003C00 00FF2F00",
			[]string{"t4c3 C3 0-2000 1:1", "t4c3 C4 0-2000 1:1", "t3c2 G4 500-2000 1:2", "t2c1 E5 1000-2000 1:3"},
			[]int{6, 47, 71},
		},
	}
	for _, row := range tests {
		t.Run(row.name, func(t *testing.T) {
			data, err := hex.DecodeString(strings.ReplaceAll(row.hex, " ", ""))
			if err != nil {
				t.Fatal(err)
			}
			got := mustRead(t, data)
			if !slices.Equal(shown(got), row.want) {
				t.Errorf("notes %q\nwant  %q", shown(got), row.want)
			}
			var programs, velocities []int
			for _, p := range got.Parts {
				programs = append(programs, p.Program)
			}
			for _, n := range got.Notes {
				velocities = append(velocities, int(n.Velocity))
			}
			if !slices.Equal(programs, row.programs) || !slices.Equal(velocities, []int{96, 96, 64, 32}) {
				t.Errorf("programs %v, velocities %v", programs, velocities)
			}
			if len(got.Remarks) > 0 || got.Division.TicksPerQuarter != 96 || len(got.Bars) != 1 || got.Bars[0].EndMs != 2000 {
				t.Errorf("remarks %q, division %v, bars %v", got.Remarks, got.Division, got.Bars)
			}
			if len(got.Tempos) != 1 || got.Tempos[0] != (tune.Tempo{AtMs: 0, BPM: 120}) {
				t.Errorf("tempos %v, want 120 bpm from 0 ms", got.Tempos)
			}
		})
	}
}

func TestParts(t *testing.T) {
	file := File(96,
		Track(Text(0, 3, "A round"), Event(0, 0xC4, 13)),
		Track(Text(0, 4, "Celesta"), Event(0, 0xC2, 8), Note(0, 3, 60, 96), Event(0, 0xC2, 9), Note(0, 3, 64, 96), Note(0, 1, 50, 96)),
		Track(Text(0, 3, "\x00 \x00"), Text(0, 3, "Drums"), Text(0, 3, "Later"), Text(0, 4, "Kit"), Note(0, 10, 36, 96)),
		Track(Text(0, 3, "Empty"), Event(1000, 0xC6, 20)),
		Track(Note(0, 5, 90, 96), Event(404, 0xC6, 21), Event(500, 0xC0, 30)),
		Track(Note(1100, 7, 91, 96)),
	)
	got := mustRead(t, file)
	want := []tune.Part{
		{ID: "t2c1", Name: "Celesta", Track: 2, Channel: 1, Low: 50, High: 50, Notes: 1},
		{ID: "t2c3", Name: "Celesta", Track: 2, Channel: 3, Program: 9, Low: 60, High: 64, Notes: 2},
		{ID: "t3c10", Name: "Drums", Track: 3, Channel: 10, Low: 36, High: 36, Notes: 1, Percussion: true},
		{ID: "t5c5", Track: 5, Channel: 5, Program: 14, Low: 90, High: 90, Notes: 1},
		{ID: "t6c7", Track: 6, Channel: 7, Program: 22, Low: 91, High: 91, Notes: 1},
	}
	if !slices.Equal(got.Parts, want) {
		t.Errorf("parts %+v\nwant  %+v", got.Parts, want)
	}
	if got.Title != "A round" {
		t.Errorf("title %q", got.Title)
	}
	ids := []string{"t3c10 C2 0-500 1:1", "t2c3 C4 0-500 1:1", "t5c5 F#6 0-500 1:1", "t2c3 E4 500-1000 1:2", "t2c1 D3 1000-1500 1:3", "t6c7 G6 5729.17-6229.17 3:4.45833"}
	if !slices.Equal(shown(got), ids) {
		t.Errorf("notes %q\nwant  %q", shown(got), ids)
	}
	for i, n := range got.Notes {
		if n.ID != fmt.Sprintf("n%d", i+1) {
			t.Errorf("note %d is called %q", i, n.ID)
		}
	}
}

// Sequences of format 2 have nothing in common, programs neither.
func TestPartsOfSequences(t *testing.T) {
	got := mustRead(t, Format(2, 96, Track(Event(0, 0xC0, 8), Note(0, 1, 60, 96)), Track(Text(0, 3, "Second"), Note(0, 1, 60, 96))))
	if got.Title != "Second" || got.Parts[0].Program != 9 || got.Parts[1].Program != 0 || got.Parts[1].Name != "Second" {
		t.Errorf("title %q, parts %+v", got.Title, got.Parts)
	}
}

// A tune has more notes than a digit counts; their names are cut from one string.
func TestNoteNames(t *testing.T) {
	got := mustRead(t, File(96, Track(bytes.Repeat(Note(0, 1, 60, 1), 12_345))))
	for i, n := range got.Notes {
		if n.ID != fmt.Sprintf("n%d", i+1) {
			t.Fatalf("note %d is called %q", i, n.ID)
		}
	}
}

func TestReadLeavesInputAlone(t *testing.T) {
	data := RMID("RMID", RIFF("data", File(96, Track(Text(0, 3, "x"), Tempo(0, 300000), Meter(0, 3, 2), Note(0, 1, 60, 9)))))
	before := slices.Clone(data)
	mustRead(t, data)
	if !bytes.Equal(data, before) {
		t.Error("Read changed its input")
	}
}
