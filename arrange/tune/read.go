package tune

import (
	"cmp"
	"encoding/binary"
	"fmt"
	"math"
	"math/bits"
	"slices"
	"strconv"
	"strings"

	"pinwright/arrange/unit"
)

// Read reads a Standard MIDI File (MIDI Manufacturers Association, RP-001) of format 0, 1 or 2, also in a RIFF RMID wrapper.
//
// It reads what is sound in a damaged file and says in Remarks what it passed over. Tempo and meter changes hold from any track.
// The sequences of a format 2 file follow one another, each from a bar line on. Every note-off ends the earliest note of its pitch
// that sounds in its track and channel; what is never ended sounds to the end of its track. The sustain pedal and pitch bends
// are ignored. Onsets are exact within 1 µs over 24 hours.
//
// Memory grows with the file's bytes, never with what lengths in it declare, and time with n log n. The error, if any, is an
// *[Error]: the file is over a limit, no MIDI file, or without notes.
func Read(data []byte, l Limits) (*Tune, error) {
	if len(data) > l.Bytes {
		return nil, &Error{TooLarge, fmt.Sprintf("The file has %d bytes; at most %d (%.4g MiB) can be read. Leave out tracks or system exclusive data, or cut the tune into shorter files.", len(data), l.Bytes, float64(l.Bytes)/(1<<20))}
	}
	rs := &remarks{}
	file, err := open(data, rs)
	if err != nil {
		return nil, err
	}
	h, err := readHeader(file, l, rs)
	if err != nil {
		return nil, err
	}
	var n count
	found, err := walkTracks(file, h.size, nil, func(w *walker) error { return n.walk(w, h.format, l) })
	if err != nil {
		return nil, err
	}
	if found != h.tracks {
		rs.detail(remarkCount, 10, fmt.Sprintf("%s; the file holds %d", counted(h.tracks, "track"), found))
	}
	switch {
	case h.format == 0 && found > 1:
		rs.detail(remarkFormat0, 8, strconv.Itoa(found))
	case h.format == 2 && found > 1:
		rs.detail(remarkSequences, 8, strconv.Itoa(found))
	}
	c := newCollector(h.format, n, rs)
	if _, err := walkTracks(file, h.size, rs, c.collect); err != nil {
		return nil, err
	}
	if len(c.notes) == 0 {
		return nil, noNotes(found, rs)
	}
	t := &Tune{Title: c.title, Format: h.format, Division: h.division}
	if err := c.fill(t, l); err != nil {
		return nil, err
	}
	t.Remarks = rs.list()
	return t, nil
}

// A header is what the MThd chunk says; size is the offset of the first chunk after it.
type header struct {
	format, tracks, size int
	division             Division
}

func readHeader(file []byte, l Limits, rs *remarks) (h header, err error) {
	if len(file) < 8 {
		return h, &Error{Unusable, fmt.Sprintf("The file is cut off inside its header: it has %s, a header takes 14. Get the whole file.", counted(len(file), "byte"))}
	}
	length := int64(binary.BigEndian.Uint32(file[4:]))
	switch {
	case length < 6:
		return h, &Error{Unusable, fmt.Sprintf("The file's header declares %s; a header needs 6 for format, tracks and division. Export the file again.", counted(int(length), "byte"))}
	case len(file) < 14:
		return h, &Error{Unusable, fmt.Sprintf("The file is cut off inside its header: it has %s, a header takes 14. Get the whole file.", counted(len(file), "byte"))}
	case length > int64(len(file)-8):
		rs.detail(remarkHeaderSize, 4, strconv.FormatInt(length, 10))
		length = 6
	case length > 6:
		rs.detail(remarkHeaderLong, 4, strconv.FormatInt(length, 10))
	}
	h.size = 8 + int(length)
	h.format, h.tracks = int(binary.BigEndian.Uint16(file[8:])), int(binary.BigEndian.Uint16(file[10:]))
	if h.format > 2 {
		rs.detail(remarkFormat, 8, strconv.Itoa(h.format))
		h.format = 1
	}
	if h.tracks > l.Tracks {
		return h, tooManyTracks(h.tracks, l)
	}
	h.division, err = readDivision(file[12], file[13])
	return h, err
}

