package bench

import (
	"pinwright/arrange/unit"
	"pinwright/pinmap"
)

// svgCanvas draws into a page as SVG; its classes are those of the page's style sheet.
type svgCanvas struct{ p *pen }

func (c svgCanvas) begin(class string, mark ...string) {
	c.p.raw(`<path class="`).raw(class)
	if len(mark) == 2 {
		c.p.raw(`" data-`).raw(mark[0]).raw(`="`).text(mark[1])
	}
	c.p.raw(`" d="`)
}

func (c svgCanvas) end() { c.p.raw(`"/>` + "\n") }

func (c svgCanvas) line(x1, y1, x2, y2 float64) {
	c.p.raw("M").mm(x1).raw(" ").mm(y1).raw("L").mm(x2).raw(" ").mm(y2)
}

func (c svgCanvas) box(r rect) {
	c.p.raw("M").mm(r.x).raw(" ").mm(r.y).raw("h").mm(r.w).raw("v").mm(r.h).raw("h").mm(-r.w).raw("z")
}

func (c svgCanvas) disc(x, y, radius float64) {
	c.p.raw("M").mm(x - radius).raw(" ").mm(y)
	for _, way := range [2]float64{2, -2} {
		c.p.raw("a").mm(radius).raw(" ").mm(radius).raw(" 0 1 0 ").mm(way * radius).raw(" 0")
	}
	c.p.raw("z")
}

func (c svgCanvas) shape(corners ...[2]float64) {
	for i, corner := range corners {
		if i == 0 {
			c.p.raw("M")
		} else {
			c.p.raw("L")
		}
		c.p.mm(corner[0]).raw(" ").mm(corner[1])
	}
	c.p.raw("z")
}

func (c svgCanvas) words(classes string, x, y float64, s string) {
	c.p.raw("<text")
	if classes != "" {
		c.p.raw(` class="`).raw(classes).raw(`"`)
	}
	c.p.raw(` x="`).mm(x).raw(`" y="`).mm(y).raw(`">`).text(s).raw("</text>\n")
}

func (c svgCanvas) upwards(classes string, x, y float64, s string) {
	c.p.raw(`<text class="`).raw(classes).raw(`" transform="translate(`).mm(x).raw(" ").mm(y).raw(`) rotate(-90)">`).text(s).raw("</text>\n")
}

func (c svgCanvas) open(classes string) { c.p.raw(`<g class="`).raw(classes).raw(`">` + "\n") }
func (c svgCanvas) close()              { c.p.raw("</g>\n") }

func (c svgCanvas) hole(x, y, radius float64, pin pinmap.Pin, number int) {
	c.p.raw(`<circle cx="`).mm(x).raw(`" cy="`).mm(y).raw(`" r="`).mm(radius).raw(`" data-pin="`).int(pin.Pin).raw(`" data-hole="`).int(number)
	c.p.raw(`" data-tooth="`).int(pin.Tooth).raw(`" data-angle-deg="`).number(unit.Round(float64(pin.AngleDeg)), -1).raw(`"/>` + "\n")
}
