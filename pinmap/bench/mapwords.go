package bench

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"math"
	"strconv"

	"pinwright/arrange"
	"pinwright/arrange/unit"
	"pinwright/pinmap/project"
)

// sheetWords are the notes that every sheet bears.
type sheetWords struct {
	wrap  []string // how the map is wrapped and checked
	drill []string // how it is drilled
}

func (w sheetWords) all() []string { return append(append([]string(nil), w.wrap...), w.drill...) }

func wordsOf(j Job) sheetWords {
	r := j.Result
	return sheetWords{
		wrap: append(wrapNotes(r, printedSurface(r.Cylinder)), firstHoles(j)...),
		drill: append(j.tuneNotes(), []string{
			"Numbers beside holes are the drilling order: track by track from the bass end, each from the datum line on, always turning the same way: " +
				"backlash does not matter.",
			fmt.Sprintf("Drill %s mm deep. Diameter: %s.", trim(float64(r.Cylinder.HoleDepthMm)), drillWords(r.Cylinder.PinDiameterMm)),
			"Small drills break: eye protection, slow feed, no gloves near the spindle. Let a wound mainspring down first. Local codes come first.",
		}...),
	}
}

func wrapNotes(r *project.Result, s surface) []string {
	c := r.Cylinder
	bass := "bottom"
	if !s.up {
		bass = "top"
	}
	return []string{
		"This is the outside of the cylinder, unrolled. Wrap it this side out, bass-end edge on bass-end face, datum lines meeting.",
		"Marks a, b, c … on one datum line must meet their like at the other; if they do not, measure diameter and paper again.",
		fmt.Sprintf("Seen from the comb the bass end is at the %s and the surface moves %s. On this paper the bass end is at the %s, and holes reach the comb "+
			"from left to right.", c.BassEnd, c.Turns, bass),
		fmt.Sprintf("Printed arcs are for wrapping with paper of %.2f mm: 360° is π(D + p) = %.3f mm. Tabulated arcs, and those below, are at the bare surface: "+
			"360° is πD = %.3f mm.", c.PaperMm, s.wrap, math.Pi*float64(c.DiameterMm)),
		"A mirrored map spoils a cylinder. Check the first holes to reach the comb on the wrapped paper before drilling:",
	}
}

// firstHoles describes in words the first three holes that reach the comb, so that a map wrapped the wrong way round is
// noticed.
func firstHoles(j Job) []string {
	r := j.Result
	var words []string
	numbers := drillingNumbers(r.Pins)
	for k, pin := range r.Pins[:min(3, len(r.Pins))] {
		words = append(words, fmt.Sprintf("Hole %s (pin %d): tooth %d, %s, %.2f degrees, %.2f mm from the datum line, %.2f mm from the bass-end face",
			j.holeNumber(k, numbers[k]), pin.Pin, pin.Tooth, toothNote(r, pin.Tooth), pin.AngleDeg, pin.ArcMm, pin.AxialMm))
	}
	if words == nil {
		return []string{"There are no holes."}
	}
	return words
}

// toothNote gives the name of the note that a tooth sounds.
func toothNote(r *project.Result, tooth int) string {
	if tooth < 1 || tooth > len(r.Comb.Teeth) {
		return "no such tooth"
	}
	return r.Comb.Teeth[tooth-1].Note
}

// blockField is one field of the title block. The rows of the block are blockColumns wide.
type blockField struct {
	name, value string
	span, lines int
	bold        bool
}

const blockColumns = 20

// blockRows are the parts of the title block's height that its rows take.
var blockRows = [...]float64{1, 1.5, 1.15}

