package tune_test

import (
	"fmt"
	"slices"
	"testing"

	. "pinwright/arrange/tune/tunetest"
)

func TestBars(t *testing.T) {
	beat := Note(0, 1, 60, 96) // one quarter note
	beats := func(n int) (b []byte) {
		for range n {
			b = append(b, beat...)
		}
		return b
	}
	tests := []struct {
		name string
		data []byte
		want []string // number meter start-end in quarters
	}{
		{"one bar", File(96, Track(beats(4))), []string{"1 4/4 0-4"}},
		{"no meter is 4/4", File(96, Track(beats(5))), []string{"1 4/4 0-4", "2 4/4 4-8"}},
		{"waltz", File(96, Track(Meter(0, 3, 2), beats(6))), []string{"1 3/4 0-3", "2 3/4 3-6"}},
		{"eighths", File(96, Track(Meter(0, 6, 3), beats(4))), []string{"1 6/8 0-3", "2 6/8 3-6"}},
		{"whole notes", File(96, Track(Meter(0, 1, 0), beats(5))), []string{"1 1/1 0-4", "2 1/1 4-8"}},
		{"a bar of rest first", File(96, Track(Note(384, 1, 60, 96))), []string{"1 4/4 0-4", "2 4/4 4-8"}},
		{"change on a bar line", File(96, Track(beats(8), Meter(0, 3, 2), beats(3))), []string{"1 4/4 0-4", "2 4/4 4-8", "3 3/4 8-11"}},
		{"change inside a bar", File(96, Track(beats(6), Meter(0, 3, 2), beats(3))), []string{"1 4/4 0-4", "2 4/4 4-6", "3 3/4 6-9"}},
		{"the same meter again on a bar line", File(96, Track(beats(4), Meter(0, 4, 2), beats(4))), []string{"1 4/4 0-4", "2 4/4 4-8"}},
		{"change in the last bar, after the notes", File(96, Track(beats(1), Meter(96, 3, 2))), []string{"1 4/4 0-4"}},
		{"two changes at a tick", File(96, Track(Meter(0, 3, 2), Meter(0, 2, 2), beats(2))), []string{"1 2/4 0-2"}},
		{"change in another track", File(96, Track(beats(4)), Track(Meter(0, 2, 2))), []string{"1 2/4 0-2", "2 2/4 2-4"}},

		{"pick-up with a meter of its own", File(96, Track(Meter(0, 1, 2), beats(1), Meter(0, 4, 2), beats(8))), []string{"0 1/4 0-1", "1 4/4 1-5", "2 4/4 5-9"}},
		{"pick-up cut short", File(96, Track(Meter(0, 4, 2), beats(1), Meter(0, 4, 2), beats(4))), []string{"0 4/4 0-1", "1 4/4 1-5"}},
		{"pick-up of the default meter", File(96, Track(beats(2), Meter(0, 3, 2), beats(3))), []string{"0 4/4 0-2", "1 3/4 2-5"}},
		{"pick-up before a meter in eighths", File(96, Track(Meter(0, 1, 3), Note(0, 1, 60, 48), Meter(0, 6, 3), beats(3))), []string{"0 1/8 0-0.5", "1 6/8 0.5-3.5"}},
		{"two short bars are no pick-up", File(96, Track(Meter(0, 1, 2), beats(2), Meter(0, 4, 2), beats(4))), []string{"1 1/4 0-1", "2 1/4 1-2", "3 4/4 2-6"}},
		{"a first bar as long as the next", File(96, Track(Meter(0, 3, 2), beats(3), Meter(0, 6, 3), beats(3))), []string{"1 3/4 0-3", "2 6/8 3-6"}},
		{"a first bar longer than the next", File(96, Track(beats(4), Meter(0, 3, 2), beats(3))), []string{"1 4/4 0-4", "2 3/4 4-7"}},
		{"nothing after the short bar", File(96, Track(Meter(0, 1, 2), beats(1), Meter(0, 4, 2))), []string{"1 1/4 0-1"}},
		{"a short first sequence is no pick-up", Format(2, 96, Track(Meter(0, 1, 2), beats(1)), Track(beats(1))), []string{"1 1/4 0-1", "2 4/4 1-5"}},
		{"nor before one with a meter of its own", Format(2, 96, Track(Meter(0, 1, 2), beats(1)), Track(Meter(0, 3, 2), beats(1))), []string{"1 1/4 0-1", "2 3/4 1-4"}},

		{"128ths at 24 ticks a quarter lie between ticks", File(24, Track(Meter(0, 1, 7), Note(0, 1, 60, 2))), []string{"1 1/128 0-0.03125", "2 1/128 0.03125-0.0625", "3 1/128 0.0625-0.09375"}},
		{"SMPTE", File(SMPTE(25, 40), Track(Meter(0, 2, 2), Note(0, 1, 60, 1500))), []string{"1 2/4 0-2", "2 2/4 2-4"}},
		{"SMPTE with a tempo that fits no tick", File(SMPTE(25, 40), Track(Tempo(0, 700_000), Note(2799, 1, 60, 1), Note(0, 1, 60, 10))), []string{"1 4/4 0-4", "2 4/4 4-8"}},
		{"29.97 frames: a bar in the middle of frames", File(SMPTE(29, 1), Track(Tempo(0, 1_001_000), Note(119, 1, 60, 1), Note(0, 1, 60, 1))), []string{"1 4/4 0-4", "2 4/4 4-8"}},
	}
	for _, row := range tests {
		t.Run(row.name, func(t *testing.T) {
			got := mustRead(t, row.data)
			var bars []string
			for _, b := range got.Bars {
				bars = append(bars, fmt.Sprintf("%d %d/%d %v-%v", b.Number, b.Beats, b.Unit, b.StartQuarter, b.EndQuarter))
			}
			if !slices.Equal(bars, row.want) {
				t.Errorf("bars %q\nwant %q", bars, row.want)
			}
		})
	}
}

