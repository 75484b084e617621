package tune

import (
	"encoding/binary"
	"fmt"
	"strconv"
)

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
		return Division{}, &Error{Unusable, fmt.Sprintf("The file's division is in %s a second; SMPTE time has 24, 25, 29 (drop frame) or 30. %s", counted(frames, "frame"), again)}
	case low == 0:
		return Division{}, &Error{Unusable, fmt.Sprintf("The file's division is 0 ticks a frame at %d frames a second, so its notes have no time. %s", frames, again)}
	}
	return Division{FramesPerSecond: frames, TicksPerFrame: int(low)}, nil
}
