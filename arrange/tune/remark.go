package tune

import (
	"strconv"

	"pinwright/arrange/phrase"
)

// A remark is a kind of thing that was passed over or repaired. Each kind is reported once, with the number of times and
// the first place, so that a list of them stays short whatever the file holds.
type remark int

const (
	remarkPrefix remark = iota
	remarkRIFF
	remarkHeaderSize
	remarkHeaderLong
	remarkFormat
	remarkFormat0
	remarkCount
	remarkSequences
	remarkSilent
	remarkAlien
	remarkBetween
	remarkSecondFile
	remarkTrailing
	remarkShortFile
	remarkAfterEnd
	remarkNoEnd
	remarkCut
	remarkLong
	remarkNoData
	remarkNoStatus
	remarkSystem
	remarkRunning
	remarkTempo
	remarkMeter
	remarkKey
	remarkOpen
	remarkStray
	remarkPedal
	remarkBend
	remarkWindows1252
	remarkShiftJIS
	remarkKinds
)

// A hit is how often and where first a remark was made.
type hit struct {
	count     int
	track, at int // the first; track counts from 1, at is an offset in the file
	detail    any
}

// remarks collects hits; a nil *remarks takes none.
type remarks struct {
	hits  [remarkKinds]hit
	order []remark // of the first hits
	base  int      // what is added to offsets: where the MIDI file starts in what the user sent
}

func (rs *remarks) add(r remark, track, at int) {
	if rs == nil {
		return
	}
	h := &rs.hits[r]
	if h.count == 0 {
		h.track, h.at = track, at+rs.base
		rs.order = append(rs.order, r)
	}
	h.count++
}

// detail is add for what is named by a word of the file or by figures.
func (rs *remarks) detail(r remark, at int, detail any) {
	if rs != nil && rs.hits[r].count == 0 {
		rs.hits[r].detail = detail
	}
	rs.add(r, 0, at)
}

// list gives the remarks in the order of their first hits.
func (rs *remarks) list() []phrase.Phrase {
	list := make([]phrase.Phrase, 0, len(rs.order))
	for _, r := range rs.order {
		list = append(list, rs.text(r))
	}
	return list
}

// breaks are the remarks about a file or a track that could not be read to its end.
var breaks = []remark{remarkShortFile, remarkCut, remarkLong, remarkNoData, remarkNoStatus}

// broken gives the first reason why something could not be read; ok is false where everything could.
func (rs *remarks) broken() (text phrase.Phrase, ok bool) {
	for _, r := range breaks {
		if rs.hits[r].count > 0 {
			return rs.text(r), true
		}
	}
	return phrase.Phrase{}, false
}

