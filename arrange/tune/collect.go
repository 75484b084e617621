package tune

import (
	"math"

	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"
)

// A rawNote is a note in 24 bytes: there can be a million.
type rawNote struct {
	on, off int64  // ticks in its sequence, later positions; while the note sounds, off is the next one of its pitch, plus 1
	key     uint64 // from the high bits: pitch (7), stream (20), place in the file (30), velocity (7)
}

func (r rawNote) pitch() int      { return int(r.key >> 57) }
func (r rawNote) stream() int     { return int(r.key >> 37 & (1<<20 - 1)) }
func (r rawNote) velocity() uint8 { return uint8(r.key & 0x7F) }

// A trackInfo is a track that holds notes. Its streams are numbered 16·(index among those tracks) + channel.
type trackInfo struct {
	number           int
	name, instrument string
	channels         uint16    // bit c is set where channel c has notes
	programs         [16]uint8 // of the first note of each channel, from 1; 0 where the track names none
}

// A tempoChange is a tempo that holds from a tick on.
type tempoChange struct{ tick, microseconds int64 }

// A meterChange is a meter that holds from a tick on; later the tick becomes a position.
type meterChange struct {
	at          int64
	beats, unit int
	starts      bool // a sequence
}

// A program is the first program change of a channel: it serves tracks that name none themselves.
type program struct {
	tick   int64
	number uint8 // from 1; 0 before one is found
}

// A sequence is what sounds from a common start: the whole file, or one track of a file of format 2.
type sequence struct {
	tempos   []tempoChange
	meters   []meterChange
	from, to int   // its notes
	end      int64 // tick of the end of its longest track
}

// A collector gathers what the tracks hold.
type collector struct {
	format    int
	remarks   *remarks
	title     string
	notes     []rawNote // of all sequences
	tracks    []trackInfo
	sequences []sequence
	programs  [16]program        // in formats 0 and 1, of all tracks
	sounding  [16 * 128]sounding // by channel and pitch
	scratch   [7]byte            // one message for the library to decode
}

// sounding holds the first and the last sounding note of one channel and pitch, as index in collector.notes plus 1.
type sounding struct{ first, last int32 }

// newCollector makes room for exactly what a first walk counted.
func newCollector(format int, n count, rs *remarks) *collector {
	c := &collector{format: format, remarks: rs, notes: make([]rawNote, 0, n.notes), tracks: make([]trackInfo, 0, n.sounding)}
	c.sequences = make([]sequence, 1, max(1, n.sequences))
	if format != 2 {
		c.sequences[0].tempos = make([]tempoChange, 0, n.tempos)
		c.sequences[0].meters = make([]meterChange, 0, n.meters)
	}
	return c
}

// collect reads one track to its end.
func (c *collector) collect(w *walker) error {
	if c.format == 2 && w.track > 1 {
		c.sequences = append(c.sequences, sequence{from: len(c.notes)})
	}
	seq := &c.sequences[len(c.sequences)-1]
	t := trackInfo{number: w.track}
	var programs [16]uint8
	for at := w.at; ; at = w.at {
		e, ok := w.next()
		if !ok {
			break
		}
		if e.status >= 0xF0 {
			if e.status == 0xFF {
				c.meta(e, at, seq, &t)
			}
			continue
		}
		m := midi.Message(append(append(c.scratch[:0], e.status), e.data...))
		var channel, key, value uint8
		var bend int16
		switch {
		case m.GetNoteStart(&channel, &key, &value):
			if t.channels&(1<<channel) == 0 {
				t.channels |= 1 << channel
				t.programs[channel] = programs[channel]
			}
			c.start(e.tick, channel, key, value)
		case m.GetNoteEnd(&channel, &key):
			if !c.stop(e.tick, channel, key) {
				c.remarks.add(remarkStray, w.track, at)
			}
		case m.GetProgramChange(&channel, &value):
			programs[channel] = value + 1
			if p := &c.programs[channel]; p.number == 0 || e.tick < p.tick {
				*p = program{e.tick, value + 1}
			}
		case m.GetControlChange(&channel, &key, &value):
			if key == midi.HoldPedalSwitch && value >= 64 {
				c.remarks.add(remarkPedal, w.track, at)
			}
		case m.GetPitchBend(&channel, &bend, nil):
			if bend != 0 {
				c.remarks.add(remarkBend, w.track, at)
			}
		}
	}
	if !w.ended && !w.failed {
		c.remarks.add(remarkNoEnd, w.track, w.at)
	}
	if t.channels != 0 {
		c.stopAll(w)
		c.tracks = append(c.tracks, t)
	}
	if w.track == 1 || c.format == 2 && c.title == "" {
		c.title = t.name
	}
	seq.end = max(seq.end, w.tick)
	seq.to = len(c.notes)
	return nil
}

