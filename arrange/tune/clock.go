package tune

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"pinwright/arrange/unit"
)

// A clock turns ticks into positions and positions into time.
//
// A position is a whole number of parts of a quarter note from the start of the music. Where the division is metrical there are
// 32 to a tick, so that every bar line is one (the shortest meter unit is a 128th, 1/32 of a quarter). Where it is SMPTE a tick is
// a time, and positions are rounded to 2^-24 of a quarter.
//
// Time is counted in microseconds times positions a quarter, exactly; see [clock.time].
type clock struct {
	perQuarter int64
	tickTime   float64 // where the division is SMPTE: a tick in the units of time
	spans      []span  // in order; the first at 0
	from       int     // first span of the running sequence
}

// A span is a stretch of one tempo.
type span struct {
	tick      int64 // in its sequence
	pos, time int64
	tempo     int64 // microseconds a quarter note
}

// defaultTempo is 120 quarter notes a minute, in microseconds a quarter (Standard MIDI Files 1.0).
const defaultTempo = 500_000

// horizon is the time, in microseconds times positions a quarter, beyond which a clock does not count: 64 bits hold it with room for
// a bar. That is 51 days of metrical music at the finest division, 76 hours of SMPTE.
const horizon = 1 << 62

func newClock(d Division) *clock {
	if d.FramesPerSecond == 0 {
		return &clock{perQuarter: 32 * int64(d.TicksPerQuarter)}
	}
	c := &clock{perQuarter: 1 << 24}
	c.tickTime = 1e6 / (d.framesPerSecond() * float64(d.TicksPerFrame)) * float64(c.perQuarter)
	return c
}

// framesPerSecond gives the exact rate: 29 stands for the drop-frame rate of 30000/1001.
func (d Division) framesPerSecond() float64 {
	if d.FramesPerSecond == 29 {
		return 30000.0 / 1001
	}
	return float64(d.FramesPerSecond)
}

// begin starts a sequence at a position, with its tempo changes up to tick end; it reports whether the clock can count so far.
func (c *clock) begin(pos int64, tempos []tempoChange, end int64) bool {
	var start int64
	if len(c.spans) > 0 {
		var ok bool
		if start, ok = c.time(pos); !ok {
			return false
		}
	}
	c.from = len(c.spans)
	c.spans = append(c.spans, span{0, pos, start, defaultTempo})
	slices.SortStableFunc(tempos, func(a, b tempoChange) int { return cmp.Compare(a.tick, b.tick) })
	for _, t := range tempos {
		if t.tick > end {
			break
		}
		last := c.spans[len(c.spans)-1]
		at, ok := c.position(t.tick)
		if !ok {
			return false
		}
		time, ok := c.time(at)
		if !ok {
			return false
		}
		if t.microseconds != last.tempo {
			c.spans = append(c.spans, span{t.tick, at, time, t.microseconds})
		}
	}
	return true
}

// position gives where a tick of the running sequence lies; ok is false beyond the horizon.
func (c *clock) position(tick int64) (pos int64, ok bool) {
	spans := c.spans[c.from:]
	if c.tickTime == 0 {
		return spans[0].pos + 32*tick, true
	}
	exact := float64(spans[0].time) + float64(tick)*c.tickTime
	if exact > horizon { // a position never exceeds its time, for a tempo is 1 µs at least
		return 0, false
	}
	s := spans[sort.Search(len(spans), func(i int) bool { return spans[i].tick > tick })-1]
	after := math.Round((exact - float64(s.time)) / float64(s.tempo)) // in positions
	return s.pos + int64(max(0, after)), true
}

// time gives when a position sounds; ok is false beyond the horizon.
func (c *clock) time(pos int64) (time int64, ok bool) {
	s := c.spans[sort.Search(len(c.spans), func(i int) bool { return c.spans[i].pos > pos })-1]
	if float64(s.time)+float64(pos-s.pos)*float64(s.tempo) > horizon {
		return 0, false
	}
	return s.time + (pos-s.pos)*s.tempo, true
}

// ms gives the time of a position that lies within the horizon or less than a bar behind it.
func (c *clock) ms(pos int64) unit.Milliseconds {
	s := c.spans[sort.Search(len(c.spans), func(i int) bool { return c.spans[i].pos > pos })-1]
	return unit.Milliseconds(float64(s.time+(pos-s.pos)*s.tempo) / float64(c.perQuarter) / 1000)
}

// quarters gives a position in quarter notes.
func (c *clock) quarters(pos int64) float64 { return float64(pos) / float64(c.perQuarter) }

// tempos gives the tempo changes as they are shown.
func (c *clock) tempos() []Tempo {
	list := make([]Tempo, 0, len(c.spans))
	for i, s := range c.spans {
		next := i+1 < len(c.spans) && c.spans[i+1].pos == s.pos
		if next || len(list) > 0 && list[len(list)-1].BPM == bpm(s.tempo) {
			continue
		}
		list = append(list, Tempo{c.ms(s.pos), bpm(s.tempo)})
	}
	return list
}

// bpm gives a tempo of so many microseconds a quarter note.
func bpm(tempo int64) unit.BPM { return unit.BPM(60e6 / float64(tempo)) }
