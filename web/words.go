package web

import (
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// fixed writes v with the given number of decimals and a thin space between thousands.
func fixed[N ~float64](v N, decimals int) string {
	s := strconv.FormatFloat(float64(v), 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	whole, fraction, _ := strings.Cut(s, ".")
	sign := ""
	if strings.HasPrefix(whole, "-") {
		sign, whole = "−", whole[1:]
	}
	// Four figures stand together; from five on they are set in threes.
	if len(whole) > 4 {
		for i := len(whole) - 3; i > 0; i -= 3 {
			whole = whole[:i] + "\u202f" + whole[i:]
		}
	}
	if fraction != "" {
		fraction = "." + fraction
	}
	return sign + whole + fraction
}

// short writes v with at most the given number of decimals, without trailing zeros.
func short[N ~float64](v N, decimals int) string {
	s := fixed(v, decimals)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// sentence sets the first letter as a capital.
func sentence(s string) string {
	first, size := utf8.DecodeRuneInString(s)
	if size == 0 {
		return s
	}
	return string(unicode.ToUpper(first)) + s[size:]
}

// cost says what a remedy takes from the objective, or brings.
func (s Shown) cost(change float64) string {
	decimals := 0
	if strings.Contains(short(change, 2), ".") {
		decimals = 2
	}
	return s.costIn(change, decimals)
}

// costIn says it with the given number of decimals.
func (s Shown) costIn(change float64, decimals int) string {
	switch {
	case math.Abs(change) < 0.005:
		return s.say("costs nothing")
	case change < 0:
		return s.say("costs {1}", fixed(-change, decimals))
	}
	return s.say("brings {1}", fixed(change, decimals))
}

// keyChange says by how many semitones the tune was transposed.
func (s Shown) keyChange(semitones int) string {
	switch {
	case semitones == 0:
		return s.say("Key as written.")
	case semitones > 0:
		return s.count(semitones, "Key one semitone up.", "Key {1} semitones up.")
	}
	return s.count(-semitones, "Key one semitone down.", "Key {1} semitones down.")
}

// octaves says how far a note was moved.
func (s Shown) octaves(n int) string {
	switch {
	case n > 0:
		return s.count(n, "one octave up", "{1} octaves up")
	case n < 0:
		return s.count(-n, "one octave down", "{1} octaves down")
	}
	return s.say("on its pitch")
}

// ended closes a sentence that has no point yet.
func ended(s string) string {
	if s == "" || strings.ContainsAny(s[len(s)-1:], ".?:") {
		return s
	}
	return s + "."
}

// place says where in the tune something stands: "bar 3, beat 2.5".
func (s Shown) place(bar int, beat float64) string {
	return s.say("bar {1}, beat {2}", bar, short(beat, 2))
}
