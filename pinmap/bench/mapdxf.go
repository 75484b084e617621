package bench

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"pinwright/arrange/unit"
)

// The map's layers. On holesLayer nothing stands but the holes.
const (
	holesLayer   = "HOLES"
	outlineLayer = "OUTLINE" // the edges of the unrolled surface
	datumLayer   = "DATUM"   // marks beyond both ends, at the datum line and where it comes round again
	tracksLayer  = "TRACKS"  // a line a tooth
	numbersLayer = "NUMBERS" // of the holes
	notesLayer   = "NOTES"
)

// mapDXF writes the map for CAD, as DXF of release 12 (AC1009): one unit one millimetre, x the arc at the bare surface from the datum line, y the
// distance from the bass-end face, y up. A hole is a circle of the pin's diameter. As in the SVG, the axes don't change with the hand.
//
// Release 12 is what every CAD program and cutter reads. It has no variable for the unit ($INSUNITS and $MEASUREMENT are of release 2000), so comments
// and notes say it. The libraries for Go write release 2000 or 2010, which need handles and owners for each entity, so the pairs are
// written here.
func mapDXF(w io.Writer, j Job) error {
	const textMm, lineMm = 1.5, 2.5
	r := j.Result
	c := r.Cylinder
	wide, long := float64(c.CircumferenceMm), float64(c.LengthMm)
	notes := mapNotes(j)
	right := wide
	for _, n := range notes {
		right = math.Max(right, textMm*float64(len(n)))
	}
	d := dxf{newPen(w)}
	d.word(999, "Units: millimetres. One unit is one millimetre, scale 1:1.")
	d.word(999, "x: arc at the bare surface from the datum line; y: distance from the bass-end face, up.")
	d.section("HEADER").word(9, "$ACADVER").word(1, "AC1009")
	low, high := [2]float64{-datumMm, -datumMm - lineMm*float64(len(notes)+1)}, [2]float64{right, long + datumMm}
	for _, name := range []string{"$EXT", "$LIM"} {
		d.word(9, name+"MIN").point(0, low[0], low[1], name == "$EXT").word(9, name+"MAX").point(0, high[0], high[1], name == "$EXT")
	}
	d.word(9, "$LUNITS").whole(70, 2).word(9, "$LUPREC").whole(70, 4) // decimal, to four places
	d.word(0, "ENDSEC")
	d.tables()
	d.section("ENTITIES")
	for _, edge := range [][4]float64{{0, 0, wide, 0}, {wide, 0, wide, long}, {wide, long, 0, long}, {0, long, 0, 0}} {
		d.line(outlineLayer, edge[0], edge[1], edge[2], edge[3])
	}
	for _, x := range []float64{0, wide} {
		d.line(datumLayer, x, -datumMm, x, -datumGapMm)
		d.line(datumLayer, x, long+datumGapMm, x, long+datumMm)
	}
	for _, t := range j.tracks() {
		y := float64(t.axial)
		d.line(tracksLayer, 0, y, wide, y)
		if t.name != "" {
			d.text(notesLayer, wide+1, y-textMm/4, textMm/2, strconv.Itoa(t.tooth)+" "+t.name)
		}
	}
	radius := float64(c.PinDiameterMm) / 2
	size := math.Min(0.8, 0.4*float64(c.ToothSpacingMm))
	numbers := drillingNumbers(r.Pins)
	for k, pin := range r.Pins {
		x, y := float64(pin.ArcMm), float64(pin.AxialMm)
		d.entity("CIRCLE", holesLayer).point(0, x, y, true).value(40, radius)
		d.entity("TEXT", numbersLayer).point(0, x+radius+0.1, y-size/2, true).value(40, size).word(1, j.holeNumber(k, numbers[k]))
	}
	for i, n := range notes {
		d.text(notesLayer, 0, -datumMm-lineMm*float64(i+1), textMm, n)
	}
	d.word(0, "ENDSEC").word(0, "EOF")
	return d.flush()
}

// How far the marks of the datum line reach beyond the ends, and from where; in mm.
const (
	datumMm    = 3
	datumGapMm = 0.5
)

