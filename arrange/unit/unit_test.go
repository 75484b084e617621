package unit_test

import (
	"encoding/json"
	"math"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange/unit"
)

// TestFrequency holds pitches against the table of equal temperament on ISO 16:1975 (A4 = 440 Hz), computed elsewhere from
// f = 440·2^((m − 69)/12). Tolerance 1e-6 Hz.
func TestFrequency(t *testing.T) {
	for i, row := range []struct {
		name string
		hz   float64
	}{
		{"C3", 130.812783}, {"C#3", 138.591315}, {"D3", 146.832384}, {"D#3", 155.563492}, {"E3", 164.813778}, {"F3", 174.614116},
		{"F#3", 184.997211}, {"G3", 195.997718}, {"G#3", 207.652349}, {"A3", 220.0}, {"A#3", 233.081881}, {"B3", 246.941651},
		{"C4", 261.625565}, {"C#4", 277.182631}, {"D4", 293.664768}, {"D#4", 311.126984}, {"E4", 329.627557}, {"F4", 349.228231},
		{"F#4", 369.994423}, {"G4", 391.995436}, {"G#4", 415.304698}, {"A4", 440.0}, {"A#4", 466.163762}, {"B4", 493.883301},
		{"C5", 523.251131}, {"C#5", 554.365262}, {"D5", 587.329536}, {"D#5", 622.253967}, {"E5", 659.255114}, {"F5", 698.456463},
		{"F#5", 739.988845}, {"G5", 783.990872}, {"G#5", 830.609395}, {"A5", 880.0}, {"A#5", 932.327523}, {"B5", 987.766603},
		{"C6", 1046.502261}, {"C#6", 1108.730524}, {"D6", 1174.659072}, {"D#6", 1244.507935}, {"E6", 1318.510228}, {"F6", 1396.912926},
		{"F#6", 1479.977691}, {"G6", 1567.981744}, {"G#6", 1661.21879}, {"A6", 1760.0}, {"A#6", 1864.655046}, {"B6", 1975.533205},
		{"C7", 2093.004522}, {"C#7", 2217.461048}, {"D7", 2349.318143}, {"D#7", 2489.01587}, {"E7", 2637.020455}, {"F7", 2793.825851},
		{"F#7", 2959.955382}, {"G7", 3135.963488}, {"G#7", 3322.437581}, {"A7", 3520.0}, {"A#7", 3729.310092}, {"B7", 3951.06641},
		{"C8", 4186.009045},
	} {
		p, err := unit.ParsePitch(row.name)
		if err != nil {
			t.Fatal(err)
		}
		if want := unit.Pitch(48 + i); p != want || p.String() != row.name {
			t.Errorf("%s is %d, %v; want %d", row.name, p, p, want)
		}
		if got := float64(p.Frequency()); math.Abs(got-row.hz) > 1e-6 {
			t.Errorf("%s sounds at %v Hz, want %v", row.name, got, row.hz)
		}
	}
}

// TestInterval checks intervals in cents, 1200·log2 of the ratio: an octave is 1200 exactly, and the ratio of one cent is
// 1.0005777895 (computed elsewhere, tolerance 1e-6 cent).
func TestInterval(t *testing.T) {
	for p := unit.LowestPitch; p < unit.HighestPitch; p++ {
		cents := 1200 * math.Log2(float64((p+1).Frequency()/p.Frequency()))
		if math.Abs(cents-100) > 1e-6 {
			t.Errorf("%v to %v is %v cents, want 100", p, p+1, cents)
		}
	}
	if got := math.Pow(float64(unit.Pitch(70).Frequency()/unit.Pitch(69).Frequency()), 0.01); math.Abs(got-1.0005777895) > 1e-9 {
		t.Errorf("a hundredth of a semitone is the ratio %v, want 1.0005777895", got)
	}
}

