package project

import (
	"encoding/json"
	"math"
	"strconv"
	"strings"

	"pinwright/arrange/phrase"
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

// signed writes a number with its sign: "+3".
func signed(n int) string {
	if n >= 0 {
		return "+" + itoa(n)
	}
	return itoa(n)
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

// joined lists at most n items, separated by commas.
func joined(items []string, n int) phrase.Phrase {
	if len(items) > n {
		return phrase.Of("{1}, {2} more", strings.Join(items[:n], ", "), len(items)-n)
	}
	return phrase.Text(strings.Join(items, ", "))
}

// changedFields names the fields of a partial setup with their values, such as "cylinder.gapDeg 20".
func changedFields(change []byte) phrase.Phrase {
	var fields []string
	var walk func(name string, data json.RawMessage)
	walk = func(name string, data json.RawMessage) {
		var projects []json.RawMessage
		if name == "beside.projects" && json.Unmarshal(data, &projects) == nil {
			fields = append(fields, name+" "+itoa(len(projects))) // each is a whole file
			return
		}
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
