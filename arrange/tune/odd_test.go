package tune_test

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	. "pinwright/arrange/tune/tunetest"
)

// An odd file is one that others play, however it was written: what is sound in it is read, and the remarks say what is not.
type odd struct {
	name    string
	data    []byte
	notes   []string // as shown
	remarks []string // a part of each, in order
}

func oddFiles() []odd {
	sound := Sound()
	note := Note(0, 1, 72, 96)
	one := []string{"t1c1 C5 0-500 1:1"}
	two := []string{"t1c1 C5 0-500 1:1", "t1c1 C5 500-1000 1:2"}
	each := []string{"t1c1 C5 0-500 1:1", "t2c2 E5 500-1000 1:2"}
	second := Track(Note(96, 2, 76, 96))
	header := Header(0, 1, 96)
	longTrack := func(size string, events ...[]byte) []byte {
		return slices.Concat(append([][]byte{[]byte("MTrk" + size)}, events...)...)
	}
	sysex := []byte("\x00\xF0\x05\x7E\x7F\x09\x01\xF7")
	return []odd{
		{"plain", sound, one, nil},

		// Containers and headers.
		{"RMID", RMID("RMID", RIFF("data", sound)), one, []string{"RIFF RMID"}},
		{"RMID with other chunks, padded", RMID("RMID", RIFF("LIST", []byte("INFOx")), RIFF("data", sound), RIFF("DISP", []byte("abc"))), one, []string{"RIFF RMID"}},
		{"RMID that declares more than there is", append(RMID("RMID")[:12], append([]byte("data\xFF\xFF\xFF\xFF"), sound...)...), one, []string{"RIFF RMID"}},
		{"behind a MacBinary header", append(make([]byte, 128), sound...), one, []string{"128 bytes before the MIDI header"}},
		{"places count from the start of what was sent", append(make([]byte, 128), File(96, Track(note, Off(0, 1, 72)))...), one, []string{"128 bytes before", "track 1, byte 158"}},
		{"behind a line of text", append([]byte("Content-Type: audio/midi\r\n\r\n"), sound...), one, []string{"28 bytes before"}},
		{"header of 10 bytes", slices.Concat(Chunk("MThd", []byte{0, 0, 0, 1, 0, 96, 1, 2, 3, 4}), Track(note)), one, []string{"10 bytes long; only the first 6"}},
		{"header longer than the file", slices.Concat([]byte("MThd\x00\xFF\xFF\xFF\x00\x00\x00\x01\x00\x60"), Track(note)), one, []string{"16777215 bytes, more than the file holds"}},
		{"header of 4 GiB", slices.Concat([]byte("MThd\xFF\xFF\xFF\xFF\x00\x00\x00\x01\x00\x60"), Track(note)), one, []string{"4294967295 bytes"}},
		{"format 3", Format(3, 96, Track(note), second), each, []string{"format 3"}},
		{"format 65 535", Format(0xFFFF, 96, Track(note)), one, []string{"format 65535"}},
		{"format 0 with two tracks", Format(0, 96, Track(note), second), each, []string{"has 2, read as sounding together"}},
		{"format 1 with one track", Format(1, 96, Track(note)), one, nil},

		// Numbers of tracks.
		{"fewer tracks than declared", slices.Concat(Header(1, 5, 96), Track(note), second), each, []string{"declares 5 tracks; the file holds 2"}},
		{"more tracks than declared", slices.Concat(Header(1, 1, 96), Track(note), second), each, []string{"declares 1 track; the file holds 2"}},
		{"65 535 tracks declared", slices.Concat(Header(1, 0xFFFF, 96), Track(note), second), each, []string{"declares 65535 tracks"}},
		{"no tracks declared", slices.Concat(Header(1, 0, 96), Track(note), second), each, []string{"declares 0 tracks"}},

		// Chunks.
		{"chunks of other types", slices.Concat(Header(1, 2, 96), Chunk("XFIH", []byte("abc")), Track(note), Chunk("XFKM"), second), each, []string{`2 chunks not of the type MTrk passed over (first "XFIH" at byte 14)`}},
		{"chunk of another type longer than the file", slices.Concat(Header(1, 2, 96), []byte("JUNK\xFF\xFF\xFF\xFF"), Track(note), second), each, []string{"no chunk"}},
		{"padding between tracks", slices.Concat(Header(1, 2, 96), Track(note), []byte{0}, second), each, []string{"no chunk"}},
		{"a byte after the last chunk", append(slices.Clone(sound), 0), one, []string{"after the last chunk were passed over (from byte 34)"}},
		{"kilobytes after the last chunk", append(slices.Clone(sound), make([]byte, 5000)...), one, []string{"after the last chunk"}},
		{"a second file behind", append(slices.Clone(sound), sound...), one, []string{"second MIDI file follows at byte 34"}},
		{"cut between tracks", slices.Concat(Header(1, 2, 96), Track(note), second[:4]), one, []string{"declares 2 tracks; the file holds 1", "ends inside track 2"}},
		{"cut in the second track's length", slices.Concat(Header(1, 2, 96), Track(note), second[:6]), one, []string{"declares 2 tracks; the file holds 1", "ends inside track 2"}},

		// Ends of tracks.
		{"no End of Track", File(96, Raw(note)), one, []string{"1 track without End of Track (track 1, byte 30)"}},
		{"End of Track twice", File(96, Raw(note, End(0), End(0))), one, []string{"after the End of Track of 1 track were not read (track 1, byte 34)"}},
		{"notes after End of Track", File(96, Raw(note, End(0), note)), one, []string{"after the End of Track"}},
		{"notes after the declared length", slices.Concat(header, Raw(note), note, End(0)), one, []string{"without End of Track", "after the last chunk"}},
		{"events between tracks", slices.Concat(Header(1, 2, 96), Raw(note), note, End(0), second), each, []string{"without End of Track", "no chunk"}},
		{"End of Track with data", File(96, Raw(note, Meta(0, 0x2F, 1, 2))), one, nil},
		{"track longer than the file", slices.Concat(header, longTrack("\x00\x00\x10\x00", note, End(0))), one, []string{"ends inside track 1; what is there, to byte 34, was read"}},
		{"track of 4 GiB before another", slices.Concat(Header(1, 2, 96), longTrack("\xFF\xFF\xFF\xFF", note, End(0)), second), each, []string{"ends inside track 1"}},
		{"cut after a note", slices.Concat(header, longTrack("\x00\x00\x00\x10", note)), one, []string{"ends inside track 1", "without End of Track"}},
		{"cut in the second note", slices.Concat(header, longTrack("\x00\x00\x00\x10", note, []byte{0, 0x90, 72})), one, []string{"ends inside track 1", "up to byte 32: it ends inside an event"}},
		{"cut while a note sounds", slices.Concat(header, longTrack("\x00\x00\x00\x10", On(0, 1, 72, 80), Event(96, 0xC0, 1), []byte{0x81})), one, []string{"ends inside track 1", "ends inside an event", "1 note never ended"}},

		// Status bytes.
		{"running status", File(96, Track(On(0, 1, 72, 80), []byte{96, 72, 0, 0, 72, 80, 96, 72, 0})), two, nil},
		{"running status after a name", File(96, Track(On(0, 1, 72, 80), Text(0, 1, "x"), []byte{96, 72, 0})), one, []string{"1 event without a status byte after a meta or system exclusive event read with the status before it (track 1, byte 32)"}},
		{"running status after system exclusive", File(96, Track(On(0, 1, 72, 80), sysex, []byte{96, 72, 0, 0, 72, 80}, []byte{96, 72, 0})), two, []string{"3 events without a status byte after a meta or system exclusive event"}},
		{"running status from the track before", File(96, Track(note), Raw([]byte{0, 72, 80})), one, []string{"Track 2 is read only up to byte 43: data stand there without a status byte"}},
		{"real-time bytes", File(96, Track(On(0, 1, 72, 80), Event(48, 0xF8), Event(48, 0xFE), Off(0, 1, 72))), one, []string{"2 status bytes without a place"}},
		{"undefined status bytes", File(96, Track(Event(0, 0xF4), Event(0, 0xF5), Event(0, 0xF9), Event(0, 0xFD), note)), one, []string{"4 status bytes"}},
		{"song position and select", File(96, Track(Event(0, 0xF2, 1, 2), Event(0, 0xF3, 5), Event(0, 0xF1, 0x20), Event(0, 0xF6), note)), one, []string{"4 status bytes"}},
		{"song position without data", File(96, Track([]byte{0, 0xF2}, Note(192, 1, 72, 96))), []string{"t1c1 C5 1000-1500 1:3"}, []string{"1 status byte without a place"}},
		{"system exclusive in pieces", File(96, Track([]byte("\x00\xF0\x03\x43\x12\x00\x00\xF7\x02\x01\xF7\x00\xF7\x01\xF8"), note)), one, nil},
		{"every channel message", File(96, Track(Event(0, 0xA0, 1, 2), Event(0, 0xB0, 7, 100), Event(0, 0xC0, 1), Event(0, 0xD0, 1), Event(0, 0xE0, 0, 64), note)), one, nil},

		// Damage within a track: what comes before stands, other tracks too.
		{"status in place of data", slices.Concat(Header(1, 2, 96), Raw(note, []byte{0, 0x90, 72, 0x80}), second), each, []string{"Track 1 is read only up to byte 33: a status byte stands there in place of data"}},
		{"delta time of five bytes", slices.Concat(Header(1, 2, 96), Raw(note, []byte{0x80, 0x80, 0x80, 0x80, 0, 0x90, 1, 1}), second), each, []string{"up to byte 30: a time or length there takes more than 4 bytes"}},
		{"delta time of four bytes", File(96, Track(On(0, 1, 72, 80), []byte{0x80, 0x80, 0x80, 0x60, 0x80, 72, 0})), one, nil},
		{"length of four bytes", File(96, Track([]byte{0, 0xFF, 1, 0x80, 0x80, 0x80, 1, 'x'}, note)), one, nil},
		{"name longer than its track", slices.Concat(Header(1, 2, 96), Raw(note, []byte{0, 0xFF, 3, 100}), second), each, []string{"ends inside an event"}},
		{"two damaged tracks", File(96, Raw(note, []byte{0, 0xC0, 0x90}), Raw(Note(96, 2, 76, 96), []byte{0, 0xC0, 0x90})), each, []string{"2 tracks are read only in part, track 1 only up to byte 32"}},

		// Notes.
		{"note-on of velocity 0", File(96, Track(On(0, 1, 72, 80), On(96, 1, 72, 0))), one, nil},
		{"note of no length", File(96, Track(Note(0, 1, 72, 0))), []string{"t1c1 C5 0-0 1:1"}, nil},
		{"note of no length on a bar line", File(96, Track(Note(384, 1, 72, 0))), []string{"t1c1 C5 2000-2000 2:1"}, nil},
		{"overlapping notes of one pitch", File(96, Track(On(0, 1, 72, 80), On(48, 1, 72, 80), Off(48, 1, 72), Off(96, 1, 72))), []string{"t1c1 C5 0-500 1:1", "t1c1 C5 250-1000 1:1.5"}, nil},
		{"two note-ons at once", File(96, Track(On(0, 1, 72, 80), On(0, 1, 72, 81), Off(48, 1, 72), Off(48, 1, 72))), []string{"t1c1 C5 0-250 1:1", "t1c1 C5 0-500 1:1"}, nil},
		{"one pitch on two channels", File(96, Track(On(0, 1, 72, 80), On(0, 2, 72, 80), Off(96, 2, 72), Off(96, 1, 72))), []string{"t1c1 C5 0-1000 1:1", "t1c2 C5 0-500 1:1"}, nil},
		{"notes never ended", File(96, Track(On(0, 1, 72, 80), On(96, 1, 72, 80), Event(96, 0xC0, 1))), []string{"t1c1 C5 0-1000 1:1", "t1c1 C5 500-1000 1:2"}, []string{"2 notes never ended; each sounds to the end of its track"}},
		{"note-off of another track", File(96, Raw(On(0, 1, 72, 80), End(96)), Track(Off(48, 1, 72))), one, []string{"1 note never ended", "1 note-off without a sounding note"}},
		{"note-off twice", File(96, Track(note, Off(0, 1, 72), Off(0, 1, 72))), one, []string{"2 note-offs without a sounding note ignored (first track 1, byte 30)"}},
		{"sustain pedal", File(96, Track(Event(0, 0xB0, 64, 127), note, Event(96, 0xB0, 64, 0))), one, []string{"1 press of the sustain pedal ignored"}},
		{"pitch bends", File(96, Track(Event(0, 0xE0, 0, 80), Event(0, 0xE0, 0, 20), Event(0, 0xE0, 0, 64), note)), one, []string{"2 pitch bends ignored"}},

		// Tempo, meter and key.
		{"tempo of 0", File(96, Track(Tempo(0, 0), note)), one, []string{"1 tempo change of 0 or cut short ignored (track 1, byte 22)"}},
		{"tempo of two bytes", File(96, Track(Meta(0, 0x51, 7, 0xA1), note)), one, []string{"tempo change of 0 or cut short"}},
		{"tempo of no bytes", File(96, Track(Meta(0, 0x51), note)), one, []string{"tempo change"}},
		{"tempo of four bytes", File(96, Track(Meta(0, 0x51, 3, 0xD0, 0x90, 9), note)), []string{"t1c1 C5 0-250 1:1"}, nil},
		{"tempo with a length in four bytes", File(96, Track([]byte{0, 0xFF, 0x51, 0x80, 0x80, 0x80, 3, 3, 0xD0, 0x90}, note)), []string{"t1c1 C5 0-250 1:1"}, nil},
		{"tempo in the last track", File(96, Track(note, note), Track(Tempo(96, 250000))), []string{"t1c1 C5 0-500 1:1", "t1c1 C5 500-750 1:2"}, nil},
		{"tempo twice at a tick", File(96, Track(Tempo(0, 1000), Tempo(0, 250000), note)), []string{"t1c1 C5 0-250 1:1"}, nil},
		{"tempo after the last note", File(96, Track(note, Tempo(96, 1), Event(1<<28-1, 0xC0, 1))), one, nil},
		{"slowest and fastest tempo", File(1, Track(Tempo(0, 0xFFFFFF), Note(0, 1, 72, 1), Tempo(0, 1), Note(0, 1, 72, 1))), []string{"t1c1 C5 0-16777.2 1:1", "t1c1 C5 16777.2-16777.2 1:2"}, nil},
		{"meter of no beats", File(96, Track(Meter(0, 0, 2), note)), one, []string{"1 impossible time signature ignored"}},
		{"meter in 256ths", File(96, Track(Meter(0, 4, 8), Meter(0, 4, 255), note)), one, []string{"2 impossible time signatures ignored"}},
		{"meter of one byte", File(96, Track(Meta(0, 0x58, 3), note)), one, []string{"impossible time signature"}},
		{"meter of two bytes", File(96, Track(Meta(0, 0x58, 1, 2), note, note)), []string{"t1c1 C5 0-500 1:1", "t1c1 C5 500-1000 2:1"}, nil},
		{"meter of six bytes", File(96, Track(Meta(0, 0x58, 1, 2, 24, 8, 0, 0), note, note)), []string{"t1c1 C5 0-500 1:1", "t1c1 C5 500-1000 2:1"}, nil},
		{"key of nine sharps", File(96, Track(Meta(0, 0x59, 9, 0), note)), one, []string{"1 impossible key signature ignored"}},
		{"key of no mode", File(96, Track(Meta(0, 0x59, 0, 2), Meta(0, 0x59, 0x80, 0), Meta(0, 0x59, 0), Meta(0, 0x59, 0xF9, 1), note)), one, []string{"3 impossible key signatures ignored"}},

		// Divisions.
		{"1 tick a quarter note", File(1, Track(Note(0, 1, 72, 1))), one, nil},
		{"32 767 ticks a quarter note", File(32767, Track(Note(0, 1, 72, 32767))), one, nil},
		{"24 frames", File(SMPTE(24, 100), Track(Note(2400, 1, 72, 1200))), []string{"t1c1 C5 1000-1500 1:3"}, nil},
		{"25 frames: ms", File(SMPTE(25, 40), Track(Note(0, 1, 72, 500))), one, nil},
		{"29.97 frames", File(SMPTE(29, 80), Track(Note(2400, 1, 72, 24000))), []string{"t1c1 C5 1001-11011 1:3.002"}, nil},
		{"30 frames", File(SMPTE(30, 80), Track(Note(2400, 1, 72, 24000))), []string{"t1c1 C5 1000-11000 1:3"}, nil},
		{"30 frames, tempo for bars alone", File(SMPTE(30, 100), Track(Tempo(0, 250000), Note(0, 1, 72, 1500), Tempo(0, 1000000), Note(0, 1, 72, 3000))), []string{"t1c1 C5 0-500 1:1", "t1c1 C5 500-1500 1:3"}, nil},

		{"meter long after the last SMPTE note", File(SMPTE(24, 1), Track(Note(0, 1, 72, 12), Meter(1<<28-1, 3, 2))), one, nil},

		// Format 2.
		{"sequences", Format(2, 96, Track(note), Raw(Tempo(0, 250000), Meter(0, 3, 2), note, End(300)), Track(note)), []string{"t1c1 C5 0-500 1:1", "t2c1 C5 2000-2250 2:1", "t3c1 C5 3500-4000 4:1"}, []string{"3 sequences were laid one after another"}},
		{"sequences without notes", Format(2, 96, Track(Tempo(0, 1)), Track(note), Track(Text(0, 3, "x")), Track(note), Track()), []string{"t2c1 C5 0-500 1:1", "t4c1 C5 2000-2500 2:1"}, []string{"5 sequences", "3 sequences without notes took no time (first track 1)"}},
		{"sequences in SMPTE time", Format(2, SMPTE(25, 40), Track(Tempo(0, 700000), Note(0, 1, 72, 100)), Track(Note(0, 1, 72, 500))), []string{"t1c1 C5 0-100 1:1", "t2c1 C5 2800-3300 2:1"}, []string{"2 sequences"}},
		{"sequence that ends between ticks", Format(2, 1, Track(Meter(0, 1, 5), Note(0, 1, 72, 1)), Track(Note(0, 1, 72, 1))), []string{"t1c1 C5 0-500 1:1", "t2c1 C5 500-1000 9:1"}, []string{"2 sequences"}},
		{"sequence of no length", Format(2, 96, Track(Note(0, 1, 72, 0)), Track(note)), []string{"t1c1 C5 0-0 1:1", "t2c1 C5 2000-2500 2:1"}, []string{"2 sequences"}},
		{"sequence of one short bar", Format(2, 96, Track(Meter(0, 1, 2), note), Track(note)), []string{"t1c1 C5 0-500 1:1", "t2c1 C5 500-1000 2:1"}, []string{"2 sequences"}},
	}
}