func TestParsePitch(t *testing.T) {
	for _, row := range []struct {
		in   string
		want unit.Pitch
	}{
		{"C4", 60}, {"A4", 69}, {"C-1", 0}, {"G9", 127}, {"f#5", 78}, {"Gb5", 78}, {"Bb3", 58}, {"bb3", 58}, {"b3", 59}, {"E♭5", 75},
		{"F♯5", 78}, {" C4 ", 60}, {"Cb4", 59}, {"B#4", 72}, {"C#-1", 1},
	} {
		if got, err := unit.ParsePitch(row.in); err != nil || got != row.want {
			t.Errorf("%q is %v, %v; want %d", row.in, got, err, row.want)
		}
	}
	for _, in := range []string{"", " ", "C", "4", "H4", "C##4", "Cx4", "C+4", "C 4", "C4.5", "G#9", "Cb-1", "C10", "C-2", "C999", "Do4", "#4", "c5c5c5", "C\x004", "C٤"} {
		if got, err := unit.ParsePitch(in); err == nil {
			t.Errorf("%q is %v, want an error", in, got)
		}
	}
}

func TestNoteNameJSON(t *testing.T) {
	for _, row := range []struct {
		in   string
		want unit.NoteName
		ok   bool
	}{
		{`"C5"`, 72, true}, {`72`, 72, true}, {`0`, 0, true}, {`127`, 127, true}, {`"72"`, 0, false}, {`128`, 0, false}, {`-1`, 0, false}, {`7.5`, 0, false},
		{`null`, 0, false}, {`[]`, 0, false}, {`""`, 0, false}, {`true`, 0, false},
	} {
		var n unit.NoteName
		err := json.Unmarshal([]byte(row.in), &n)
		if (err == nil) != row.ok || err == nil && n != row.want {
			t.Errorf("%s is %v, %v; want %v, %v", row.in, n, err, row.want, row.ok)
		}
	}
}

// TestPitchLaws: every pitch has one name that is read back, also as a key of a JSON object; octaves double the frequency.
func TestPitchLaws(t *testing.T) {
	for p := unit.LowestPitch; p <= unit.HighestPitch; p++ {
		if got, err := unit.ParsePitch(p.String()); err != nil || got != p {
			t.Errorf("%v is read as %v, %v", p, got, err)
		}
		if p+12 <= unit.HighestPitch && ((p+12).Class() != p.Class() || math.Abs(float64((p+12).Frequency()/p.Frequency())-2) > 1e-12) {
			t.Errorf("%v is not an octave above %v", p+12, p)
		}
		data, err := json.Marshal(map[unit.NoteName]int{unit.NoteName(p): 1})
		var back map[unit.NoteName]int
		if err != nil || json.Unmarshal(data, &back) != nil || back[unit.NoteName(p)] != 1 {
			t.Errorf("%s does not come back", data)
		}
	}
}

// TestRounding: quantities are written to a millionth, without a negative zero, and what was written once is written the same again.
func TestRounding(t *testing.T) {
	for _, row := range []struct {
		in   unit.Millimetres
		want string
	}{{0, "0"}, {-1e-9, "0"}, {1e-7, "0"}, {13, "13"}, {40.840704496667311, "40.840704"}, {-0.0000015, "-0.000002"}, {1e9, "1000000000"}} {
		if got, err := json.Marshal(row.in); err != nil || string(got) != row.want {
			t.Errorf("%v is written %s, %v; want %s", float64(row.in), got, err, row.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		first, err := json.Marshal(unit.Milliseconds(rapid.Float64Range(-1e8, 1e8).Draw(t, "ms")))
		if err != nil {
			t.Fatal(err)
		}
		var back unit.Milliseconds
		if err := json.Unmarshal(first, &back); err != nil {
			t.Fatal(err)
		}
		if second, err := json.Marshal(back); err != nil || string(second) != string(first) {
			t.Fatalf("%s becomes %s, %v", first, second, err)
		}
	})
}
