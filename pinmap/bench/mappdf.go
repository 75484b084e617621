package bench

import (
	"io"
	"time"
	"unicode/utf16"

	"pinwright/pinmap/project"
)

// drillMapPDF writes the drill map as a PDF, for those who cannot trust a browser's printing: the same sheets in true size,
// then the same tables.
func drillMapPDF(w io.Writer, j Job) error {
	m := newMap(j)
	c, err := newPDFCanvas()
	if err != nil {
		return err
	}
	c.f.SetCatalogSort(true)
	c.f.SetProducer("Pinwright", false)
	c.f.SetLang("en")
	c.f.SetTitle(utf16BE("Drill map: "+printable(j.Result.Title)), false)
	c.f.SetSubject(utf16BE("Identification number "+m.id), false)
	c.f.SetCreationDate(issued(j.Result.Setup))
	c.f.SetModificationDate(issued(j.Result.Setup))
	for n, t := range m.plan.cut(j.Result) {
		c.page(m.plan.width, m.plan.height)
		drawSheet(c, j, m.plan, t, m.numbers)
		notes, aside := m.plan.notesAndAside()
		c.notes(m.plan.notes, notes)
		if m.plan.aside.w > 0 {
			c.notes(m.plan.aside, aside)
			c.stroke(ink, 0.35, m.plan.aside.x, m.plan.aside.y, m.plan.aside.x+m.plan.aside.w, m.plan.aside.y)
		}
		c.verdict(m.plan.verdict, m.verdict)
		c.titleBlock(m.plan.block, m.titleBlock(n+1))
		c.link(m.plan.link, j.Link, m.code)
	}
	c.tables(m.job.Paper, j.Result.Title, m.tables())
	return c.f.Output(w)
}

// issued gives the date that the file bears. A PDF must have one and no clock is asked: where the setup gives none, it is the
// first second of Unix time, which nobody takes for a date.
func issued(s project.Setup) time.Time {
	day, err := time.Parse(time.DateOnly, s.Date)
	if err != nil {
		return time.Unix(0, 0).UTC()
	}
	return day
}

// utf16BE gives text as a PDF's metadata hold it, whatever the script.
func utf16BE(s string) string {
	b := []byte{0xFE, 0xFF}
	for _, u := range utf16.Encode([]rune(s)) {
		b = append(b, byte(u>>8), byte(u))
	}
	return string(b)
}

// notes sets paragraphs, smaller where they would not find room.
func (c *pdfCanvas) notes(r rect, notes []string) {
	const size, indent = 2.35, 1.5
	for k := 1.0; ; k -= 0.05 {
		c.face(k*size, false)
		c.shade(ink)
		y := r.y + 1
		var set []func()
		for _, s := range notes {
			for _, line := range c.wrapped(c.clean(s), r.w-2*indent) {
				y += k * noteLine
				at := y - 0.25*k*noteLine
				set = append(set, func() { c.text(r.x+indent, at, line) })
			}
			y += k * noteGap
		}
		if y > r.y+r.h && k > 0.5 {
			continue
		}
		for _, do := range set {
			do()
		}
		return
	}
}

func (c *pdfCanvas) verdict(r rect, v verdict) {
	shade := verdigris
	if !v.clear {
		shade = redLead
		c.pen(look{filled: true, fill: clash})
		c.box(r)
		c.end()
	}
	c.stroke(ink, 0.35, r.x, r.y, r.x+r.w, r.y)
	c.face(3.8, true)
	c.shade(shade)
	c.text(r.x+2, r.y+4.9, c.clean(v.headline))
	c.shade(ink)
	for k := 1.0; ; k -= 0.05 {
		c.face(2.5*k, false)
		var lines [][]string
		n := 0
		for _, s := range v.lines() {
			lines = append(lines, c.wrapped(c.clean(s), r.w-8))
			n += len(lines[len(lines)-1])
		}
		if 6+float64(n)*verdictLine*k > r.h && k > 0.5 {
			continue
		}
		y := r.y + 5.2
		for _, item := range lines {
			for i, line := range item {
				y += verdictLine * k
				if i == 0 {
					c.text(r.x+3.5, y, "•")
				}
				c.text(r.x+6, y, line)
			}
		}
		return
	}
}

func (c *pdfCanvas) titleBlock(r rect, rows [len(blockRows)][]blockField) {
	parts := 0.0
	for _, h := range blockRows {
		parts += h
	}
	c.stroke(ink, 0.35, r.x, r.y, r.x+r.w, r.y)
	y := r.y
	for i, row := range rows {
		h := r.h * blockRows[i] / parts
		x := r.x
		for _, f := range row {
			w := r.w * float64(f.span) / blockColumns
			c.stroke(ink, 0.15, x, y, x, y+h)
			c.face(1.9, false)
			c.shade(muted)
			c.text(x+1.1, y+2.2, f.name)
			c.face(2.7, f.bold)
			c.shade(ink)
			for n, line := range c.fitted(f.value, w-2.2, max(1, f.lines)) {
				c.text(x+1.1, y+5.2+float64(n)*3.2, line)
			}
			x += w
		}
		y += h
		if i < len(rows)-1 {
			c.stroke(ink, 0.15, r.x, y, r.x+r.w, y)
		}
	}
}

// link sets the code, true black on white, and the link beneath it.
func (c *pdfCanvas) link(r rect, link string, code LinkCode) {
	if !code.Shown() {
		return
	}
	c.pen(look{pen: ink, width: 0.35})
	c.line(r.x, r.y+r.h, r.x, r.y)
	c.line(r.x, r.y, r.x+r.w, r.y)
	c.end()
	side := code.sideMm()
	module := side / float64(code.modules)
	x, y := r.x+(r.w-side)/2, r.y+0.2
	c.pen(look{filled: true})
	for _, run := range code.runs {
		c.box(rect{x + run.x*module, y + run.y*module, run.w * module, module})
	}
	c.end()
	c.face(1.7, false)
	c.shade(ink)
	for i, line := range c.wrapped(c.clean(link), r.w-2) {
		c.text(r.x+(r.w-c.f.GetStringWidth(line))/2, y+side+1.5+2.1*float64(i), line)
	}
}
