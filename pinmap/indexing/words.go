package indexing

import (
	"math"
	"strconv"
	"strings"

	"pinwright/pinmap"
)

// Crank gives a count of a dividing head as turns and holes of the whole cylinder's circle.
func (t *Table) Crank(count int64) Crank { return crank(count, t.Circle) }

// Setting gives the setting of a hole in words for the bench: "3 turns 16 holes on the 18 circle", "12° 20′ 30″", "12.3°", "division 41",
// "step 1 234", "12.34 mm", "the datum line"; "" for the wrap.
func (t *Table) Setting(r Row) string {
	n := r.Count
	if n == t.whole {
		n = 0
	}
	switch {
	case t.Method == pinmap.Wrap:
		return ""
	case t.Method == pinmap.Degrees:
		return decimal(n, float64(t.bench.LeastDeg)) + "°"
	case t.Method == pinmap.Sixties:
		return sixties(n, t.bench.LeastSec)
	case t.Method == pinmap.Vernier:
		return decimal(n, float64(t.bench.LeastMm)) + " mm"
	case n == 0:
		return "the datum line"
	case t.Method == pinmap.Head:
		return t.Crank(n).String()
	case t.Method == pinmap.Wheel:
		return "division " + grouped(n)
	default:
		return "step " + grouped(n)
	}
}

// MoveWords gives the move to a hole from the one drilled before in words for the bench: "1 turn 3 holes on the 18 circle", "23 divisions",
// "1 234 steps", "no move"; "" for what is read on a scale, measured or wrapped.
func (t *Table) MoveWords(r Row) string {
	switch n := r.Move; {
	case !t.Counts():
		return ""
	case n == 0:
		return "no move"
	case t.Method == pinmap.Head:
		return t.Crank(n).String()
	case t.Method == pinmap.Wheel:
		return counted(n, "division", "divisions")
	default:
		return counted(n, "step", "steps")
	}
}

func counted(n int64, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return grouped(n) + " " + many
}

// grouped writes a whole number with a no-break space before each three figures.
func grouped(n int64) string {
	s := strconv.FormatInt(n, 10)
	for i := len(s) - 3; i > 0 && s[i-1] != '-'; i -= 3 {
		s = s[:i] + "\u00a0" + s[i:]
	}
	return s
}

// places gives the decimals that a least division needs.
func places(least float64) int {
	_, after, _ := strings.Cut(strconv.FormatFloat(least, 'f', -1, 64), ".")
	return min(len(after), 6)
}

// decimal writes a count of a least division.
func decimal(count int64, least float64) string {
	return strconv.FormatFloat(float64(count)*least, 'f', places(least), 64)
}

// sixties writes a count of seconds of arc in degrees, minutes and seconds; no seconds where none can be set.
func sixties(count int64, least float64) string {
	p := places(least)
	one := int64(math.Pow10(p)) // of a second
	all := int64(math.Round(float64(count) * least * float64(one)))
	s := strconv.FormatInt(all/(3600*one), 10) + "° " + two(all/(60*one)%60) + "′"
	if math.Mod(least, 60) == 0 {
		return s
	}
	seconds := strconv.FormatFloat(float64(all%(60*one))/float64(one), 'f', p, 64)
	if all%(60*one) < 10*one {
		seconds = "0" + seconds
	}
	return s + " " + seconds + "″"
}

func two(n int64) string {
	if n < 10 {
		return "0" + strconv.FormatInt(n, 10)
	}
	return strconv.FormatInt(n, 10)
}
