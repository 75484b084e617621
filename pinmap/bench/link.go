package bench

import (
	"math"
	"strconv"

	"rsc.io/qr"
)

// LinkCode is the QR code of a link (ISO/IEC 18004, level M: a sixth of it may be smudged), black on white, with its
// quiet zone. The zero LinkCode is none.
type LinkCode struct {
	modules int    // along a side, quiet zone included
	path    string // of the black modules, one unit each
	runs    []rect // of black modules in a row, the same
}

const (
	quietZone   = 4   // modules of white on every side, ISO/IEC 18004
	longestLink = 120 // bytes; a longer one would be too fine to read from paper at the size that there is room for
)

// NewLinkCode gives the code of a link; an empty one, and one longer than 120 bytes, has none.
func NewLinkCode(link string) LinkCode {
	if link == "" || len(link) > longestLink {
		return LinkCode{}
	}
	code, err := qr.Encode(link, qr.M)
	if err != nil { // only of texts that are longer
		return LinkCode{}
	}
	var path []byte
	var runs []rect
	for y := range code.Size {
		for x := 0; x < code.Size; {
			from := x
			for x < code.Size && code.Black(x, y) {
				x++
			}
			if x == from {
				x++
				continue
			}
			runs = append(runs, rect{float64(from + quietZone), float64(y + quietZone), float64(x - from), 1})
			path = append(path, 'M')
			path = strconv.AppendInt(path, int64(from+quietZone), 10)
			path = append(path, ' ')
			path = strconv.AppendInt(path, int64(y+quietZone), 10)
			path = append(path, 'h')
			path = strconv.AppendInt(path, int64(x-from), 10)
			path = append(path, "v1h-"...)
			path = strconv.AppendInt(path, int64(x-from), 10)
			path = append(path, 'z')
		}
	}
	return LinkCode{code.Size + 2*quietZone, string(path), runs}
}

// Shown reports whether there is a code.
func (c LinkCode) Shown() bool { return c.modules > 0 }

// ViewBox gives that of the code as SVG, a unit a module.
func (c LinkCode) ViewBox() string {
	n := strconv.Itoa(c.modules)
	return "0 0 " + n + " " + n
}

// Path gives the path of the black modules.
func (c LinkCode) Path() string { return c.path }

// sideMm gives the side of the printed code: the modules are of whole twentieths of a millimetre, so large that the code
// without its quiet zone is at least 25 mm wide.
func (c LinkCode) sideMm() float64 {
	const leastMm = 25
	return math.Ceil(20*leastMm/float64(c.modules-2*quietZone)) / 20 * float64(c.modules)
}

// size gives the room that the code takes at the foot of a sheet, with the link beneath it; none without a code.
func (c LinkCode) size(link string) rect {
	const (
		line      = 2.1  // mm from line to line of the link
		character = 1.05 // mm, wider than the average of any link
	)
	if !c.Shown() {
		return rect{}
	}
	lines := math.Ceil(float64(len(link)) * character / (c.sideMm() - 2))
	return rect{w: c.sideMm() + 0.5, h: c.sideMm() + line*lines + 1.5}
}

// writeLink writes the code and the link beneath it.
func writeLink(p *pen, link string, c LinkCode) {
	if !c.Shown() {
		return
	}
	p.raw(`<div class="link"><svg xmlns="http://www.w3.org/2000/svg" width="`).mm(c.sideMm()).raw(`mm" height="`).mm(c.sideMm()).raw(`mm" viewBox="`)
	p.raw(c.ViewBox()).raw(`" role="img" aria-label="QR code of the link that shows this project"><path d="`).raw(c.path).raw(`"/></svg><p>`)
	p.text(link).raw("</p></div>\n")
}
