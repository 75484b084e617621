package tune

import (
	"encoding/binary"

	"pinwright/arrange/phrase"
)

// A header is what the MThd chunk says; size is the offset of the first chunk after it.
type header struct {
	format, tracks, size int
	division             Division
}

func readHeader(file []byte, l Limits, rs *remarks) (h header, err error) {
	if len(file) < 8 {
		return h, cutInHeader(len(file))
	}
	length := int64(binary.BigEndian.Uint32(file[4:]))
	switch {
	case length < 6:
		return h, &Error{Unusable, phrase.Plural(int(length), phrase.Of("The file's header declares 1 byte; a header needs 6 for format, tracks and division. Export the file again."),
			phrase.Of("The file's header declares {1} bytes; a header needs 6 for format, tracks and division. Export the file again.", length))}
	case len(file) < 14:
		return h, cutInHeader(len(file))
	case length > int64(len(file)-8):
		rs.detail(remarkHeaderSize, 4, length)
		length = 6
	case length > 6:
		rs.detail(remarkHeaderLong, 4, length)
	}
	h.size = 8 + int(length)
	h.format, h.tracks = int(binary.BigEndian.Uint16(file[8:])), int(binary.BigEndian.Uint16(file[10:]))
	if h.format > 2 {
		rs.detail(remarkFormat, 8, h.format)
		h.format = 1
	}
	if h.tracks > l.Tracks {
		return h, tooManyTracks(h.tracks, l)
	}
	h.division, err = readDivision(file[12], file[13])
	return h, err
}

func cutInHeader(bytes int) error {
	return &Error{Unusable, phrase.Plural(bytes, phrase.Of("The file is cut off inside its header: it has 1 byte, a header takes 14. Get the whole file."),
		phrase.Of("The file is cut off inside its header: it has {1} bytes, a header takes 14. Get the whole file.", bytes))}
}

func exportInTicks() phrase.Phrase {
	return phrase.Of("Export the file again with a division in ticks a quarter note, such as 480.")
}

// readDivision reads the division: a high bit of 0 means ticks a quarter note, of 1 a negative number of frames a second and ticks
// a frame.
func readDivision(high, low byte) (Division, error) {
	if high < 0x80 {
		ticks := int(high)<<8 | int(low)
		if ticks == 0 {
			return Division{}, &Error{Unusable, phrase.Of("The file's division is 0 ticks a quarter note, so its notes have no time. {1}", exportInTicks())}
		}
		return Division{TicksPerQuarter: ticks}, nil
	}
	frames := -int(int8(high))
	switch {
	case frames != 24 && frames != 25 && frames != 29 && frames != 30:
		return Division{}, &Error{Unusable, phrase.Plural(frames,
			phrase.Of("The file's division is in 1 frame a second; SMPTE time has 24, 25, 29 (drop frame) or 30. {1}", exportInTicks()),
			phrase.Of("The file's division is in {1} frames a second; SMPTE time has 24, 25, 29 (drop frame) or 30. {2}", frames, exportInTicks()))}
	case low == 0:
		return Division{}, &Error{Unusable, phrase.Of("The file's division is 0 ticks a frame at {1} frames a second, so its notes have no time. {2}", frames, exportInTicks())}
	}
	return Division{FramesPerSecond: frames, TicksPerFrame: int(low)}, nil
}
