package tune

import (
	"bytes"
	"encoding/binary"
	"fmt"

	"pinwright/arrange/phrase"
)

// others are what people take for a MIDI file, by how it starts.
var others = []struct {
	start      string
	is, advice phrase.Phrase
}{
	{"SMF2CLIP", phrase.Of("a MIDI 2.0 clip file"), phrase.Of("Export it as a Standard MIDI File (.mid).")},
	{"XMF_", phrase.Of("an XMF file"), phrase.Of("Export the MIDI file inside it (.mid).")},
	{"PK\x03\x04", phrase.Of("a ZIP archive"), phrase.Of("Unpack it and choose the .mid file inside.")},
	{"\x1F\x8B", phrase.Of("a gzip archive"), phrase.Of("Unpack it and choose the .mid file inside.")},
	{"ID3", phrase.Of("an MP3 recording"), recording},
	{"\xFF\xFB", phrase.Of("an MP3 recording"), recording},
	{"\xFF\xF3", phrase.Of("an MP3 recording"), recording},
	{"OggS", phrase.Of("an Ogg recording"), recording},
	{"fLaC", phrase.Of("a FLAC recording"), recording},
	{"FORM", phrase.Of("an AIFF recording or another IFF file"), recording},
	{"MTrk", phrase.Of("a MIDI track without its file header"), phrase.Of("Export the whole file again as a Standard MIDI File (.mid).")},
	{"%PDF", phrase.Of("a PDF document"), score},
	{"\x89PNG", phrase.Of("a picture"), score},
	{"GIF8", phrase.Of("a picture"), score},
	{"\xFF\xD8\xFF", phrase.Of("a picture"), score},
}

var (
	recording = phrase.Of("A recording holds no notes to read; choose a Standard MIDI File (.mid).")
	score     = phrase.Of("Choose a Standard MIDI File (.mid) exported from a notation program or a sequencer.")
)

// open gives the Standard MIDI File inside data from its MThd on, taken out of a RIFF wrapper or from behind a short prefix.
func open(data []byte, rs *remarks) ([]byte, error) {
	if bytes.HasPrefix(data, []byte("MThd")) {
		return data, nil
	}
	if len(data) == 0 {
		return nil, &Error{NotMIDI, phrase.Of("The file is empty. Choose a Standard MIDI File (.mid).")}
	}
	if bytes.HasPrefix(data, []byte("RIFF")) {
		return openRIFF(data, rs)
	}
	for _, o := range others {
		if bytes.HasPrefix(data, []byte(o.start)) {
			return nil, &Error{NotMIDI, phrase.Of("This is {1}, not a Standard MIDI File. {2}", o.is, o.advice)}
		}
	}
	// A header's length is far below 65 536: its first two bytes tell MThd from the same letters in a text.
	if n := bytes.Index(data[:min(len(data), 1024)], []byte("MThd\x00\x00")); n > 0 {
		rs.add(remarkPrefix, 0, n)
		rs.base = n
		return data[n:], nil
	}
	if head := data[:min(len(data), 64)]; isText(head) {
		return nil, &Error{NotMIDI, phrase.Of("This is a text file, not a Standard MIDI File. {1}", score)}
	}
	return nil, &Error{NotMIDI, phrase.Of("This is not a Standard MIDI File: it starts with the bytes {1}, not with MThd. {2}", fmt.Sprintf("% X", data[:min(len(data), 4)]), score)}
}

// isText reports whether head reads as the start of a text.
func isText(head []byte) bool {
	for _, b := range head {
		if b < ' ' && b != '\n' && b != '\r' && b != '\t' {
			return false
		}
	}
	return head[0] < 0x7F
}

// openRIFF gives the data chunk of a RIFF RMID wrapper; chunks begin at even offsets.
func openRIFF(data []byte, rs *remarks) ([]byte, error) {
	if len(data) < 12 || string(data[8:12]) != "RMID" {
		return nil, &Error{NotMIDI, phrase.Of("This is a RIFF file (a sound recording or a film), not a Standard MIDI File. {1}", recording)}
	}
	for at := 12; len(data)-at >= 8; {
		name, size, body := string(data[at:at+4]), int64(binary.LittleEndian.Uint32(data[at+4:])), at+8
		end := int(min(int64(len(data)), int64(body)+size))
		if name == "data" {
			if !bytes.HasPrefix(data[body:end], []byte("MThd")) {
				return nil, &Error{NotMIDI, phrase.Of("The data chunk of this RIFF RMID wrapper does not hold a Standard MIDI File. {1}", score)}
			}
			rs.add(remarkRIFF, 0, at)
			rs.base = body
			return data[body:end], nil
		}
		at = end + end%2
	}
	return nil, &Error{NotMIDI, phrase.Of("This RIFF RMID wrapper has no data chunk, so no MIDI file is in it. {1}", score)}
}