func TestOddFiles(t *testing.T) {
	for _, row := range oddFiles() {
		t.Run(row.name, func(t *testing.T) {
			got := mustRead(t, row.data)
			if !slices.Equal(shown(got), row.notes) {
				t.Errorf("notes %q\nwant  %q", shown(got), row.notes)
			}
			fits := len(got.Remarks) == len(row.remarks)
			for i := 0; fits && i < len(row.remarks); i++ {
				fits = strings.Contains(got.Remarks[i].String(), row.remarks[i])
			}
			if !fits {
				t.Errorf("remarks %q\nwant    %q", got.Remarks, row.remarks)
			}
		})
	}
}

// However much is wrong with a file, the list stays short and names each thing once.
func TestRemarksAreGrouped(t *testing.T) {
	events := bytes.Repeat(slices.Concat(Tempo(0, 0), Meter(0, 0, 0), Meta(0, 0x59, 99, 9), Off(0, 1, 60), On(0, 1, 61, 9), Event(0, 0xF8)), 1000)
	got := mustRead(t, File(96, Track(events), Track(events), Raw(events)))
	if len(got.Remarks) != 7 {
		t.Errorf("%d remarks: %q", len(got.Remarks), got.Remarks)
	}
	if want := "3000 note-offs without"; !strings.HasPrefix(got.Remarks[3].String(), want) {
		t.Errorf("remark %q, want %q", got.Remarks[3], want)
	}
}
