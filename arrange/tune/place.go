package tune

import (
	"slices"
	"sort"

	"pinwright/arrange/unit"
)

// BarsTo gives the tune's bars up to that number, at least those that it has: those after its last go on in the last bar's meter and at
// the tempo that holds at its end. What it gives may share memory with the tune. The number must lie within what the caller allows:
// memory grows with it.
func (t *Tune) BarsTo(number int) []Bar {
	bars := slices.Clip(t.Bars)
	for last := bars[len(bars)-1]; last.Number < number; bars = append(bars, last) {
		next := Bar{Number: last.Number + 1, Beats: last.Beats, Unit: last.Unit, StartMs: last.EndMs, StartQuarter: last.EndQuarter}
		next.EndQuarter = next.StartQuarter + 4*float64(next.Beats)/float64(next.Unit)
		next.EndMs = t.timeIn(next, next.EndQuarter)
		last = next
	}
	return bars
}

// Length gives the bar's length in units of its meter's denominator: its number of beats, less where the next meter cuts it short.
func (b Bar) Length() float64 { return (b.EndQuarter - b.StartQuarter) * float64(b.Unit) / 4 }

// Moment gives the time of a beat of a bar, 1 at the bar line, and its place in quarter notes from the start of the file. The bar is one
// of BarsTo; its beats need not be whole. Times are those of Read within a microsecond.
func (t *Tune) Moment(b Bar, beat float64) (at unit.Milliseconds, quarter float64) {
	quarter = b.StartQuarter + (beat-1)*4/float64(b.Unit)
	return t.timeIn(b, quarter), quarter
}

// timeIn gives the time of a place in quarter notes at or after the start of a bar.
func (t *Tune) timeIn(b Bar, quarter float64) unit.Milliseconds {
	next := sort.Search(len(t.Tempos), func(i int) bool { return t.Tempos[i].AtMs > b.StartMs })
	at, from, tempo := b.StartMs, b.StartQuarter, t.Tempos[max(next, 1)-1].BPM
	for ; next < len(t.Tempos); next++ {
		change := t.Tempos[next]
		reached := from + float64(change.AtMs-at)*float64(tempo)/60_000
		if reached >= quarter {
			break
		}
		at, from, tempo = change.AtMs, reached, change.BPM
	}
	return at + unit.Milliseconds((quarter-from)*60_000/float64(tempo))
}
