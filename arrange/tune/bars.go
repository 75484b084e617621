package tune

import (
	"cmp"
	"slices"
)

// maxBars bounds the bars of a tune: 24 hours of them, each 0.43 s long.
const maxBars = 200_000

// defaultMeter is 4/4 (Standard MIDI Files 1.0).
var defaultMeter = meterChange{beats: 4, unit: 4}

// length gives the length of a whole bar in positions.
func (m meterChange) length(c *clock) int64 {
	return int64(m.beats) * 4 * c.perQuarter / int64(m.unit)
}

// place puts the meters of a sequence that starts at a position, up to tick end, behind those that came before; ok is false beyond
// the clock's horizon.
func place(meters []meterChange, c *clock, start int64, of []meterChange, end int64) (placed []meterChange, ok bool) {
	first := defaultMeter
	first.at, first.starts = start, true
	meters = append(meters, first)
	slices.SortStableFunc(of, func(a, b meterChange) int { return cmp.Compare(a.at, b.at) })
	for _, m := range of {
		if m.at > end {
			break
		}
		if m.at, ok = c.position(m.at); !ok {
			return nil, false
		}
		if last := &meters[len(meters)-1]; last.at == m.at {
			m.starts = last.starts
			*last = m
		} else {
			meters = append(meters, m)
		}
	}
	return meters, true
}

// barLine gives the first bar line at or after a position, and after the last meter's own start.
func barLine(meters []meterChange, c *clock, pos int64) int64 {
	m := meters[len(meters)-1]
	length := m.length(c)
	return m.at + max(1, (pos-m.at+length-1)/length)*length
}

// bars lays bars from the first meter on until one of them reaches a position; starts are the positions of their bar lines. A
// meter begins a bar wherever it stands. A first bar that is shorter than the whole bars of the meter right after it is a pick-up.
func bars(meters []meterChange, c *clock, until int64) (list []Bar, starts []int64, err error) {
	total := int64(0)
	for i, m := range meters {
		if m.at >= until {
			meters = meters[:i]
			break
		}
	}
	next := func(i int) int64 { // where meter i gives way
		if i+1 < len(meters) {
			return meters[i+1].at
		}
		return until
	}
	for i, m := range meters {
		length := m.length(c)
		if total += (next(i) - m.at + length - 1) / length; total > maxBars {
			return nil, nil, tooManyBars()
		}
	}
	list, starts = make([]Bar, 0, total), make([]int64, 0, total)
	for i, m := range meters {
		length := m.length(c)
		for at := m.at; at < next(i); at += length {
			end := at + length
			if i+1 < len(meters) {
				end = min(end, next(i))
			}
			starts = append(starts, at)
			list = append(list, Bar{
				Number: len(list) + 1, Beats: m.beats, Unit: m.unit,
				StartMs: c.ms(at), EndMs: c.ms(end), StartQuarter: c.quarters(at), EndQuarter: c.quarters(end),
			})
		}
	}
	if len(list) > 1 && len(meters) > 1 && starts[1] == meters[1].at && !meters[1].starts && starts[1]-starts[0] < meters[1].length(c) {
		for i := range list {
			list[i].Number--
		}
	}
	return list, starts, nil
}
