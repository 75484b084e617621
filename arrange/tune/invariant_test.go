package tune_test

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"testing"
	"unicode/utf8"

	"pinwright/arrange/tune"
	. "pinwright/arrange/tune/tunetest"
)

// check fails unless a tune keeps every promise of its type.
func check(t interface {
	Helper()
	Fatalf(string, ...any)
}, got *tune.Tune) {
	t.Helper()
	finite := func(what string, values ...float64) {
		t.Helper()
		for _, v := range values {
			if math.IsNaN(v) || math.IsInf(v, 0) || v < 0 {
				t.Fatalf("%s: %v", what, v)
			}
		}
	}
	if len(got.Notes) == 0 || len(got.Bars) == 0 || len(got.Tempos) == 0 || len(got.Remarks) > 100 {
		t.Fatalf("%d notes, %d bars, %d tempos, %d remarks", len(got.Notes), len(got.Bars), len(got.Tempos), len(got.Remarks))
	}
	if (got.Division.TicksPerQuarter > 0) == (got.Division.TicksPerFrame > 0) || got.Format < 0 || got.Format > 2 {
		t.Fatalf("division %+v, format %d", got.Division, got.Format)
	}
	bars := map[int]tune.Bar{}
	for i, b := range got.Bars {
		finite("bar", float64(b.StartMs), float64(b.EndMs), b.StartQuarter, b.EndQuarter)
		switch {
		case i == 0 && (b.Number < 0 || b.Number > 1 || b.StartMs != 0 || b.StartQuarter != 0):
			t.Fatalf("first bar %+v", b)
		case i > 0 && (b.Number != got.Bars[i-1].Number+1 || b.StartMs != got.Bars[i-1].EndMs || b.StartQuarter != got.Bars[i-1].EndQuarter):
			t.Fatalf("bar %+v after %+v", b, got.Bars[i-1])
		case b.StartQuarter >= b.EndQuarter || b.StartMs > b.EndMs || b.Beats < 1 || b.Unit < 1 || b.Unit > 128:
			t.Fatalf("bar %+v", b)
		case b.EndQuarter-b.StartQuarter > float64(4*b.Beats)/float64(b.Unit)+1e-9:
			t.Fatalf("bar %+v is longer than its meter", b)
		}
		bars[b.Number] = b
	}
	for i, c := range got.Tempos {
		finite("tempo", float64(c.AtMs), float64(c.BPM))
		if i == 0 && c.AtMs != 0 || i > 0 && (c.AtMs < got.Tempos[i-1].AtMs || c.BPM == got.Tempos[i-1].BPM) || c.BPM <= 0 {
			t.Fatalf("tempo %d of %+v", i, got.Tempos)
		}
	}
	counts := make([]int, len(got.Parts))
	var end float64
	for i, n := range got.Notes {
		finite("note", float64(n.OnsetMs), float64(n.EndMs), n.Quarter, n.Beat)
		end = max(end, float64(n.EndMs))
		b, ok := bars[n.Bar]
		if n.ID != fmt.Sprintf("n%d", i+1) || !n.Pitch.Valid() || n.EndMs < n.OnsetMs || n.Velocity == 0 || n.Velocity > 127 {
			t.Fatalf("note %d: %+v", i, n)
		}
		if !ok || n.Quarter < b.StartQuarter || n.Quarter >= b.EndQuarter || n.OnsetMs < b.StartMs || n.OnsetMs > b.EndMs ||
			math.Abs(n.Beat-1-(n.Quarter-b.StartQuarter)*float64(b.Unit)/4) > 1e-6 || n.Beat < 1 || n.Beat >= float64(b.Beats)+1 {
			t.Fatalf("note %+v in bar %+v", n, b)
		}
		p := got.Parts[n.Part]
		if n.Pitch < p.Low || n.Pitch > p.High {
			t.Fatalf("note %+v outside its part %+v", n, p)
		}
		counts[n.Part]++
		if i == 0 {
			continue
		}
		last := got.Notes[i-1]
		if n.OnsetMs < last.OnsetMs || n.Quarter < last.Quarter || n.Quarter == last.Quarter && (n.Pitch < last.Pitch || n.Pitch == last.Pitch && n.Part < last.Part) {
			t.Fatalf("note %+v after %+v", n, last)
		}
	}
	if last := got.Bars[len(got.Bars)-1]; end > float64(last.EndMs) || len(got.Bars) > 1 && end < float64(last.StartMs) {
		t.Fatalf("the last note ends at %v ms, the last bar is %+v", end, last)
	}
	for i, p := range got.Parts {
		if p.Notes != counts[i] || p.Notes == 0 || p.ID != fmt.Sprintf("t%dc%d", p.Track, p.Channel) || p.Program < 0 || p.Program > 128 || p.Percussion != (p.Channel == 10) {
			t.Fatalf("part %+v with %d notes", p, counts[i])
		}
		if i > 0 && (p.Track < got.Parts[i-1].Track || p.Track == got.Parts[i-1].Track && p.Channel <= got.Parts[i-1].Channel) {
			t.Fatalf("part %+v after %+v", p, got.Parts[i-1])
		}
		if !utf8.ValidString(p.Name) || utf8.RuneCountInString(p.Name) > 200 {
			t.Fatalf("name %q", p.Name)
		}
	}
	if !utf8.ValidString(got.Title) || utf8.RuneCountInString(got.Title) > 200 {
		t.Fatalf("title %q", got.Title)
	}
	for _, r := range got.Remarks {
		if !utf8.ValidString(r.String()) || r.Empty() {
			t.Fatalf("remark %q", r)
		}
	}
}

func TestOddFilesKeepPromises(t *testing.T) {
	for _, row := range oddFiles() {
		t.Run(row.name, func(t *testing.T) { check(t, mustRead(t, row.data)) })
	}
}

// Whatever the bytes, Read gives a tune that keeps its promises or a *tune.Error with words, and the same again.
func FuzzRead(f *testing.F) {
	for _, row := range Malformed() {
		if len(row.Data) < 1<<16 {
			f.Add(row.Data)
		}
	}
	for _, row := range oddFiles() {
		f.Add(row.data)
	}
	limits := tune.DefaultLimits
	limits.Events = 20_000 // keeps each run short
	f.Fuzz(func(t *testing.T, data []byte) {
		got, err := tune.Read(data, limits)
		again, err2 := tune.Read(data, limits)
		if !reflect.DeepEqual(got, again) || !reflect.DeepEqual(err, err2) {
			t.Fatalf("%v, %v, then %v, %v", got, err, again, err2)
		}
		var refused *tune.Error
		switch {
		case err == nil:
			check(t, got)
		case !errors.As(err, &refused) || refused.Fault < tune.NotMIDI || refused.Fault > tune.Unusable || len(refused.Message.String()) < 20 || !utf8.ValidString(refused.Message.String()):
			t.Fatalf("error %#v", err)
		}
	})
}