// mapNotes are the lines below the map.
func mapNotes(j Job) []string {
	r := j.Result
	c := r.Cylinder
	hand := "Seen from outside the cylinder, this is the right way round."
	if !axialUp(c.Cylinder) {
		hand = "Seen from outside the cylinder, this is mirrored: there the axial distance runs down where the arc runs to the right."
	}
	return append([]string{
		"Title: " + r.Title,
		"Date of the setup: " + date(r.Setup.Date) + ". Revision: " + strconv.Itoa(j.Revision) + ".",
		judge(r).headline + ".",
		"Millimetres, 1:1. x: arc at the bare surface from the datum line; y: distance from the bass-end face.",
		fmt.Sprintf("Bare diameter %s, circumference %s, length %s. Paper that is wrapped round must be stretched to %s.", trim(float64(c.DiameterMm)),
			trim(float64(c.CircumferenceMm)), trim(float64(c.LengthMm)), trim(float64(c.WrapMm))),
		count(len(r.Pins), "hole", "holes") + ", " + trim(float64(c.HoleDepthMm)) + " mm deep. Drill: " + drillWords(c.PinDiameterMm) + ".",
		"Numbers beside holes are the drilling order, as on the drill map: track by track from the bass end.",
		hand,
	}, j.tuneNotes()...)
}

// dxf writes pairs of a group code and a value, a line each.
type dxf struct{ *pen }

// code writes a group code, right-aligned in three columns as is the custom.
func (d dxf) code(code int) dxf {
	if code < 100 {
		d.raw(" ")
	}
	if code < 10 {
		d.raw(" ")
	}
	d.int(code).raw("\n")
	return d
}

// word writes a value of our own.
func (d dxf) word(code int, s string) dxf {
	d.code(code).raw(s).raw("\n")
	return d
}

func (d dxf) whole(code, v int) dxf {
	d.code(code).int(v).raw("\n")
	return d
}

func (d dxf) value(code int, v float64) dxf {
	d.code(code).number(unit.Round(v), -1).raw("\n")
	return d
}

// point writes the ith point of an entity or variable, with z = 0 where it has three coordinates.
func (d dxf) point(i int, x, y float64, solid bool) dxf {
	d.value(10+i, x).value(20+i, y)
	if solid {
		d.value(30+i, 0)
	}
	return d
}

func (d dxf) section(name string) dxf { return d.word(0, "SECTION").word(2, name) }

func (d dxf) entity(kind, layer string) dxf { return d.word(0, kind).word(8, layer) }

func (d dxf) line(layer string, x1, y1, x2, y2 float64) {
	d.entity("LINE", layer).point(0, x1, y1, true).point(1, x2, y2, true)
}

func (d dxf) text(layer string, x, y, size float64, s string) {
	d.entity("TEXT", layer).point(0, x, y, true).value(40, size).word(1, dxfText(s))
}

// tables writes the line type, the layers and the style of text that entities refer to.
func (d dxf) tables() {
	d.section("TABLES")
	d.word(0, "TABLE").word(2, "LTYPE").whole(70, 1)
	d.word(0, "LTYPE").word(2, "CONTINUOUS").whole(70, 0).word(3, "Solid line").whole(72, 65).whole(73, 0).value(40, 0)
	d.word(0, "ENDTAB")
	layers := []struct {
		name  string
		color int // of the format's index
	}{{"0", 7}, {holesLayer, 5}, {outlineLayer, 7}, {datumLayer, 1}, {tracksLayer, 8}, {numbersLayer, 3}, {notesLayer, 7}}
	d.word(0, "TABLE").word(2, "LAYER").whole(70, len(layers))
	for _, l := range layers {
		d.word(0, "LAYER").word(2, l.name).whole(70, 0).whole(62, l.color).word(6, "CONTINUOUS")
	}
	d.word(0, "ENDTAB")
	d.word(0, "TABLE").word(2, "STYLE").whole(70, 1)
	d.word(0, "STYLE").word(2, "STANDARD").whole(70, 0).value(40, 0).value(41, 1).value(50, 0).whole(71, 0).value(42, 1).word(3, "txt").word(4, "")
	d.word(0, "ENDTAB").word(0, "ENDSEC")
}

// longestDXFText is less than the 255 characters that release 12 takes in one line.
const longestDXFText = 240

// dxfText gives a text as release 12 takes it: ASCII, other characters and the backslash as \U+ and four digits, those beyond the first plane as
// U+FFFD; ^ followed by a space, since a letter would make it a control character; a space between two per cent signs, which would begin a control code.
// What would be longer than 240 characters is cut, with an ellipsis at its end.
func dxfText(s string) string {
	const more = `\U+2026`
	var b strings.Builder
	before := ' '
	for _, r := range printable(s) {
		var part string
		switch {
		case r > 0xffff:
			part = `\U+FFFD`
		case r == '\\' || r > '~':
			part = fmt.Sprintf(`\U+%04X`, r)
		case r == '^':
			part = "^ "
		case r == '%' && before == '%':
			part = " %"
		default:
			part = string(r)
		}
		if b.Len()+len(part)+len(more) > longestDXFText {
			return b.String() + more
		}
		b.WriteString(part)
		before = r
	}
	return b.String()
}
