package bench

import (
	"math"
	"strconv"
	"strings"
	"unicode"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"

	"pinwright/pinmap"
)

// pdfCanvas draws on the pages of a PDF, in mm. Its type has Latin, Greek and Cyrillic letters.
type pdfCanvas struct {
	f      *fpdf.Fpdf
	font   *sfnt.Font
	buffer sfnt.Buffer
	has    map[rune]bool // whether the font has a letter, as far as it was asked

	style   string      // of the path that is begun, as fpdf names it; empty until something is drawn
	look    look        // of that path
	classes []lettering // of the groups that are open

	high  float64      // of the page, mm
	set   pdfState     // what the page was told last
	shown [2][128]bool // letters of the plain and the bold type that fpdf has set, and so puts into the font
	buf   []byte       // room for one piece of text
}

// pdfState is what a page holds on to until it is told otherwise.
type pdfState struct {
	fill, text, pen colour
	width, size     float64
	bold            bool
}

const (
	pdfFont     = "go"
	pointsInMm  = 72 / 25.4
	curveCorner = 0.5522847498 // where the corners of the four curves of a circle of radius 1 lie
)

func newPDFCanvas() (*pdfCanvas, error) {
	font, err := sfnt.Parse(goregular.TTF)
	if err != nil {
		return nil, err
	}
	f := fpdf.New("P", "mm", "A4", "")
	f.SetAutoPageBreak(false, 0)
	f.AddUTF8FontFromBytes(pdfFont, "", goregular.TTF)
	f.AddUTF8FontFromBytes(pdfFont, "B", gobold.TTF)
	return &pdfCanvas{f: f, font: font, has: map[rune]bool{}}, nil
}

func (c *pdfCanvas) page(w, h float64) {
	c.f.AddPageFormat("P", fpdf.SizeType{Wd: w, Ht: h})
	c.high = h
}

func (k colour) rgb() (r, g, b int) { return int(k >> 16), int(k >> 8 & 0xFF), int(k & 0xFF) }

// pen makes ready for a look.
func (c *pdfCanvas) pen(l look) {
	c.look, c.style = l, ""
	if l.filled {
		c.fill(l.fill)
	}
	if l.width > 0 && c.set.pen != l.pen {
		c.f.SetDrawColor(l.pen.rgb())
		c.set.pen = l.pen
	}
	if l.width > 0 && c.set.width != l.width {
		c.f.SetLineWidth(l.width)
		c.set.width = l.width
	}
}

func (c *pdfCanvas) fill(k colour) {
	if c.set.fill != k {
		c.f.SetFillColor(k.rgb())
		c.set.fill = k
	}
}

// drawn notes that the path that is begun isn't empty.
func (c *pdfCanvas) drawn() {
	if c.style != "" {
		return
	}
	c.style = c.look.style()
	if c.look.dash[0] > 0 {
		c.f.SetDashPattern(c.look.dash[:], 0)
	}
}

// style gives how fpdf names what is done with a path.
func (l look) style() string {
	switch {
	case !l.filled:
		return "D"
	case l.width > 0:
		return "FD"
	}
	return "F"
}

func (c *pdfCanvas) begin(class string, _ ...string) {
	for _, l := range looks {
		if l.class == class {
			c.pen(l)
			return
		}
	}
}

func (c *pdfCanvas) end() {
	if c.style == "" { // a path of nothing is no path
		return
	}
	c.f.DrawPath(c.style)
	if c.look.dash[0] > 0 {
		c.f.SetDashPattern(nil, 0)
	}
}

func (c *pdfCanvas) line(x1, y1, x2, y2 float64) {
	c.drawn()
	c.f.MoveTo(x1, y1)
	c.f.LineTo(x2, y2)
}

func (c *pdfCanvas) box(r rect) {
	c.shape([2]float64{r.x, r.y}, [2]float64{r.x + r.w, r.y}, [2]float64{r.x + r.w, r.y + r.h}, [2]float64{r.x, r.y + r.h})
}

func (c *pdfCanvas) shape(corners ...[2]float64) {
	c.drawn()
	c.f.MoveTo(corners[0][0], corners[0][1])
	for _, corner := range corners[1:] {
		c.f.LineTo(corner[0], corner[1])
	}
	c.f.ClosePath()
}

func (c *pdfCanvas) disc(x, y, r float64) {
	c.drawn()
	const k = curveCorner
	c.f.MoveTo(x+r, y)
	c.f.CurveBezierCubicTo(x+r, y+k*r, x+k*r, y+r, x, y+r)
	c.f.CurveBezierCubicTo(x-k*r, y+r, x-r, y+k*r, x-r, y)
	c.f.CurveBezierCubicTo(x-r, y-k*r, x-k*r, y-r, x, y-r)
	c.f.CurveBezierCubicTo(x+k*r, y-r, x+r, y-k*r, x+r, y)
	c.f.ClosePath()
}

func (c *pdfCanvas) hole(x, y, radius float64, _ pinmap.Pin, _ int) {
	c.pen(holeLook)
	c.disc(x, y, radius)
	c.end()
}

func (c *pdfCanvas) words(classes string, x, y float64, s string) {
	l := c.lettering(classes)
	s = c.clean(s)
	w := c.f.GetStringWidth(s)
	x -= l.anchor * w
	if l.lifted {
		c.fill(white)
		c.f.Rect(x, y-figureHeight*l.size, w, figureHeight*l.size, "F")
		c.shade(ink)
	}
	c.text(x, y, s)
}

