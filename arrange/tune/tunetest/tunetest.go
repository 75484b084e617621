// Package tunetest builds small MIDI files for tests, sound ones and broken ones.
package tunetest

import (
	"encoding/binary"
	"slices"
)

// VLQ writes a variable-length quantity in as few bytes as it takes, at most four.
func VLQ(n int) []byte {
	b := []byte{byte(n & 0x7F)}
	for n >>= 7; n > 0; n >>= 7 {
		b = append(b, byte(n&0x7F|0x80))
	}
	slices.Reverse(b)
	return b
}

// Event writes an event: its delta time and its bytes.
func Event(delta int, message ...byte) []byte { return append(VLQ(delta), message...) }

// Meta writes a meta event with the length of its data.
func Meta(delta int, kind byte, data ...byte) []byte {
	return slices.Concat(VLQ(delta), []byte{0xFF, kind}, VLQ(len(data)), data)
}

// Text writes a meta event that holds a text, such as a track's name (kind 3).
func Text(delta int, kind byte, text string) []byte { return Meta(delta, kind, []byte(text)...) }

// Tempo writes a tempo in microseconds a quarter note.
func Tempo(delta, microseconds int) []byte {
	return Meta(delta, 0x51, byte(microseconds>>16), byte(microseconds>>8), byte(microseconds))
}

// Meter writes a time signature; the denominator is 2 to the given power.
func Meter(delta int, beats, power byte) []byte { return Meta(delta, 0x58, beats, power, 24, 8) }

// On writes a note-on of a channel from 1.
func On(delta, channel int, pitch, velocity byte) []byte {
	return Event(delta, 0x90|byte(channel-1), pitch, velocity)
}

// Off writes a note-off of a channel from 1.
func Off(delta, channel int, pitch byte) []byte {
	return Event(delta, 0x80|byte(channel-1), pitch, 64)
}

// Note writes a note that lasts so many ticks.
func Note(delta, channel int, pitch byte, ticks int) []byte {
	return append(On(delta, channel, pitch, 80), Off(ticks, channel, pitch)...)
}

// End writes End of Track.
func End(delta int) []byte { return Meta(delta, 0x2F) }

// Chunk writes a chunk of any type.
func Chunk(name string, data ...[]byte) []byte {
	body := slices.Concat(data...)
	return slices.Concat([]byte(name), binary.BigEndian.AppendUint32(nil, uint32(len(body))), body)
}

// Raw writes a track chunk of what it is given, without End of Track.
func Raw(events ...[]byte) []byte { return Chunk("MTrk", events...) }

// Track writes a track chunk that ends with End of Track.
func Track(events ...[]byte) []byte {
	return Chunk("MTrk", append(slices.Clone(events), End(0))...)
}

// Header writes a header chunk; the division is as in the file.
func Header(format, tracks, division int) []byte {
	var b []byte
	for _, v := range []int{format, tracks, division} {
		b = binary.BigEndian.AppendUint16(b, uint16(v))
	}
	return Chunk("MThd", b)
}

// File writes a file of format 1, or of format 0 where there is one track, from track chunks.
func File(division int, tracks ...[]byte) []byte {
	return Format(min(len(tracks)-1, 1), division, tracks...)
}

// Format writes a file of any format from track chunks.
func Format(format, division int, tracks ...[]byte) []byte {
	return append(Header(format, len(tracks), division), slices.Concat(tracks...)...)
}

// RMID wraps chunks in a RIFF file of the given form type. Each chunk is padded to an even length.
func RMID(form string, chunks ...[]byte) []byte {
	body := []byte(form)
	for _, c := range chunks {
		body = append(body, c...)
		if len(c)%2 == 1 {
			body = append(body, 0)
		}
	}
	return RIFF("RIFF", body)
}

// RIFF writes a chunk with its length in the byte order of RIFF.
func RIFF(name string, body []byte) []byte {
	return slices.Concat([]byte(name), binary.LittleEndian.AppendUint32(nil, uint32(len(body))), body)
}

// SMPTE gives a division of frames a second and ticks a frame.
func SMPTE(frames, ticks int) int { return (256-frames)<<8 | ticks }
