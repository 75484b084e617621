package tune

import (
	"fmt"
	"strconv"
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
	detail    string
}

// first is what stands before the place of a hit that is not the only one.
func (h hit) first() string {
	if h.count > 1 {
		return "first "
	}
	return ""
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

// detail is add for what is named by a word of the file or a figure.
func (rs *remarks) detail(r remark, at int, detail string) {
	if rs != nil && rs.hits[r].count == 0 {
		rs.hits[r].detail = detail
	}
	rs.add(r, 0, at)
}

// list gives the remarks in the order of their first hits.
func (rs *remarks) list() []string {
	list := make([]string, 0, len(rs.order))
	for _, r := range rs.order {
		list = append(list, rs.text(r))
	}
	return list
}

// breaks are the remarks about a file or a track that could not be read to its end.
var breaks = []remark{remarkShortFile, remarkCut, remarkLong, remarkNoData, remarkNoStatus}

// broken gives the first reason why something could not be read; ok is false where everything could.
func (rs *remarks) broken() (text string, ok bool) {
	for _, r := range breaks {
		if rs.hits[r].count > 0 {
			return rs.text(r), true
		}
	}
	return "", false
}

func (rs *remarks) text(r remark) string {
	h := rs.hits[r]
	place := fmt.Sprintf("%strack %d, byte %d", h.first(), h.track, h.at)
	upTo := fmt.Sprintf("Track %d is read only up to byte %d", h.track, h.at)
	if h.count > 1 {
		upTo = fmt.Sprintf("%d tracks are read only in part, track %d only up to byte %d", h.count, h.track, h.at)
	}
	switch r {
	case remarkPrefix:
		return fmt.Sprintf("%s before the MIDI header were passed over.", counted(h.at, "byte"))
	case remarkRIFF:
		return "The MIDI file was taken out of a RIFF RMID wrapper; what else the wrapper holds was passed over."
	case remarkHeaderSize:
		return fmt.Sprintf("The header declares a length of %s bytes, more than the file holds; it was read as 6 bytes.", h.detail)
	case remarkHeaderLong:
		return fmt.Sprintf("The header is %s bytes long; only the first 6 are defined, the others were passed over.", h.detail)
	case remarkFormat:
		return fmt.Sprintf("The header names format %s, which is not defined; the file was read as format 1.", h.detail)
	case remarkFormat0:
		return fmt.Sprintf("A file of format 0 has one track; this one has %s, read as sounding together.", h.detail)
	case remarkCount:
		return fmt.Sprintf("The header declares %s.", h.detail)
	case remarkSequences:
		return fmt.Sprintf("The file is of format 2: its %s sequences were laid one after another, each from a bar line on.", h.detail)
	case remarkSilent:
		return fmt.Sprintf("%s without notes took no time (%strack %d).", counted(h.count, "sequence"), h.first(), h.track)
	case remarkAlien:
		return fmt.Sprintf("%s not of the type MTrk passed over (%s%q at byte %d).", counted(h.count, "chunk"), h.first(), h.detail, h.at)
	case remarkBetween:
		return fmt.Sprintf("Bytes before a track that belong to no chunk were passed over (%sat byte %d).", h.first(), h.at)
	case remarkSecondFile:
		return fmt.Sprintf("A second MIDI file follows at byte %d; only the first was read.", h.at)
	case remarkTrailing:
		return fmt.Sprintf("Bytes after the last chunk were passed over (from byte %d).", h.at)
	case remarkShortFile:
		if h.count > 1 {
			return fmt.Sprintf("%d tracks declare more bytes than the file holds, the first is track %d; what is there, to byte %d, was read.", h.count, h.track, h.at)
		}
		return fmt.Sprintf("The file ends inside track %d; what is there, to byte %d, was read.", h.track, h.at)
	case remarkAfterEnd:
		return fmt.Sprintf("Bytes after the End of Track of %s were not read (%s).", counted(h.count, "track"), place)
	case remarkNoEnd:
		return fmt.Sprintf("%s without End of Track (%s).", counted(h.count, "track"), place)
	case remarkCut:
		return upTo + ": it ends inside an event."
	case remarkLong:
		return upTo + ": a time or length there takes more than 4 bytes."
	case remarkNoData:
		return upTo + ": a status byte stands there in place of data."
	case remarkNoStatus:
		return upTo + ": data stand there without a status byte."
	case remarkSystem:
		return fmt.Sprintf("%s without a place in a file passed over (%s).", counted(h.count, "status byte"), place)
	case remarkRunning:
		return fmt.Sprintf("%s without a status byte after a meta or system exclusive event read with the status before it (%s).", counted(h.count, "event"), place)
	case remarkTempo:
		return fmt.Sprintf("%s of 0 or cut short ignored (%s).", counted(h.count, "tempo change"), place)
	case remarkMeter:
		return fmt.Sprintf("%s ignored (%s).", counted(h.count, "impossible time signature"), place)
	case remarkKey:
		return fmt.Sprintf("%s ignored (%s).", counted(h.count, "impossible key signature"), place)
	case remarkOpen:
		if h.count == 1 {
			return fmt.Sprintf("1 note never ended; it sounds to the end of its track (%s).", place)
		}
		return fmt.Sprintf("%s never ended; each sounds to the end of its track (%s).", counted(h.count, "note"), place)
	case remarkStray:
		return fmt.Sprintf("%s without a sounding note ignored (%s).", counted(h.count, "note-off"), place)
	case remarkPedal:
		return fmt.Sprintf("%s of the sustain pedal ignored: a tooth rings until it is damped (%s).", counted(h.count, "press"), place)
	case remarkBend:
		return fmt.Sprintf("%s ignored: a tooth has one pitch (%s).", counted(h.count, "pitch bend"), place)
	case remarkWindows1252:
		return fmt.Sprintf("%s not in UTF-8 read as Windows-1252 (%s).", counted(h.count, "name"), place)
	case remarkShiftJIS:
		return fmt.Sprintf("%s not in UTF-8 read as Shift-JIS (%s).", counted(h.count, "name"), place)
	}
	panic("tune: remark without words: " + strconv.Itoa(int(r)))
}

// counted gives "1 note" or "3 notes".
func counted(n int, what string) string {
	switch {
	case n == 1:
		return "1 " + what
	case what == "press":
		return strconv.Itoa(n) + " presses"
	}
	return strconv.Itoa(n) + " " + what + "s"
}
