package unit

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Pitch is a MIDI note number, 0 to 127; 60 is C4 and 69 is A4.
type Pitch int

// LowestPitch and HighestPitch bound the MIDI note numbers.
const (
	LowestPitch  Pitch = 0
	HighestPitch Pitch = 127
)

// A4Hz is the tuning frequency of ISO 16:1975.
const A4Hz Hertz = 440

var names = [12]string{"C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"}

// String gives the name in scientific pitch notation with sharps: "C4" for 60, "C#-1" for 1.
func (p Pitch) String() string {
	octave := int(math.Floor(float64(p)/12)) - 1
	return names[((int(p)%12)+12)%12] + strconv.Itoa(octave)
}

// Frequency gives the equal-tempered frequency 440·2^((p − 69)/12) Hz, A4 = 440 Hz (ISO 16:1975).
func (p Pitch) Frequency() Hertz {
	return A4Hz * Hertz(math.Exp2(float64(p-69)/12))
}

// Class gives the pitch class, 0 for C to 11 for B.
func (p Pitch) Class() int { return ((int(p) % 12) + 12) % 12 }

// Valid reports whether p is a MIDI note number.
func (p Pitch) Valid() bool { return p >= LowestPitch && p <= HighestPitch }

// ParsePitch reads a name in scientific pitch notation, such as "C4", "f#5", "Bb3" or "E♭5", from C-1 to G9.
func ParsePitch(s string) (Pitch, error) {
	shown := s
	if r := []rune(s); len(r) > 20 {
		shown = string(r[:20]) + "…"
	}
	bad := fmt.Errorf("%q is not a note name; write a letter A to G, # or b where needed, and the octave, such as C#5", shown)
	rest := strings.NewReplacer("♯", "#", "♭", "b").Replace(strings.TrimSpace(s))
	if rest == "" || len(rest) > 5 {
		return 0, bad
	}
	step, ok := map[byte]int{'C': 0, 'D': 2, 'E': 4, 'F': 5, 'G': 7, 'A': 9, 'B': 11}[rest[0]&^0x20]
	if !ok {
		return 0, bad
	}
	rest = rest[1:]
	switch {
	case strings.HasPrefix(rest, "#"):
		step, rest = step+1, rest[1:]
	case strings.HasPrefix(rest, "b"):
		step, rest = step-1, rest[1:]
	}
	octave, err := strconv.Atoi(rest)
	if err != nil || strings.HasPrefix(rest, "+") {
		return 0, bad
	}
	p := Pitch(12*(octave+1) + step)
	if !p.Valid() {
		return 0, fmt.Errorf("%q lies outside the range of notes, C-1 to G9; choose one within it", shown)
	}
	return p, nil
}

// NoteName is a Pitch that is written in JSON as its name; it reads names and MIDI note numbers.
type NoteName Pitch

// Pitch gives the pitch that the name stands for.
func (n NoteName) Pitch() Pitch { return Pitch(n) }

// String gives the name.
func (n NoteName) String() string { return Pitch(n).String() }

// MarshalText writes the name, so that a NoteName can be the key of a JSON object too.
func (n NoteName) MarshalText() ([]byte, error) { return []byte(n.String()), nil }

// UnmarshalText reads a name.
func (n *NoteName) UnmarshalText(text []byte) error {
	p, err := ParsePitch(string(text))
	if err != nil {
		return err
	}
	*n = NoteName(p)
	return nil
}

// UnmarshalJSON reads a name or a MIDI note number.
func (n *NoteName) UnmarshalJSON(data []byte) error {
	var number int
	if json.Unmarshal(data, &number) == nil && string(data) != "null" {
		if !Pitch(number).Valid() {
			return fmt.Errorf("%d is not a MIDI note number; give 0 to 127 or a name such as C5", number)
		}
		*n = NoteName(number)
		return nil
	}
	var text string
	if err := json.Unmarshal(data, &text); err != nil {
		return errors.New("a note is a name such as C5 or a MIDI note number")
	}
	return n.UnmarshalText([]byte(text))
}