func (rs *remarks) text(r remark) phrase.Phrase {
	h := rs.hits[r]
	n, track, at := h.count, h.track, h.at
	switch r {
	case remarkPrefix:
		return phrase.Plural(at, phrase.Of("1 byte before the MIDI header were passed over."), phrase.Of("{1} bytes before the MIDI header were passed over.", at))
	case remarkRIFF:
		return phrase.Of("The MIDI file was taken out of a RIFF RMID wrapper; what else the wrapper holds was passed over.")
	case remarkHeaderSize:
		return phrase.Of("The header declares a length of {1} bytes, more than the file holds; it was read as 6 bytes.", h.detail)
	case remarkHeaderLong:
		return phrase.Of("The header is {1} bytes long; only the first 6 are defined, the others were passed over.", h.detail)
	case remarkFormat:
		return phrase.Of("The header names format {1}, which is not defined; the file was read as format 1.", h.detail)
	case remarkFormat0:
		return phrase.Of("A file of format 0 has one track; this one has {1}, read as sounding together.", h.detail)
	case remarkCount:
		tracks, _ := h.detail.([2]int)
		return phrase.Plural(tracks[0], phrase.Of("The header declares 1 track; the file holds {1}.", tracks[1]),
			phrase.Of("The header declares {1} tracks; the file holds {2}.", tracks[0], tracks[1]))
	case remarkSequences:
		return phrase.Of("The file is of format 2: its {1} sequences were laid one after another, each from a bar line on.", h.detail)
	case remarkSilent:
		return phrase.Plural(n, phrase.Of("1 sequence without notes took no time (track {1}).", track),
			phrase.Of("{1} sequences without notes took no time (first track {2}).", n, track))
	case remarkAlien:
		name, _ := h.detail.(string)
		return phrase.Plural(n, phrase.Of("1 chunk not of the type MTrk passed over ({1} at byte {2}).", strconv.Quote(name), at),
			phrase.Of("{1} chunks not of the type MTrk passed over (first {2} at byte {3}).", n, strconv.Quote(name), at))
	case remarkBetween:
		return phrase.Plural(n, phrase.Of("Bytes before a track that belong to no chunk were passed over (at byte {1}).", at),
			phrase.Of("Bytes before a track that belong to no chunk were passed over (first at byte {1}).", at))
	case remarkSecondFile:
		return phrase.Of("A second MIDI file follows at byte {1}; only the first was read.", at)
	case remarkTrailing:
		return phrase.Of("Bytes after the last chunk were passed over (from byte {1}).", at)
	case remarkShortFile:
		return phrase.Plural(n, phrase.Of("The file ends inside track {1}; what is there, to byte {2}, was read.", track, at),
			phrase.Of("{1} tracks declare more bytes than the file holds, the first is track {2}; what is there, to byte {3}, was read.", n, track, at))
	case remarkAfterEnd:
		return phrase.Plural(n, phrase.Of("Bytes after the End of Track of 1 track were not read (track {1}, byte {2}).", track, at),
			phrase.Of("Bytes after the End of Track of {1} tracks were not read (first track {2}, byte {3}).", n, track, at))
	case remarkNoEnd:
		return phrase.Plural(n, phrase.Of("1 track without End of Track (track {1}, byte {2}).", track, at),
			phrase.Of("{1} tracks without End of Track (first track {2}, byte {3}).", n, track, at))
	case remarkCut:
		return phrase.Plural(n, phrase.Of("Track {1} is read only up to byte {2}: it ends inside an event.", track, at),
			phrase.Of("{1} tracks are read only in part, track {2} only up to byte {3}: it ends inside an event.", n, track, at))
	case remarkLong:
		return phrase.Plural(n, phrase.Of("Track {1} is read only up to byte {2}: a time or length there takes more than 4 bytes.", track, at),
			phrase.Of("{1} tracks are read only in part, track {2} only up to byte {3}: a time or length there takes more than 4 bytes.", n, track, at))
	case remarkNoData:
		return phrase.Plural(n, phrase.Of("Track {1} is read only up to byte {2}: a status byte stands there in place of data.", track, at),
			phrase.Of("{1} tracks are read only in part, track {2} only up to byte {3}: a status byte stands there in place of data.", n, track, at))
	case remarkNoStatus:
		return phrase.Plural(n, phrase.Of("Track {1} is read only up to byte {2}: data stand there without a status byte.", track, at),
			phrase.Of("{1} tracks are read only in part, track {2} only up to byte {3}: data stand there without a status byte.", n, track, at))
	case remarkSystem:
		return phrase.Plural(n, phrase.Of("1 status byte without a place in a file passed over (track {1}, byte {2}).", track, at),
			phrase.Of("{1} status bytes without a place in a file passed over (first track {2}, byte {3}).", n, track, at))
	case remarkRunning:
		return phrase.Plural(n, phrase.Of("1 event without a status byte after a meta or system exclusive event read with the status before it (track {1}, byte {2}).", track, at),
			phrase.Of("{1} events without a status byte after a meta or system exclusive event read with the status before it (first track {2}, byte {3}).", n, track, at))
	case remarkTempo:
		return phrase.Plural(n, phrase.Of("1 tempo change of 0 or cut short ignored (track {1}, byte {2}).", track, at),
			phrase.Of("{1} tempo changes of 0 or cut short ignored (first track {2}, byte {3}).", n, track, at))
	case remarkMeter:
		return phrase.Plural(n, phrase.Of("1 impossible time signature ignored (track {1}, byte {2}).", track, at),
			phrase.Of("{1} impossible time signatures ignored (first track {2}, byte {3}).", n, track, at))
	case remarkKey:
		return phrase.Plural(n, phrase.Of("1 impossible key signature ignored (track {1}, byte {2}).", track, at),
			phrase.Of("{1} impossible key signatures ignored (first track {2}, byte {3}).", n, track, at))
	case remarkOpen:
		return phrase.Plural(n, phrase.Of("1 note never ended; it sounds to the end of its track (track {1}, byte {2}).", track, at),
			phrase.Of("{1} notes never ended; each sounds to the end of its track (first track {2}, byte {3}).", n, track, at))
	case remarkStray:
		return phrase.Plural(n, phrase.Of("1 note-off without a sounding note ignored (track {1}, byte {2}).", track, at),
			phrase.Of("{1} note-offs without a sounding note ignored (first track {2}, byte {3}).", n, track, at))
	case remarkPedal:
		return phrase.Plural(n, phrase.Of("1 press of the sustain pedal ignored: a tooth rings until it is damped (track {1}, byte {2}).", track, at),
			phrase.Of("{1} presses of the sustain pedal ignored: a tooth rings until it is damped (first track {2}, byte {3}).", n, track, at))
	case remarkBend:
		return phrase.Plural(n, phrase.Of("1 pitch bend ignored: a tooth has one pitch (track {1}, byte {2}).", track, at),
			phrase.Of("{1} pitch bends ignored: a tooth has one pitch (first track {2}, byte {3}).", n, track, at))
	case remarkWindows1252:
		return phrase.Plural(n, phrase.Of("1 name not in UTF-8 read as Windows-1252 (track {1}, byte {2}).", track, at),
			phrase.Of("{1} names not in UTF-8 read as Windows-1252 (first track {2}, byte {3}).", n, track, at))
	case remarkShiftJIS:
		return phrase.Plural(n, phrase.Of("1 name not in UTF-8 read as Shift-JIS (track {1}, byte {2}).", track, at),
			phrase.Of("{1} names not in UTF-8 read as Shift-JIS (first track {2}, byte {3}).", n, track, at))
	}
	panic("tune: remark without words: " + strconv.Itoa(int(r)))
}
