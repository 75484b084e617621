package bench

import (
	"encoding/csv"
	"io"
	"strconv"
	"strings"

	"pinwright/arrange/unit"
	"pinwright/pinmap"
	"pinwright/pinmap/indexing"
)

// holesCSV writes one row a pin under the field names of the result's pins. noteName is the tooth's note, hole the number in the drilling order that the
// map shows; setTo is what the tool of the setup's bench is set to, counted from the datum line, moveOn the move from the hole drilled before, whose number is
// fromHole, 0 for the datum line, and off by how much the hole is then from its place, in degrees, mm along the arc at the bare surface and ms. tune is the
// letter of the tune, a for the project's own; setToAlone the setting of a dividing head on the circle that is best for this hole alone.
func holesCSV(w io.Writer, j Job) error {
	out := csv.NewWriter(w)
	_ = out.Write([]string{"pin", "tooth", "note", "angleDeg", "arcMm", "axialMm", "timeMs", "bar", "beat", "noteName", "hole", "setTo", "fromHole", "moveOn", "offDeg", "offMm", "offMs", "tune", "setToAlone"}) // Error keeps it
	r := j.Result
	set := indexing.Of(r.Setup.Bench, r.Cylinder.Cylinder, r.Cylinder.RevolutionMs, r.Pins)
	for i, p := range r.Pins {
		row := set.Rows[i]
		_ = out.Write([]string{strconv.Itoa(p.Pin), strconv.Itoa(p.Tooth), inert(p.Note), decimal(float64(p.AngleDeg)), decimal(float64(p.ArcMm)),
			decimal(float64(p.AxialMm)), decimal(float64(p.TimeMs)), strconv.Itoa(p.Bar), decimal(p.Beat), inert(toothNote(r, p.Tooth)),
			strconv.Itoa(row.Order), inert(set.Setting(row)), strconv.Itoa(row.Order - 1), inert(set.MoveWords(row)), decimal(float64(row.ErrorDeg)), decimal(float64(row.ErrorMm)), decimal(float64(row.ErrorMs)), j.tuneOf(i), inert(alone(set, row))})
	}
	out.Flush()
	return out.Error()
}

// combCSV writes one row a tooth under the field names of the result's teeth.
func combCSV(w io.Writer, j Job) error {
	out := csv.NewWriter(w)
	_ = out.Write([]string{"tooth", "pitch", "note", "frequencyHz", "repeatMs", "governedBy", "plucks", "twin", "twins"}) // Error keeps it
	for _, t := range j.Result.Comb.Teeth {
		_ = out.Write([]string{strconv.Itoa(t.Tooth), strconv.Itoa(int(t.Pitch)), inert(t.Note), decimal(float64(t.FrequencyHz)), decimal(float64(t.RepeatMs)),
			inert(t.GovernedBy), strconv.Itoa(t.Plucks), strconv.Itoa(t.Twin), strconv.Itoa(t.Twins)})
	}
	out.Flush()
	return out.Error()
}

// decimal writes v as the result's JSON does, rounded to a millionth.
func decimal(v float64) string { return strconv.FormatFloat(unit.Round(v), 'f', -1, 64) }

// inert gives text that a spreadsheet takes as text: one that begins like a formula gets an apostrophe before it.
func inert(s string) string {
	if s = printable(s); strings.ContainsAny(s[:min(1, len(s))], "=+-@") {
		return "'" + s
	}
	return s
}

// alone gives the setting of a dividing head on the circle that is best for a hole alone; nothing of another tool.
func alone(set indexing.Table, row indexing.Row) string {
	if set.Method != pinmap.Head {
		return ""
	}
	return row.Alone.Crank.String()
}
