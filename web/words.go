package web

import (
	"fmt"
	"math"
	"strconv"
	"strings"
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

var numerals = [...]string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"}

// count writes n and the thing in words: "no notes", "one note", "13 notes".
func count(n int, one, many string) string {
	number := strconv.Itoa(n)
	if n >= 0 && n < len(numerals) {
		number = numerals[n]
	}
	if n == 1 {
		return number + " " + one
	}
	return number + " " + many
}

// sentence sets the first letter as a capital.
func sentence(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// cost says what a remedy takes from the objective, or brings.
func cost(change float64) string {
	decimals := 0
	if strings.Contains(short(change, 2), ".") {
		decimals = 2
	}
	return costIn(change, decimals)
}

// costIn says it with the given number of decimals.
func costIn(change float64, decimals int) string {
	switch {
	case math.Abs(change) < 0.005:
		return "costs nothing"
	case change < 0:
		return "costs " + fixed(-change, decimals)
	}
	return "brings " + fixed(change, decimals)
}

// keyChange says by how many semitones the tune was transposed.
func keyChange(semitones int) string {
	switch {
	case semitones == 0:
		return "key as written"
	case semitones > 0:
		return "key " + count(semitones, "semitone", "semitones") + " up"
	}
	return "key " + count(-semitones, "semitone", "semitones") + " down"
}

// octaves says how far a note was moved.
func octaves(n int) string {
	switch {
	case n > 0:
		return count(n, "octave", "octaves") + " up"
	case n < 0:
		return count(-n, "octave", "octaves") + " down"
	}
	return "on its pitch"
}

// ended closes a sentence that has no point yet.
func ended(s string) string {
	if s == "" || strings.ContainsAny(s[len(s)-1:], ".?:") {
		return s
	}
	return s + "."
}

// place says where in the tune something stands: "bar 3, beat 2½".
func place(bar int, beat float64) string { return fmt.Sprintf("bar %d, beat %s", bar, short(beat, 2)) }