func TestBeats(t *testing.T) {
	tests := []struct {
		name string
		data []byte
		want []string
	}{
		{"in eighths", File(96, Track(Meter(0, 6, 3), Note(48, 1, 60, 48), Note(48, 1, 62, 24), Note(144, 1, 64, 24))), []string{"t1c1 C4 250-500 1:2", "t1c1 D4 750-875 1:4", "t1c1 E4 1625-1750 2:1.5"}},
		{"in halves", File(96, Track(Meter(0, 2, 1), Note(96, 1, 60, 96), Note(96, 1, 62, 96))), []string{"t1c1 C4 500-1000 1:1.5", "t1c1 D4 1500-2000 1:2.5"}},
		{"triplets", File(480, Track(Note(160, 1, 60, 160), Note(0, 1, 62, 160))), []string{"t1c1 C4 166.667-333.333 1:1.33333", "t1c1 D4 333.333-500 1:1.66667"}},
		{"in a pick-up", File(96, Track(Meter(0, 1, 2), Note(48, 1, 60, 48), Meter(0, 3, 2), Note(0, 1, 62, 96))), []string{"t1c1 C4 250-500 0:1.5", "t1c1 D4 500-1000 1:1"}},
		{"on the bar line of a meter that starts between beats", File(480, Track(Note(0, 1, 60, 7), Meter(0, 3, 2), Note(1440, 1, 62, 1))), []string{"t1c1 C4 0-7.29167 0:1", "t1c1 D4 1507.29-1508.33 2:1"}},
		{"on SMPTE's bar line", File(SMPTE(25, 40), Track(Tempo(0, 700_000), Note(2800, 1, 60, 10))), []string{"t1c1 C4 2800-2810 2:1"}},
		{"on SMPTE's bar line after a change of tempo", File(SMPTE(30, 8), Track(Tempo(0, 700_001), Tempo(7, 333_333), Meter(0, 3, 2), Tempo(3, 1_000_000), Note(720, 1, 60, 10))), []string{"t1c1 C4 3041.67-3083.33 2:1.0375"}},
	}
	for _, row := range tests {
		t.Run(row.name, func(t *testing.T) {
			if got := shown(mustRead(t, row.data)); !slices.Equal(got, row.want) {
				t.Errorf("notes %q\nwant  %q", got, row.want)
			}
		})
	}
}