// start begins a note behind those of its pitch that still sound.
func (c *collector) start(tick int64, channel, key, velocity uint8) {
	stream := uint64(len(c.tracks)<<4 | int(channel))
	c.notes = append(c.notes, rawNote{on: tick, key: uint64(key)<<57 | stream<<37 | uint64(len(c.notes))<<7 | uint64(velocity)})
	s := &c.sounding[int(channel)<<7|int(key)]
	if s.first == 0 {
		s.first = int32(len(c.notes))
	} else {
		c.notes[s.last-1].off = int64(len(c.notes))
	}
	s.last = int32(len(c.notes))
}

// stop ends the earliest sounding note of a pitch and reports whether there was one.
func (c *collector) stop(tick int64, channel, key uint8) bool {
	s := &c.sounding[int(channel)<<7|int(key)]
	if s.first == 0 {
		return false
	}
	n := &c.notes[s.first-1]
	s.first, n.off = int32(n.off), tick
	return true
}

// stopAll ends what sounds at the end of a track.
func (c *collector) stopAll(w *walker) {
	for i := range c.sounding {
		for c.stop(w.tick, uint8(i>>7), uint8(i&0x7F)) {
			c.remarks.add(remarkOpen, w.track, w.at)
		}
	}
}

// meta takes what the tune needs from a meta event.
func (c *collector) meta(e event, at int, seq *sequence, t *trackInfo) {
	switch e.meta {
	case metaTrackName:
		c.rename(&t.name, e, at, t.number)
	case metaInstrument:
		c.rename(&t.instrument, e, at, t.number)
	case metaTempo:
		tempo := tempoChange{tick: e.tick}
		var bpm float64
		if len(e.data) >= 3 && c.canonical(e, 3).GetMetaTempo(&bpm) {
			tempo.microseconds = int64(math.Round(60e6 / bpm)) // exact: both are below 2^53; 0 where the file says 0
		}
		if tempo.microseconds == 0 {
			c.remarks.add(remarkTempo, t.number, at)
			return
		}
		seq.tempos = append(seq.tempos, tempo)
	case metaMeter:
		var beats, unit uint8
		if len(e.data) < 2 || e.data[1] > 7 || !c.canonical(e, 4).GetMetaMeter(&beats, &unit) || beats == 0 {
			c.remarks.add(remarkMeter, t.number, at)
			return
		}
		seq.meters = append(seq.meters, meterChange{at: e.tick, beats: int(beats), unit: int(unit)})
	case metaKey:
		if len(e.data) < 2 || int8(e.data[0]) < -7 || int8(e.data[0]) > 7 || e.data[1] > 1 {
			c.remarks.add(remarkKey, t.number, at)
		}
	}
}

// canonical gives a meta event as the library wants it: with n bytes of data and their number in one byte.
func (c *collector) canonical(e event, n int) smf.Message {
	m := append(c.scratch[:0], 0xFF, e.meta, byte(n))
	m = append(m, e.data[:min(n, len(e.data))]...)
	return c.scratch[:max(len(m), 3+n)]
}

// rename sets a name that has not been set; there can be as many as there are events, so blank ones are not decoded.
func (c *collector) rename(to *string, e event, at, track int) {
	if *to != "" || len(e.data) == 0 {
		return
	}
	text, guess, guessed := name(e.data)
	*to = text
	if guessed && text != "" {
		c.remarks.add(guess, track, at)
	}
}

// count is what a first walk finds, so that the second can reserve exactly what it needs and no limit is passed on the way.
type count struct{ events, notes, sounding, sequences, tempos, meters int }

// walk counts one track.
func (n *count) walk(w *walker, format int, l Limits) error {
	if w.track > l.Tracks {
		return tooManyTracks(w.track, l)
	}
	before := n.notes
	for {
		e, ok := w.next()
		if !ok {
			break
		}
		if n.events++; n.events > l.Events {
			return tooManyEvents(l)
		}
		switch {
		case e.status>>4 == 9 && e.data[1] > 0:
			n.notes++
		case e.status == 0xFF && e.meta == metaTempo:
			n.tempos++
		case e.status == 0xFF && e.meta == metaMeter:
			n.meters++
		}
	}
	if n.notes > before {
		n.sounding++
	}
	if format == 2 {
		n.sequences++
	}
	return nil
}
