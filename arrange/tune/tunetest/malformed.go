package tunetest

import (
	"bytes"
	"slices"
	"strings"

	"pinwright/arrange/tune"
)

// A Broken file is one that must be refused, whatever reads it with [tune.DefaultLimits].
type Broken struct {
	Name  string
	Data  []byte
	Fault tune.Fault
	Words string // a part of the message that names what is wrong
}

// Sound gives the smallest useful file: one quarter note, C5, at 120 quarter notes a minute.
func Sound() []byte { return File(96, Track(Note(0, 1, 72, 96))) }

// Malformed gives files that hold nothing to play or are over a limit, each for a reason of its own.
func Malformed() []Broken {
	sound := Sound()
	note := Note(0, 1, 72, 96)
	track := Track(note)
	header := Header(0, 1, 96)
	cut := func(of []byte, n int) []byte { return slices.Clone(of[:n]) }
	// after gives a file whose track starts with these bytes and goes on to a note.
	after := func(head ...byte) []byte { return File(96, Track(head, note)) }
	// short gives a file that ends after these bytes of a track of 64.
	short := func(events ...byte) []byte {
		return slices.Concat(header, []byte("MTrk\x00\x00\x00\x40"), events)
	}
	withLength := func(length byte) []byte {
		f := slices.Clone(sound)
		f[7] = length
		return f
	}
	division := func(d int) []byte { return File(d, track) }
	var controllers, presses []byte
	for i := range byte(120) {
		controllers = append(controllers, Event(10, 0xB0, i, 64)...)
		presses = append(presses, Event(10, 0xC0, i)...)
	}
	const (
		notMIDI  = tune.NotMIDI
		unusable = tune.Unusable
		tooLarge = tune.TooLarge
	)
	return []Broken{
		{"empty", nil, notMIDI, "empty"},
		{"one byte", []byte{0}, notMIDI, "starts with the bytes 00,"},
		{"only zeros", make([]byte, 256), notMIDI, "starts with the bytes 00 00 00 00"},
		{"noise", []byte{0x9C, 0x11, 0x02, 0xE7, 0x55, 0x80}, notMIDI, "not with MThd"},
		{"text", []byte("C4 D4 E4 | F4 G4 A4\n"), notMIDI, "text file"},
		{"text about MThd", []byte("The header is called MThd, a track MTrk.\n"), notMIDI, "text file"},
		{"text in UTF-16", []byte("\xFF\xFEC\x004\x00"), notMIDI, "FF FE 43 00"},
		{"score in XML", []byte(`<?xml version="1.0"?><score-partwise/>`), notMIDI, "text file"},
		{"header in small letters", bytes.Replace(sound, []byte("MThd"), []byte("mthd"), 1), notMIDI, "6D 74 68 64"},
		{"header behind 1 KiB", append(make([]byte, 1100), sound...), notMIDI, "not with MThd"},
		{"MIDI 2.0 clip", []byte("SMF2CLIP\x00\x00\x00\x00"), notMIDI, "MIDI 2.0 clip"},
		{"XMF", []byte("XMF_1.00\x00"), notMIDI, "XMF"},
		{"ZIP around a MIDI file", append([]byte("PK\x03\x04\x14\x00tune.mid"), sound...), notMIDI, "ZIP"},
		{"gzip", []byte("\x1F\x8B\x08\x00\x00"), notMIDI, "gzip"},
		{"MP3 with a tag", []byte("ID3\x04\x00"), notMIDI, "MP3"},
		{"MP3 without a tag", []byte("\xFF\xFB\x90\x64"), notMIDI, "MP3"},
		{"Ogg", []byte("OggS\x00\x02"), notMIDI, "Ogg"},
		{"FLAC", []byte("fLaC\x00\x00\x00\x22"), notMIDI, "FLAC"},
		{"AIFF", []byte("FORM\x00\x00\x01\x00AIFF"), notMIDI, "AIFF"},
		{"PDF", []byte("%PDF-1.7\n"), notMIDI, "PDF"},
		{"PNG", []byte("\x89PNG\r\n\x1A\n"), notMIDI, "picture"},
		{"GIF", []byte("GIF89a\x01"), notMIDI, "picture"},
		{"JPEG", []byte("\xFF\xD8\xFF\xE0"), notMIDI, "picture"},
		{"track without a header", track, notMIDI, "without its file header"},
		{"RIFF WAVE", RMID("WAVE", RIFF("data", sound)), notMIDI, "RIFF"},
		{"RIFF cut in its form type", cut(RMID("RMID"), 10), notMIDI, "RIFF"},
		{"RMID without data", RMID("RMID", RIFF("LIST", []byte("INFO"))), notMIDI, "no data chunk"},
		{"RMID cut before data", cut(RMID("RMID", RIFF("LIST", []byte("INFO")), RIFF("data", sound)), 26), notMIDI, "no data chunk"},
		{"RMID with other data", RMID("RMID", RIFF("data", []byte("wave"))), notMIDI, "does not hold"},
		{"RMID with empty data", RMID("RMID", RIFF("data", nil)), notMIDI, "does not hold"},

		{"only MThd", cut(sound, 4), unusable, "cut off inside its header"},
		{"cut in the header's length", cut(sound, 7), unusable, "cut off inside its header"},
		{"cut in the division", cut(sound, 13), unusable, "13 bytes, a header takes 14"},
		{"RMID cut in the header", cut(RMID("RMID", RIFF("data", sound)), 30), unusable, "cut off inside its header"},
		{"header of 0 bytes", withLength(0), unusable, "declares 0 bytes"},
		{"header of 5 bytes", withLength(5), unusable, "declares 5 bytes"},
		{"division 0", division(0), unusable, "0 ticks a quarter note"},
		{"division of 24 frames and 0 ticks", division(SMPTE(24, 0)), unusable, "0 ticks a frame"},
		{"division of 30 frames and 0 ticks", division(SMPTE(30, 0)), unusable, "0 ticks a frame"},
		{"division of 1 frame", division(SMPTE(1, 40)), unusable, "1 frame a second"},
		{"division of 23 frames", division(SMPTE(23, 40)), unusable, "23 frames a second"},
		{"division of 60 frames", division(SMPTE(60, 40)), unusable, "60 frames a second"},
		{"division of 128 frames", division(SMPTE(128, 40)), unusable, "128 frames a second"},

		{"no track", Header(0, 0, 96), unusable, "no track"},
		{"tracks declared and none there", Header(1, 3, 96), unusable, "no track"},
		{"only chunks of other types", append(slices.Clone(header), Chunk("XFIH", []byte("abc"))...), unusable, "no track"},
		{"second file holds the notes", slices.Concat(Header(0, 0, 96), sound), unusable, "no track"},
		{"track of no bytes", File(96, Raw()), unusable, "no notes"},
		{"only End of Track", File(96, Track()), unusable, "no notes"},
		{"only tempo and meter", File(96, Track(Tempo(0, 400000), Meter(0, 3, 2))), unusable, "no notes"},
		{"only controllers", File(96, Track(controllers)), unusable, "no notes"},
		{"only programs", File(96, Track(presses)), unusable, "no notes"},
		{"only note-ons of velocity 0", File(96, Track(On(0, 1, 60, 0), On(96, 1, 62, 0))), unusable, "no notes"},
		{"only note-offs", File(96, Track(Off(0, 1, 60), Off(96, 1, 62))), unusable, "no notes"},
		{"only system exclusive", File(96, Track([]byte("\x00\xF0\x05\x7E\x7F\x09\x01\xF7"))), unusable, "no notes"},
		{"only status bytes without a place", File(96, Track(Event(0, 0xF8), Event(0, 0xF1, 0x10), Event(0, 0xFE))), unusable, "no notes"},
		{"notes after End of Track", File(96, Raw(End(0), note)), unusable, "no notes"},
		{"notes after the declared length", slices.Concat(header, Raw(), note, End(0)), unusable, "no notes"},

		{"cut in the first track's header", cut(sound, 19), unusable, "cut off before its first note"},
		{"cut after the first track's header", short(), unusable, "cut off before its first note"},
		{"cut in the first delta time", short(0x81), unusable, "cut off before its first note"},
		{"cut in the first status", short(0x00), unusable, "cut off before its first note"},
		{"cut in the first pitch", short(0x00, 0x90), unusable, "cut off before its first note"},
		{"cut in the first velocity", short(0x00, 0x90, 60), unusable, "cut off before its first note"},
		{"cut in a name", short(append(VLQ(0), 0xFF, 3, 20, 'a', 'b')...), unusable, "cut off before its first note"},
		{"cut in a program", short(0x00, 0xC0), unusable, "cut off before its first note"},

		{"data without a status", after(0x00, 0x3C, 0x40), unusable, "without a status byte"},
		{"status in place of a pitch", after(0x00, 0x90, 0x90), unusable, "a status byte stands there in place of data"},
		{"status in place of a velocity", after(0x00, 0x90, 0x3C, 0xFF), unusable, "a status byte stands there in place of data"},
		{"status in place of a program", after(0x00, 0xC0, 0xC0), unusable, "a status byte stands there in place of data"},
		{"delta time of five bytes", after(0x81, 0x80, 0x80, 0x80, 0x00, 0x90, 60, 80), unusable, "more than 4 bytes"},
		{"delta time without end", File(96, Raw(bytes.Repeat([]byte{0x80}, 1000))), unusable, "more than 4 bytes"},
		{"name's length of five bytes", after(0x00, 0xFF, 3, 0x81, 0x80, 0x80, 0x80, 0x00), unusable, "more than 4 bytes"},
		{"name longer than its track", after(0x00, 0xFF, 3, 0xFF, 0xFF, 0xFF, 0x7F), unusable, "ends inside an event"},
		{"name of 4 GiB", after(0x00, 0xFF, 3, 0x8F, 0xFF, 0xFF, 0xFF, 0x7F), unusable, "more than 4 bytes"},
		{"system exclusive longer than its track", after(0x00, 0xF0, 0xFF, 0xFF, 0xFF, 0x7F), unusable, "ends inside an event"},
		{"system exclusive of 4 GiB", after(0x00, 0xF0, 0x8F, 0xFF, 0xFF, 0xFF, 0x7F), unusable, "more than 4 bytes"},
		{"meta event without a type", File(96, Raw([]byte{0x00, 0xFF})), unusable, "ends inside an event"},
		{"delta time without an event", File(96, Raw([]byte{0x00})), unusable, "ends inside an event"},

		{"25 hours at the slowest tempo", File(1, Track(Tempo(0, 0xFFFFFF), Note(5365, 1, 60, 1))), tooLarge, "hours; at most 24 hours"},
		{"one tick more than 24 hours", File(1, Track(Tempo(0, 10_000_000), Note(8640, 1, 60, 1))), tooLarge, "at most 24 hours"},
		{"note of 25 hours", File(1, Track(On(0, 1, 60, 80), Off(180_000, 1, 60))), tooLarge, "25 hours; at most 24 hours"},
		{"longer than can be counted", File(1, Track(Tempo(0, 0xFFFFFF), bytes.Repeat(Event(1<<28-1, 0xC0, 0), 20_000), note)), tooLarge, "longer than can be counted"},
		{"25 hours of SMPTE time", File(SMPTE(25, 40), Track(Note(90_000_000, 1, 60, 1))), tooLarge, "25.0001 hours; at most 24 hours"},
		{"SMPTE time longer than can be counted", File(SMPTE(24, 1), Track(bytes.Repeat(Event(1<<28-1, 0xC0, 0), 9000), note)), tooLarge, "longer than can be counted"},
		{"SMPTE time and positions beyond counting", File(SMPTE(24, 1), Track(Tempo(0, 1), Note(1<<28-1, 1, 60, 1))), tooLarge, "longer than can be counted"},
		{"bars of a 128th for hours", File(480, Track(Meter(0, 1, 7), Note(3_000_100, 1, 60, 1))), tooLarge, "more than 200000 bars"},
		{"a meter every tick", File(480, Track(bytes.Repeat(Meter(1, 4, 2), 200_001), note)), tooLarge, "more than 200000 bars"},
		{"a million events and one", File(96, Track(note, []byte{0, 0xC0, 0}, bytes.Repeat([]byte{0, 0}, 999_997))), tooLarge, "more than 1000000 events"},
		{"65 536 tracks", append(Header(1, 0xFFFF, 96), []byte(strings.Repeat("MTrk\x00\x00\x00\x00", 65_536))...), tooLarge, "65536 tracks"},
	}
}
