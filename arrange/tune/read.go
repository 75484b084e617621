package tune

import (
	"fmt"

	"pinwright/arrange/phrase"
)

// Read reads a Standard MIDI File (MIDI Manufacturers Association, RP-001) of format 0, 1 or 2, also in a RIFF RMID wrapper.
//
// It reads what is sound in a damaged file and says in Remarks what it passed over. Tempo and meter changes hold from any track.
// The sequences of a format 2 file follow one another, each from a bar line on. Every note-off ends the earliest note of its pitch
// that sounds in its track and channel; what is never ended sounds to the end of its track. The sustain pedal and pitch bends
// are ignored. Onsets are exact within 1 µs over 24 hours.
//
// Memory grows with the file's bytes, never with what lengths in it declare, and time with n log n. The error, if any, is an
// *[Error]: the file is over a limit, no MIDI file, or without notes where they are wanted.
func Read(data []byte, l Limits) (*Tune, error) {
	if len(data) > l.Bytes {
		return nil, &Error{TooLarge, phrase.Of("The file has {1} bytes; at most {2} ({3} MiB) can be read. Leave out tracks or system exclusive data, or cut the tune into shorter files.",
			len(data), l.Bytes, fmt.Sprintf("%.4g", float64(l.Bytes)/(1<<20)))}
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
		rs.detail(remarkCount, 10, [2]int{h.tracks, found})
	}
	switch {
	case h.format == 0 && found > 1:
		rs.detail(remarkFormat0, 8, found)
	case h.format == 2 && found > 1:
		rs.detail(remarkSequences, 8, found)
	}
	c := newCollector(h.format, n, rs)
	if _, err := walkTracks(file, h.size, rs, c.collect); err != nil {
		return nil, err
	}
	if len(c.notes) == 0 && !l.Silent {
		return nil, noNotes(found, rs)
	}
	t := &Tune{Title: c.title, Format: h.format, Division: h.division}
	if err := c.fill(t, l); err != nil {
		return nil, err
	}
	t.Remarks = rs.list()
	return t, nil
}
