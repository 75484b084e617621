package bench

import (
	"fmt"
	"strings"

	"pinwright/pinmap"
)

// canvas is what a sheet's drawing is put on, in mm from the sheet's upper left corner. What is drawn looks as its class
// says, whatever the medium.
type canvas interface {
	// begin begins a path, with the name and the value of a mark that readers of the file can find it by; line, box, disc
	// and shape add to it, end ends it.
	begin(class string, mark ...string)
	line(x1, y1, x2, y2 float64)
	box(r rect)
	disc(x, y, radius float64)
	shape(corners ...[2]float64)
	end()

	// words writes a line of text from, to or about x as its classes say, y its base line; upwards the same, read upwards.
	words(classes string, x, y float64, s string)
	upwards(classes string, x, y float64, s string)
	// open and close enclose texts of the same classes and holes.
	open(classes string)
	close()
	// hole draws a hole in true size.
	hole(x, y, radius float64, pin pinmap.Pin, number int)
}

// colour is red, green and blue, eight bits each.
type colour uint32

const (
	ink       colour = 0x1E2326
	brass     colour = 0x7A5200
	steel     colour = 0x2F4B66
	muted     colour = 0x5A6065
	verdigris colour = 0x17645A
	redLead   colour = 0x9E2B18
	clash     colour = 0xF6E7E3
	sand      colour = 0xEEE9DD
	rule      colour = 0xA9AFB4
	white     colour = 0xFFFFFF
)

func (c colour) css() string { return fmt.Sprintf("#%06X", uint32(c)) }

// look is how the paths of a class are drawn: a pen of a width in mm, 0 for none, or a filling.
type look struct {
	class  string
	pen    colour
	width  float64
	dash   [2]float64 // mm drawn and left out; zero for an unbroken line
	filled bool
	fill   colour
}

var looks = [...]look{
	{class: "frame", pen: ink, width: frameLine},
	{class: "centring", pen: ink, width: .7},
	{class: "grid", pen: ink, width: .35},
	{class: "gap", filled: true, fill: sand},
	{class: "hatch", pen: brass, width: .06},
	{class: "track", pen: steel, width: .06},
	{class: "cut", pen: ink, width: .2},
	{class: "joint", pen: muted, width: .12, dash: [2]float64{1.2, .6}},
	{class: "datum", pen: brass, width: .18},
	{class: "meet", pen: ink, width: .12},
	{class: "drawn", pen: ink, width: .12, filled: true, fill: white},
	{class: "tick", pen: ink, width: .14},
	{class: "ruler", pen: ink, width: .14},
	{class: "plain", pen: ink, width: .14},
	{class: "match", pen: ink, width: .14},
	{class: "limit", pen: ink, width: .1},
	{class: "arrow", pen: ink, width: .3},
	{class: "ink", filled: true, fill: ink},
	{class: "cross", pen: ink, width: .06},
	{class: "tune1", filled: true, fill: brass},
	{class: "tune2", filled: true, fill: verdigris},
	{class: "tune3", filled: true, fill: redLead},
	{class: "tune4", filled: true, fill: steel},
	{class: "tune5", filled: true, fill: muted},
	{class: "tune6", filled: true, fill: sand},
	{class: "tune7", filled: true, fill: clash},
	{class: "leader", pen: muted, width: .07},
}

// holeLook is that of the circle of a hole.
var holeLook = look{pen: ink, width: .08, filled: true, fill: white}

// typeSizes are the classes of text by their size, mm.
var typeSizes = [...]struct {
	class string
	size  float64
}{{"s", smallest}, {"r", 2.2}, {"m", 2.6}, {"g", 3.5}}

// lettering is how a text is set.
type lettering struct {
	size   float64 // mm
	bold   bool
	light  bool // white on a dark ground
	lifted bool // on a white ground of its own
	anchor float64
}

// letteringOf reads the classes of a text. The anchor is the part of its width that lies before x.
func letteringOf(classes string) (l lettering) {
	for _, class := range strings.Fields(classes) {
		switch class {
		case "mid":
			l.anchor = 0.5
		case "end":
			l.anchor = 1
		case "bold":
			l.bold = true
		case "light":
			l.light = true
		case "numbers", "halo":
			l.lifted = true
		}
		for _, t := range typeSizes {
			if t.class == class {
				l.size = t.size
			}
		}
	}
	return l
}

// writeLooks writes the classes as style sheet.
func writeLooks(p *pen) {
	for _, l := range looks {
		p.raw(".").raw(l.class).raw("{")
		p.look(l)
		p.raw("}\n")
	}
	p.raw("circle{").look(holeLook).raw("}\n")
	for _, t := range typeSizes {
		p.raw(".").raw(t.class).raw("{font-size:").mm(t.size).raw("px}\n")
	}
}

func (p *pen) look(l look) *pen {
	if l.filled {
		p.raw("fill:").raw(l.fill.css())
		if l.width > 0 {
			p.raw(";")
		}
	}
	if l.width > 0 {
		p.raw("stroke:").raw(l.pen.css()).raw(";stroke-width:").mm(l.width)
	}
	if l.dash[0] > 0 {
		p.raw(";stroke-dasharray:").mm(l.dash[0]).raw(" ").mm(l.dash[1])
	}
	return p
}