// readDivision reads the division: a high bit of 0 means ticks a quarter note, of 1 a negative number of frames a second and ticks
// a frame.
func readDivision(high, low byte) (Division, error) {
	const again = "Export the file again with a division in ticks a quarter note, such as 480."
	if high < 0x80 {
		ticks := int(high)<<8 | int(low)
		if ticks == 0 {
			return Division{}, &Error{Unusable, "The file's division is 0 ticks a quarter note, so its notes have no time. " + again}
		}
		return Division{TicksPerQuarter: ticks}, nil
	}
	frames := -int(int8(high))
	switch {
	case frames != 24 && frames != 25 && frames != 29 && frames != 30:
		return Division{}, &Error{Unusable, fmt.Sprintf("The file's division is in %d frames a second; SMPTE time has 24, 25, 29 (drop frame) or 30. %s", frames, again)}
	case low == 0:
		return Division{}, &Error{Unusable, fmt.Sprintf("The file's division is 0 ticks a frame at %d frames a second, so its notes have no time. %s", frames, again)}
	}
	return Division{FramesPerSecond: frames, TicksPerFrame: int(low)}, nil
}

// fill turns what was collected into notes, parts, bars and tempos.
func (c *collector) fill(t *Tune, l Limits) error {
	clk := newClock(t.Division)
	meters, until, ok := c.position(clk)
	if !ok {
		return tooLong("longer than can be counted", l)
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
	list, starts, err := bars(meters, clk, max(until, c.notes[len(c.notes)-1].on+1))
	if err != nil {
		return err
	}
	t.Bars, t.Tempos = list, clk.tempos()
	first := make([]int, len(c.tracks)) // part of each track
	for i, track := range c.tracks {
		first[i] = len(t.Parts)
		t.Parts = append(t.Parts, track.parts()...)
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
// the last note. ok is false beyond the clock's horizon.
func (c *collector) position(clk *clock) (meters []meterChange, until int64, ok bool) {
	last := len(c.sequences) - 1
	for c.sequences[last].from == c.sequences[last].to {
		last--
	}
	start := int64(0)
	for i, seq := range c.sequences {
		if seq.from == seq.to {
			c.remarks.add(remarkSilent, i+1, 0)
			continue
		}
		notes, end := c.notes[seq.from:seq.to], seq.end
		if i == last {
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

// parts gives the parts of a track in order of channel.
func (t trackInfo) parts() []Part {
	list := make([]Part, 0, bits.OnesCount16(t.channels))
	for channel := range 16 {
		if t.channels&(1<<channel) == 0 {
			continue
		}
		list = append(list, Part{
			ID:   fmt.Sprintf("t%dc%d", t.number, channel+1),
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
	for i := 1; i <= n; i++ {
		b.WriteByte('n')
		b.WriteString(strconv.Itoa(i))
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

func noNotes(tracks int, rs *remarks) error {
	broken, ok := rs.broken()
	switch {
	case rs.hits[remarkShortFile].count > 0:
		return &Error{Unusable, "The file is cut off before its first note. Get the whole file. " + broken}
	case ok:
		return &Error{Unusable, "No note can be read from this file; export it again. " + broken}
	case tracks == 0:
		return &Error{Unusable, "The file has a MIDI header and no track, so there is nothing to play. Get the whole file."}
	}
	return &Error{Unusable, "The file holds no notes, so there is nothing to play. Choose a file with a melody."}
}

func tooManyEvents(l Limits) error {
	return &Error{TooLarge, fmt.Sprintf("The file holds more than %d events, the most that can be read. Leave out tracks or controller data, or cut the tune into shorter files.", l.Events)}
}

func tooManyTracks(tracks int, l Limits) error {
	return &Error{TooLarge, fmt.Sprintf("The file declares or holds %s; at most %d can be read. Leave out the tracks that are not played.", counted(tracks, "track"), l.Tracks)}
}

func tooManyBars() error {
	return &Error{TooLarge, fmt.Sprintf("The tune has more than %d bars, the most that can be read. Check its time signatures, or cut it into shorter files.", maxBars)}
}

func tooLong(lasts string, l Limits) error {
	return &Error{TooLarge, fmt.Sprintf("The music lasts %s; at most %s can be read. Check its tempo, or cut it into shorter files.", lasts, hours(l.MusicMs))}
}

// hours gives a time in hours, rounded up so that what is over a limit never reads like the limit.
func hours(ms unit.Milliseconds) string {
	return strconv.FormatFloat(math.Ceil(float64(ms)/360)/1e4, 'f', -1, 64) + " hours"
}
