package tune

import (
	"cmp"
	"math/bits"
	"slices"
	"strconv"
	"strings"

	"pinwright/arrange/phrase"
	"pinwright/arrange/unit"
)

// fill turns what was collected into notes, parts, bars and tempos.
func (c *collector) fill(t *Tune, l Limits) error {
	clk := newClock(t.Division)
	meters, until, ok := c.position(clk)
	if !ok {
		return tooLong(phrase.Of("longer than can be counted"), l)
	}
	slices.SortFunc(c.notes, func(a, b rawNote) int {
		if a.on != b.on {
			return cmp.Compare(a.on, b.on)
		}
		return cmp.Compare(a.key, b.key)
	})
	if end := clk.ms(until); end > l.MusicMs {
		return tooLong(hours(end), l)
	}
	if n := len(c.notes); n > 0 {
		until = max(until, c.notes[n-1].on+1)
	}
	list, starts, err := bars(meters, clk, max(until, 1))
	if err != nil {
		return err
	}
	t.Bars, t.Tempos = list, clk.tempos()
	streams := 0
	for _, track := range c.tracks {
		streams += bits.OnesCount16(track.channels)
	}
	t.Parts = make([]Part, 0, streams)
	first := make([]int, len(c.tracks)) // part of each track
	for i, track := range c.tracks {
		first[i] = len(t.Parts)
		t.Parts = track.appendParts(t.Parts)
	}
	ids := names(len(c.notes))
	t.Notes = make([]Note, len(c.notes))
	bar := 0
	for i, r := range c.notes {
		for bar+1 < len(starts) && starts[bar+1] <= r.on {
			bar++
		}
		track, channel := r.stream()>>4, r.stream()&15
		part := first[track] + bits.OnesCount16(c.tracks[track].channels&(1<<channel-1))
		t.Notes[i] = Note{
			ID: ids(i), Part: part, Pitch: unit.Pitch(r.pitch()), Velocity: r.velocity(),
			OnsetMs: clk.ms(r.on), EndMs: clk.ms(r.off), Quarter: clk.quarters(r.on),
			Bar: list[bar].Number, Beat: 1 + float64((r.on-starts[bar])*int64(list[bar].Unit))/float64(4*clk.perQuarter),
		}
		p := &t.Parts[part]
		if p.Notes++; p.Notes == 1 {
			p.Low, p.High = t.Notes[i].Pitch, t.Notes[i].Pitch
			if set := c.programs[channel]; p.Program == 0 && t.Format != 2 && set.number > 0 {
				if at, ok := clk.position(set.tick); ok && at <= r.on {
					p.Program = int(set.number)
				}
			}
		}
		p.Low, p.High = min(p.Low, t.Notes[i].Pitch), max(p.High, t.Notes[i].Pitch)
	}
	return nil
}

// position turns the ticks of all notes into positions, sequence after sequence; it gives the meters and the end of
// the last note, without notes that of the last sequence. ok is false beyond the clock's horizon.
func (c *collector) position(clk *clock) (meters []meterChange, until int64, ok bool) {
	last, silent := len(c.sequences)-1, len(c.notes) == 0
	for !silent && c.sequences[last].from == c.sequences[last].to {
		last--
	}
	changes, changesOfMeter := 0, 0
	for _, seq := range c.sequences {
		changes += len(seq.tempos) + 1
		changesOfMeter += len(seq.meters) + 1
	}
	clk.spans, meters = make([]span, 0, changes), make([]meterChange, 0, changesOfMeter)
	start := int64(0)
	for i, seq := range c.sequences {
		if seq.from == seq.to && !silent {
			c.remarks.add(remarkSilent, i+1, 0)
			continue
		}
		notes, end := c.notes[seq.from:seq.to], seq.end
		if i == last && !silent {
			end = 0
			for _, n := range notes {
				end = max(end, n.off)
			}
		}
		if !clk.begin(start, seq.tempos, end) {
			return nil, 0, false
		}
		until, ok = clk.position(end)
		if !ok {
			return nil, 0, false
		}
		if _, ok = clk.time(until); !ok {
			return nil, 0, false
		}
		for j := range notes {
			notes[j].on, _ = clk.position(notes[j].on)
			notes[j].off, _ = clk.position(notes[j].off)
		}
		if meters, ok = place(meters, clk, start, seq.meters, end); !ok {
			return nil, 0, false
		}
		start = barLine(meters, clk, until)
	}
	return meters, until, true
}

// appendParts appends the parts of a track in order of channel.
func (t trackInfo) appendParts(list []Part) []Part {
	for channel := range 16 {
		if t.channels&(1<<channel) == 0 {
			continue
		}
		list = append(list, Part{
			ID:   "t" + strconv.Itoa(t.number) + "c" + strconv.Itoa(channel+1),
			Name: cmp.Or(t.name, t.instrument), Track: t.number, Channel: channel + 1,
			Program: int(t.programs[channel]), Percussion: channel == 9,
		})
	}
	return list
}

// names gives a function from 0, 1, 2, … in turn to n1, n2, n3, …, all cut from one string: a million short strings would take far more.
func names(n int) func(i int) string {
	var b strings.Builder
	b.Grow(8 * n)
	digits := make([]byte, 0, 20)
	for i := 1; i <= n; i++ {
		b.Write(strconv.AppendInt(append(digits[:0], 'n'), int64(i), 10))
	}
	all := b.String()
	return func(i int) string {
		length := 2
		for power := 10; power <= i+1; power *= 10 {
			length++
		}
		id := all[:length]
		all = all[length:]
		return id
	}
}
