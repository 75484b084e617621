package project

import (
	"encoding/json"
	"math"
	"strconv"
	"strings"

	"pinwright/arrange/unit"
)

func itoa(n int) string { return strconv.Itoa(n) }

// figure writes a number with at most the given decimals, without trailing zeros.
func figure(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}

// ms writes a time: whole milliseconds from 100 on, tenths below.
func ms(t unit.Milliseconds) string {
	if math.Abs(float64(t)) >= 100 {
		return figure(float64(t), 0) + " ms"
	}
	return figure(float64(t), 1) + " ms"
}

// shortfall writes what there is and what is needed with as many decimals as tell them apart.
func shortfall(have, need unit.Milliseconds) (string, string) {
	for decimals := 0; ; decimals++ {
		h, n := figure(float64(have), decimals), figure(float64(need), decimals)
		if h != n || decimals == 3 {
			return h + " ms", n + " ms"
		}
	}
}

// beat writes a beat: whole where it is whole.
func beat(b float64) string { return figure(b, 2) }

// plural writes a count with its noun.
func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return itoa(n) + " " + many
}

// octavesMoved says how far a note was moved: "an octave up", "two octaves down".
func octavesMoved(o int) string {
	s := "an octave"
	if o == 2 || o == -2 {
		s = "two octaves"
	}
	if o > 0 {
		return s + " up"
	}
	return s + " down"
}

// joined lists at most n items, separated by commas.
func joined(items []string, n int) string { return joinedWith(items, n, ", ") }

func joinedWith(items []string, n int, separator string) string {
	if len(items) > n {
		return strings.Join(items[:n], separator) + separator + itoa(len(items)-n) + " more"
	}
	return strings.Join(items, separator)
}

// changedFields names the fields of a partial setup with their values, such as "cylinder.gapDeg 20".
func changedFields(change []byte) string {
	var fields []string
	var walk func(name string, data json.RawMessage)
	walk = func(name string, data json.RawMessage) {
		var members map[string]json.RawMessage
		if json.Unmarshal(data, &members) != nil || members == nil {
			fields = append(fields, name+" "+short(data))
			return
		}
		for _, k := range sortedKeys(members) {
			walk(strings.TrimPrefix(name+"."+k, "."), members[k])
		}
	}
	walk("", change)
	return joined(fields, 6)
}
