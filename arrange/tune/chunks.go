package tune

import (
	"bytes"
	"encoding/binary"
)

// walkTracks calls visit with a walker for every track chunk of the file after at and gives the number of tracks; it reports what
// lies between and after them. It stops at the first error of visit.
func walkTracks(file []byte, at int, rs *remarks, visit func(*walker) error) (tracks int, err error) {
	var w walker
	for len(file)-at >= 8 {
		name, size := file[at:at+4], int64(binary.BigEndian.Uint32(file[at+4:]))
		body := at + 8
		fits := size <= int64(len(file)-body)
		switch {
		case string(name) == "MTrk":
			tracks++
			end := len(file)
			if fits {
				end = body + int(size)
			} else {
				rs.add(remarkShortFile, tracks, end)
			}
			w = walker{file: file[:end:end], at: body, track: tracks, remarks: rs}
			if err := visit(&w); err != nil {
				return tracks, err
			}
			at = end
			if !fits && w.ended {
				at = w.at
			} else if w.ended && w.at < end {
				rs.add(remarkAfterEnd, tracks, w.at)
			}
		case string(name) == "MThd":
			rs.add(remarkSecondFile, 0, at)
			return tracks, nil
		case fits && printable(name):
			rs.detail(remarkAlien, at, string(name))
			at = body + int(size)
		default:
			n := bytes.Index(file[at:], []byte("MTrk"))
			if n < 0 {
				rs.add(remarkTrailing, 0, at)
				return tracks, nil
			}
			rs.add(remarkBetween, 0, at)
			at += n
		}
	}
	switch rest := file[min(at, len(file)):]; {
	case bytes.HasPrefix(rest, []byte("MTrk")):
		rs.add(remarkShortFile, tracks+1, len(file))
	case len(rest) > 0:
		rs.add(remarkTrailing, 0, at)
	}
	return tracks, nil
}

func printable(name []byte) bool {
	for _, b := range name {
		if b < ' ' || b > '~' {
			return false
		}
	}
	return true
}