// lettering makes ready for words of these classes, or of the group that is open.
func (c *pdfCanvas) lettering(classes string) lettering {
	l := lettering{}
	if classes == "" && len(c.classes) > 0 {
		l = c.classes[len(c.classes)-1]
	} else {
		l = letteringOf(classes)
	}
	c.face(l.size, l.bold)
	c.shade(ink)
	if l.light {
		c.shade(white)
	}
	return l
}

func (c *pdfCanvas) upwards(classes string, x, y float64, s string) {
	c.lettering(classes) // before the turn, at whose end the page forgets what it was told within
	c.f.TransformBegin()
	c.f.TransformRotate(90, x, y)
	c.words(classes, x, y, s)
	c.f.TransformEnd()
}

// placed is a piece of text and where it begins.
type placed struct {
	x float64
	s string
}

// text sets clean words as they are, in the type and colour that are chosen.
func (c *pdfCanvas) text(x, y float64, s string) { c.texts(y, placed{x, s}) }

// texts sets several pieces on one base line. Letters that were set before are written the short way, as the font has them
// already: the tables of a large cylinder are half a million words.
func (c *pdfCanvas) texts(y float64, pieces ...placed) {
	shown := &c.shown[0]
	if c.set.bold {
		shown = &c.shown[1]
	}
	short := true
	for _, p := range pieces {
		for i := range len(p.s) {
			short = short && p.s[i] < 128 && shown[p.s[i]]
		}
	}
	if !short {
		for _, p := range pieces {
			c.f.Text(p.x, y, p.s)
			for _, r := range p.s {
				if r < 128 {
					shown[r] = true
				}
			}
		}
		return
	}
	b := append(c.buf[:0], "BT"...)
	at, up := 0.0, (c.high-y)*pointsInMm
	for _, p := range pieces {
		x := math.Round(p.x*pointsInMm*100) / 100 // steps of what is written add up to no error
		b = strconv.AppendFloat(append(b, ' '), x-at, 'f', 2, 64)
		b = strconv.AppendFloat(append(b, ' '), up, 'f', 2, 64)
		at, up = x, 0
		b = append(b, " Td ("...)
		for i := range len(p.s) {
			b = append(b, 0)
			if p.s[i] == '(' || p.s[i] == ')' || p.s[i] == '\\' {
				b = append(b, '\\')
			}
			b = append(b, p.s[i])
		}
		b = append(b, ") Tj"...)
	}
	c.buf = append(b, " ET"...)
	c.f.RawWriteStr(string(c.buf))
}

func (c *pdfCanvas) open(classes string) { c.classes = append(c.classes, letteringOf(classes)) }
func (c *pdfCanvas) close()              { c.classes = c.classes[:len(c.classes)-1] }

// face chooses the type, its size in mm.
func (c *pdfCanvas) face(size float64, bold bool) {
	if c.set.size == size && c.set.bold == bold {
		return
	}
	style := ""
	if bold {
		style = "B"
	}
	c.f.SetFont(pdfFont, style, size*pointsInMm)
	c.set.size, c.set.bold = size, bold
}

// shade chooses the colour of type. It is that of fillings too: where the two differ, fpdf sets every text apart.
func (c *pdfCanvas) shade(k colour) {
	c.fill(k)
	if c.set.text != k {
		c.f.SetTextColor(k.rgb())
		c.set.text = k
	}
}

// clean gives s as it can be printed: letters that the font lacks become the sign of replacement, as do those that a PDF
// could not hold in one piece.
func (c *pdfCanvas) clean(s string) string {
	plain := true
	for i := range len(s) {
		plain = plain && s[i] >= ' ' && s[i] <= '~'
	}
	if plain {
		return s
	}
	return strings.Map(func(r rune) rune {
		if r <= '~' {
			return r
		}
		if unicode.Is(unicode.Mn, r) && !c.knows(r) { // an accent that stands alone
			return -1
		}
		if !c.knows(r) {
			return unicode.ReplacementChar
		}
		return r
	}, printable(s))
}

func (c *pdfCanvas) knows(r rune) bool {
	known, asked := c.has[r]
	if !asked {
		glyph, err := c.font.GlyphIndex(&c.buffer, r)
		known = err == nil && glyph != 0 && r <= 0xFFFF
		c.has[r] = known
	}
	return known
}

// wrapped cuts clean words into lines no wider than that in the type that is chosen; a word that is wider is cut itself.
func (c *pdfCanvas) wrapped(s string, width float64) (lines []string) {
	line := ""
	for _, word := range strings.Fields(s) {
		joined := word
		if line != "" {
			joined = line + " " + word
		}
		if c.f.GetStringWidth(joined) <= width {
			line = joined
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for c.f.GetStringWidth(word) > width {
			n := 0
			for i, r := range word {
				if i > 0 && c.f.GetStringWidth(word[:i]+string(r)) > width {
					break
				}
				n = i + len(string(r))
			}
			lines = append(lines, word[:n])
			word = word[n:]
		}
		line = word
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// fitted gives at most n lines of words, the last with an ellipsis where some are left out.
func (c *pdfCanvas) fitted(s string, width float64, n int) []string {
	lines := c.wrapped(c.clean(s), width)
	if len(lines) <= n {
		return lines
	}
	last := []rune(lines[n-1])
	for len(last) > 0 && c.f.GetStringWidth(string(last)+"…") > width {
		last = last[:len(last)-1]
	}
	return append(lines[:n-1], string(last)+"…")
}

// stroke draws one straight line outside of a drawing.
func (c *pdfCanvas) stroke(k colour, width, x1, y1, x2, y2 float64) {
	c.pen(look{pen: k, width: width})
	c.line(x1, y1, x2, y2)
	c.end()
}

// pageNumber gives the number of the page that is written.
func (c *pdfCanvas) pageNumber() string { return strconv.Itoa(c.f.PageNo()) }