func TestTempos(t *testing.T) {
	note := Note(0, 1, 60, 96)
	tests := []struct {
		name string
		data []byte
		want []string // ms: bpm
	}{
		{"none", File(96, Track(note)), []string{"0: 120"}},
		{"at the start", File(96, Track(Tempo(0, 1_000_000), note)), []string{"0: 60"}},
		{"later", File(96, Track(note, Tempo(0, 1_000_000), note)), []string{"0: 120", "500: 60"}},
		{"the same again", File(96, Track(note, Tempo(0, 500_000), note)), []string{"0: 120"}},
		{"back and forth at a tick", File(96, Track(note, Tempo(0, 1_000_000), Tempo(0, 500_000), note)), []string{"0: 120"}},
		{"after the last note", File(96, Track(note, Tempo(10, 1_000_000))), []string{"0: 120"}},
		{"in any order of tracks", File(96, Track(note, note, note), Track(Tempo(192, 250_000)), Track(Tempo(96, 1_000_000))), []string{"0: 120", "500: 60", "1500: 240"}},
		{"a sequence starts from 120 again", Format(2, 96, Track(Tempo(0, 250_000), note), Track(note)), []string{"0: 240", "1000: 120"}},
		{"SMPTE", File(SMPTE(25, 40), Track(Tempo(1000, 600_000), note, Tempo(0, 300_000), note)), []string{"0: 120", "1000: 100", "1096: 200"}},
	}
	for _, row := range tests {
		t.Run(row.name, func(t *testing.T) {
			var got []string
			for _, c := range mustRead(t, row.data).Tempos {
				got = append(got, fmt.Sprintf("%.7g: %v", float64(c.AtMs), float64(c.BPM)))
			}
			if !slices.Equal(got, row.want) {
				t.Errorf("tempos %q\nwant   %q", got, row.want)
			}
		})
	}
}

func TestNames(t *testing.T) {
	long := func(s string, n int) (b string) {
		for range n {
			b += s
		}
		return b
	}
	tests := []struct {
		name, text, want string
		remark           string // its encoding, where it is not UTF-8
	}{
		{"ASCII", "Lullaby", "Lullaby", ""},
		{"UTF-8", "Ständchen 夜 ♫", "Ständchen 夜 ♫", ""},
		{"Windows-1252", "F\xFCr Ren\xE9e \x96 na\xEFv\xE9t\xE9", "Für Renée – naïvété", "Windows-1252"},
		{"Windows-1252, undefined byte", "a\x81b\xE9", "a\uFFFDbé", "Windows-1252"},
		{"Windows-1252 that could be one kanji", "M\xE9nuet", "Ménuet", "Windows-1252"},
		{"Shift-JIS", "\x93\x8C\x8B\x9E", "東京", "Shift-JIS"},
		{"Shift-JIS with letters", "BGM \x82\xB3\x82\xAD\x82\xE7 2", "BGM さくら 2", "Shift-JIS"},
		{"control characters", "\x00A\x07\tbell\r\n\x7F", "A bell", ""},
		{"turned writing", "abc\u202Edef\u200B", "abcdef", ""},
		{"byte order mark", "\uFEFFMarch", "March", ""},
		{"199 characters", long("é", 199), long("é", 199), ""},
		{"201 characters", long("é", 201), long("é", 200), ""},
		{"a thousand and one bytes, cut in a character", long("夜", 500), long("夜", 200), ""},
		{"Shift-JIS cut in a character", "x" + long("\x93\x8C", 600), "x" + long("東", 199), "Shift-JIS"},
		{"only spaces", "   ", "", ""},
	}
	for _, row := range tests {
		t.Run(row.name, func(t *testing.T) {
			got := mustRead(t, File(96, Track(Text(0, 3, row.text), Note(0, 1, 60, 96))))
			if got.Title != row.want || got.Parts[0].Name != row.want {
				t.Errorf("title %q, part %q; want %q", got.Title, got.Parts[0].Name, row.want)
			}
			want := "[]"
			if row.remark != "" {
				want = "[1 name not in UTF-8 read as " + row.remark + " (track 1, byte 22).]"
			}
			if said := fmt.Sprint(got.Remarks); said != want {
				t.Errorf("remarks %s, want %s", said, want)
			}
		})
	}
}
