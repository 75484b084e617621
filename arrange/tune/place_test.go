package tune_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange/tune"
	. "pinwright/arrange/tune/tunetest"
)

// silent allows files without notes.
func silent() tune.Limits {
	l := tune.DefaultLimits
	l.Silent = true
	return l
}

// TestMoment: within a microsecond (a tempo of one microsecond a quarter is among those drawn), a note's bar and beat give the time and the place in quarter notes at which it was read.
func TestMoment(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		got, err := tune.Read(drawModel(t).bytes(1, false), tune.DefaultLimits)
		if err != nil {
			t.Fatal(err)
		}
		for _, n := range got.Notes {
			at, quarter := got.Moment(got.Bars[n.Bar-got.Bars[0].Number], n.Beat)
			if off := math.Abs(float64(at - n.OnsetMs)); off > 1e-3+1e-9*float64(n.OnsetMs) || math.Abs(quarter-n.Quarter) > 1e-6*(1+quarter) {
				t.Fatalf("%+v lies at %v ms, quarter %v", n, at, quarter)
			}
		}
	})
}

// TestBarsTo: further bars are those that the file would have had if it went on in its last meter and tempo.
func TestBarsTo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawModel(t)
		short, err := tune.Read(m.bytes(1, false), tune.DefaultLimits)
		if err != nil {
			t.Fatal(err)
		}
		number := short.Bars[len(short.Bars)-1].Number + rapid.IntRange(-2, 12).Draw(t, "further")
		got := short.BarsTo(number)
		if want := max(number, short.Bars[len(short.Bars)-1].Number); got[len(got)-1].Number != want || len(got) != want-got[0].Number+1 {
			t.Fatalf("%d bars, the last is %+v", len(got), got[len(got)-1])
		}
		last := short.Bars[len(short.Bars)-1]
		tempo := short.Tempos[len(short.Tempos)-1].BPM
		for i, b := range got {
			if i < len(short.Bars) {
				if b != short.Bars[i] {
					t.Fatalf("bar %+v has become %+v", short.Bars[i], b)
				}
				continue
			}
			before := got[i-1]
			quarters := 4 * float64(last.Beats) / float64(last.Unit)
			wantMs := quarters * 60_000 / float64(tempo)
			if b.Number != before.Number+1 || b.StartMs != before.EndMs || b.StartQuarter != before.EndQuarter || b.Beats != last.Beats || b.Unit != last.Unit ||
				math.Abs(b.EndQuarter-b.StartQuarter-quarters) > 1e-9*b.EndQuarter || math.Abs(float64(b.EndMs-b.StartMs)-wantMs) > 1e-6+1e-9*float64(b.EndMs) {
				t.Fatalf("bar %+v after %+v, want %v quarters and %v ms", b, before, quarters, wantMs)
			}
		}
	})
}

// TestMomentRows: values by hand. 4/4 at 120 bpm, then from bar 2 on 3/8 at 60 bpm; 500 ms and 1000 ms a quarter.
func TestMomentRows(t *testing.T) {
	got := mustRead(t, File(96, Track(Tempo(0, 500_000), Note(0, 1, 60, 96), Meter(288, 3, 3), Tempo(0, 1_000_000), Note(0, 1, 62, 48))))
	for _, row := range []struct {
		name       string
		bar        int
		beat       float64
		ms, length float64
	}{
		{"the start", 1, 1, 0, 4},
		{"within a beat", 1, 2.5, 750, 4},
		{"the next meter and tempo", 2, 1, 2000, 3},
		{"its second eighth", 2, 2, 2500, 3},
		{"the bar after the last", 3, 1, 3500, 3},
		{"ten bars on", 12, 3.5, 2000 + 10*1500 + 1250, 3},
	} {
		bars := got.BarsTo(row.bar)
		b := bars[row.bar-bars[0].Number]
		if at, _ := got.Moment(b, row.beat); math.Abs(float64(at)-row.ms) > 1e-6 || math.Abs(b.Length()-row.length) > 1e-9 {
			t.Errorf("%s: %v ms in %+v", row.name, at, b)
		}
	}
}

// TestBlank: a blank is read as what it says, by the tune's own reader and only where files without notes are allowed.
func TestBlank(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := tune.Blank{Bars: rapid.IntRange(1, 200).Draw(t, "bars"), Beats: rapid.IntRange(1, 16).Draw(t, "beats"),
			Unit: rapid.SampledFrom([]int{2, 4, 8, 16}).Draw(t, "unit"), BPM: rapid.Float64Range(20, 400).Draw(t, "bpm")}
		data := b.File()
		if _, err := tune.Read(data, tune.DefaultLimits); err == nil {
			t.Fatal("an uploaded file without notes is taken")
		}
		got, err := tune.Read(data, silent())
		if err != nil {
			t.Fatal(err)
		}
		if len(got.Bars) != b.Bars || len(got.Notes) != 0 || len(got.Parts) != 0 || len(got.Remarks) != 0 || len(got.Tempos) != 1 {
			t.Fatalf("%+v is read as %+v", b, got)
		}
		for i, bar := range got.Bars {
			if bar.Number != i+1 || bar.Beats != b.Beats || bar.Unit != b.Unit || math.Abs(bar.Length()-float64(b.Beats)) > 1e-9 {
				t.Fatalf("bar %+v of %+v", bar, b)
			}
		}
		if tempo := float64(got.Tempos[0].BPM); math.Abs(tempo-b.BPM) > 1e-4*b.BPM { // whole microseconds a quarter
			t.Fatalf("%v bpm, want %v", tempo, b.BPM)
		}
	})
}

// TestSilentFiles: what is taken without notes has a bar and a tempo whatever else it lacks, also in sequences.
func TestSilentFiles(t *testing.T) {
	for _, row := range []struct {
		name string
		data []byte
		bars int
	}{
		{"nothing at all", File(96, Track()), 1},
		{"no track", File(96), 1},
		{"a name", File(96, Track(Text(0, 3, "A"))), 1},
		{"two bars and a tick", File(96, Track(Meter(0, 3, 2), Text(2*3*96+1, 1, "x"))), 3},
		{"two sequences of one bar", Format(2, 96, Track(Text(384, 1, "x")), Track(Text(384, 1, "x"))), 2},
	} {
		got, err := tune.Read(row.data, silent())
		if err != nil {
			t.Errorf("%s: %v", row.name, err)
			continue
		}
		if len(got.Bars) != row.bars || len(got.Tempos) == 0 {
			t.Errorf("%s: bars %+v, tempos %+v", row.name, got.Bars, got.Tempos)
		}
	}
}