// titleBlock gives the rows of the title block: the fields that ISO 7200 makes mandatory, and of its others revision, number
// of sheets and supplementary title; then scale and paper.
func (m drillMapOf) titleBlock(sheet int) [len(blockRows)][]blockField {
	r := m.job.Result
	tune := r.Tune.Title
	if tune == "" {
		tune = "not named in the file"
	}
	return [...][]blockField{{
		{name: "Legal owner", value: notGiven, span: 5},
		{name: "Created by", value: notGiven, span: 5},
		{name: "Approved by", value: notGiven, span: 5},
		{name: "Document type", value: "Drill map", span: 5},
	}, {
		{name: "Title", value: shorten(r.Title, 110), span: 11, lines: 2, bold: true},
		{name: "Identification number", value: m.id, span: 6},
		{name: "Revision", value: strconv.Itoa(m.job.Revision), span: 3},
	}, {
		{name: "Tune", value: shorten(tune, 110), span: 6},
		{name: "Date of issue", value: date(r.Setup.Date), span: 4},
		{name: "Sheet", value: fmt.Sprintf("%d of %d", sheet, m.plan.sheets()), span: 3},
		{name: "Scale and units", value: "1:1, mm and degrees", span: 5},
		{name: "Paper", value: m.job.Paper.String(), span: 2},
	}}
}

const notGiven = "not given"

func date(s string) string {
	if s == "" {
		return notGiven
	}
	return shorten(s, 20)
}

// identification gives a number of 13 characters that is the same for the same holes in the same cylinder: a digest of the
// millionths of a millimetre and of a degree that place them.
func identification(r *project.Result) string {
	c := r.Cylinder
	h := sha256.New()
	put := func(values ...float64) {
		var b [8]byte
		for _, v := range values {
			binary.BigEndian.PutUint64(b[:], math.Float64bits(unit.Round(v)))
			_, _ = h.Write(b[:]) // a digest takes everything
		}
	}
	_, _ = fmt.Fprintf(h, "%s %s ", c.BassEnd, c.Turns)
	put(float64(c.DiameterMm), float64(c.LengthMm), float64(c.PinDiameterMm), float64(c.HoleDepthMm), float64(c.GapDeg))
	for _, pin := range r.Pins {
		put(float64(pin.Tooth), float64(pin.AngleDeg), float64(pin.AxialMm))
	}
	sum := fmt.Sprintf("%X", h.Sum(nil)[:6])
	return sum[:6] + "-" + sum[6:]
}

// verdict is whether the cylinder may be drilled, and why not.
type verdict struct {
	clear    bool
	headline string
	texts    []string // of the findings that stand in the way, as far as there is room on a sheet
	blocking []arrange.Finding
	more     int // findings that are only in the tables
}

// judge sums up the findings that block. The verdict stands on every sheet, so it takes a few lines at most; what
// doesn't fit is counted and stands in full among the tables.
func judge(r *project.Result) verdict {
	const lines, perLine = 5, 125 // characters that surely fit the narrowest sheet
	v := verdict{clear: r.ClearToDrill, headline: "Clear to drill"}
	for _, f := range r.Findings {
		if f.Blocks {
			v.blocking = append(v.blocking, f)
		}
	}
	if v.clear && len(v.blocking) == 0 {
		return v
	}
	v.clear = false
	v.headline = "NOT clear to drill: " + count(len(v.blocking), "finding stands", "findings stand") + " in the way"
	room := lines
	for i, f := range v.blocking {
		text := shorten(printable(where(f)+f.Text.String()), 2*perLine)
		need := (len([]rune(text)) + perLine - 1) / perLine
		if left := len(v.blocking) - i - 1; need > room || (left > 0 && need >= room) {
			v.more = left + 1
			break
		}
		room -= need
		v.texts = append(v.texts, text)
	}
	return v
}

// count gives a number with its noun.
func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

const verdictLine = 3.3 // mm

// height gives the room that the verdict takes on a sheet, in mm.
func (v verdict) height() float64 {
	lines := 0
	for _, t := range v.texts {
		lines += (len([]rune(t)) + 124) / 125
	}
	if v.more > 0 {
		lines++
	}
	return 7 + verdictLine*float64(lines)
}

// lines gives what stands under the headline.
func (v verdict) lines() []string {
	if v.more == 0 {
		return v.texts
	}
	return append(append([]string(nil), v.texts...), strconv.Itoa(v.more)+" more, in full under Findings among the tables")
}
