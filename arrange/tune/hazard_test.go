package tune_test

import (
	"bytes"
	"runtime"
	"slices"
	"strings"
	"testing"

	"pinwright/arrange/tune"
	. "pinwright/arrange/tune/tunetest"
)

// allocated gives the bytes that f allocates.
func allocated(f func()) int {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	f()
	runtime.ReadMemStats(&after)
	return int(after.TotalAlloc - before.TotalAlloc)
}

// dense gives about a MiB of notes in running status, six bytes a note, on and off.
func dense() []byte {
	events := []byte{0, 0x90, 60, 80, 10, 60, 0}
	for n := 1; len(events) < 1<<20-64; n++ {
		key := byte(36 + n*7%60)
		events = append(events, 0, key, 80, 10, key, 0)
	}
	return File(480, Track(events))
}

// What the library's own file reader does not survive (measured with v2.3.23), and what would cost the most memory.
func TestHazards(t *testing.T) {
	note := Note(0, 1, 60, 96)
	var tracks []byte
	for range 40_000 {
		tracks = append(tracks, Track(Text(0, 3, "x"))...)
	}
	tempos := slices.Concat(bytes.Repeat(slices.Concat(Tempo(1, 500_000), Tempo(1, 400_000)), 100_000), note)
	tests := []struct {
		name    string
		data    []byte
		notes   int // 0 where the file is refused
		ceiling int // bytes that may be allocated
	}{
		{"SMPTE division", File(SMPTE(25, 40), Track(note)), 1, 32 << 10},
		{"40 000 tracks", slices.Concat(Header(1, 40_001, 96), Track(note), tracks), 1, 1 << 20},
		{"text of 256 MiB", File(96, Track(note), Raw([]byte{0, 0xFF, 1, 0xFF, 0xFF, 0xFF, 0x7F})), 1, 32 << 10},
		{"text of 4 GiB", File(96, Track(note), Raw([]byte{0, 0xFF, 1, 0x8F, 0xFF, 0xFF, 0xFF, 0x7F})), 1, 32 << 10},
		{"system exclusive of 4 GiB", File(96, Track(note), Raw([]byte{0, 0xF0, 0x8F, 0xFF, 0xFF, 0xFF, 0x7F})), 1, 32 << 10},
		{"track of 4 GiB", slices.Concat(Header(0, 1, 96), []byte("MTrk\xFF\xFF\xFF\xFF"), note), 1, 32 << 10},
		{"200 000 tempo changes", File(480, Track(tempos)), 1, 28 << 20},
		{"header of 4 GiB", slices.Concat([]byte("MThd\xFF\xFF\xFF\xFF\x00\x00\x00\x01\x00\x60"), Track(note)), 1, 32 << 10},
		{"header of 8 bytes", slices.Concat(Chunk("MThd", []byte{0, 0, 0, 1, 0, 96, 0, 0}), Track(note)), 1, 32 << 10},

		{"a MiB of notes", dense(), 174_752, 24 << 20},
		{"a MiB of notes never ended", File(480, Track([]byte{0, 0x90}, bytes.Repeat([]byte{60, 80, 0}, 349_500), []byte{60, 80})), 349_501, 40 << 20},
		{"a million notes of one pitch, ended at once", File(480, Track([]byte{0, 0x90}, bytes.Repeat([]byte{60, 80, 0}, 499_000), []byte{60, 80}, bytes.Repeat([]byte{0, 60, 0}, 499_001))), 499_001, 56 << 20},
		{"a million blank names", File(480, Track(note, bytes.Repeat(Text(0, 3, " "), 990_000))), 1, 32 << 10},
		{"a million programs", File(480, Track(note, []byte{0, 0xC0, 1}, bytes.Repeat([]byte{0, 1}, 990_000))), 1, 32 << 10},
		{"60 000 tracks of a note", slices.Concat(Header(1, 60_000, 480), bytes.Repeat(Raw([]byte{0, 0x90, 60, 80}), 60_000)), 60_000, 20 << 20},
		{"60 000 sequences", slices.Concat(Header(2, 60_000, 480), bytes.Repeat(Track(Meter(0, 1, 2), Note(0, 1, 60, 9)), 60_000)), 60_000, 40 << 20},
		{"bars for hours", File(480, Track(Meter(0, 1, 7), Note(15*199_999, 1, 60, 15))), 1, 16 << 20},
		{"too many bars", File(480, Track(Meter(0, 1, 7), Note(15*200_000, 1, 60, 15))), 0, 32 << 10},
	}
	for _, row := range tests {
		t.Run(row.name, func(t *testing.T) {
			var got *tune.Tune
			var err error
			bytes := allocated(func() { got, err = tune.Read(row.data, tune.DefaultLimits) })
			switch {
			case err != nil && row.notes > 0:
				t.Fatal(err)
			case err == nil && len(got.Notes) != row.notes:
				t.Errorf("%d notes, want %d", len(got.Notes), row.notes)
			}
			t.Logf("%d bytes of file, %d allocated", len(row.data), bytes)
			if bytes > row.ceiling {
				t.Errorf("%d bytes allocated, want at most %d", bytes, row.ceiling)
			}
		})
	}
}

// However many notes of one pitch sound together, each note-off ends the earliest of them.
func TestOverlapsEndInOrder(t *testing.T) {
	const n = 100_000
	got := mustRead(t, File(480, Track([]byte{0, 0x90}, bytes.Repeat([]byte{60, 80, 1}, n-1), []byte{60, 80}, bytes.Repeat([]byte{1, 60, 0}, n))))
	if len(got.Notes) != n {
		t.Fatalf("%d notes, want %d", len(got.Notes), n)
	}
	want := got.Notes[0].EndMs - got.Notes[0].OnsetMs
	for i, note := range got.Notes {
		if d := note.EndMs - note.OnsetMs - want; d > 1e-6 || d < -1e-6 {
			t.Fatalf("note %d lasts %v ms, want %v", i, note.EndMs-note.OnsetMs, want)
		}
	}
}

func BenchmarkRead(b *testing.B) {
	files := []struct {
		name string
		data []byte
	}{
		{"dense 1 MiB", dense()},
		{"400 notes", File(480, Track([]byte(strings.Repeat(string(Note(0, 1, 60, 240)), 400))))},
	}
	for _, f := range files {
		b.Run(f.name, func(b *testing.B) {
			b.SetBytes(int64(len(f.data)))
			b.ReportAllocs()
			for b.Loop() {
				if _, err := tune.Read(f.data, tune.DefaultLimits); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
