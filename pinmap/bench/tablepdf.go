package bench

// Of the pages of tables in a PDF, in mm.
const (
	listMargin = 12.0
	listType   = 3.2 // of paragraphs
	listLine   = 4.4
	listWidth  = 170.0 // most of a paragraph
	gridType   = 3.0   // of tables
	gridLine   = 3.7
	gridPad    = 1.2 // between the rules of a row and its lines, together
	gridBeside = 1.5 // between words and the edge of a column
)

// pdfTables sets the tables from page to page.
type pdfTables struct {
	*pdfCanvas
	w, h float64 // of a page
	y    float64 // where the next thing begins

	// Of the table on this page, drawn when it ends, in one path each.
	thin, thick []float64 // heights of rules
	boxes       []rect
	pieces      []placed // room for those of one row
}

func (c *pdfCanvas) tables(paper Paper, title string, parts []part) {
	t := &pdfTables{pdfCanvas: c}
	t.w, t.h = paper.size(false)
	t.turn()
	t.face(5.6, true)
	t.shade(ink)
	for _, line := range t.wrapped(t.clean(title+": tables to the drill map"), t.w-2*listMargin) {
		t.y += 6.8
		t.text(listMargin, t.y-1.6, line)
	}
	t.y += 3
	for _, p := range parts {
		t.part(p)
	}
}

// turn begins a page.
func (t *pdfTables) turn() {
	t.page(t.w, t.h)
	t.y = listMargin
	t.face(2.8, false)
	t.shade(muted)
	number := "page " + t.pageNumber()
	t.text(t.w-listMargin-t.f.GetStringWidth(number), t.h-listMargin/2, number)
	t.shade(ink)
}

// room turns the page where the next h mm would not fit on this one.
func (t *pdfTables) room(h float64) {
	if t.y+h > t.h-listMargin {
		t.turn()
	}
}

func (t *pdfTables) part(p part) {
	if p.heading != "" {
		if p.apart {
			t.turn()
		} else {
			t.y += 5
			t.room(20) // a heading does not stand alone
		}
		t.face(4.4, true)
		t.text(listMargin, t.y+3.6, t.clean(p.heading))
		t.y += 7
	}
	if p.text != "" {
		switch p.mark {
		case "good":
			t.shade(verdigris)
		case "bad":
			t.shade(redLead)
		}
		t.paragraph(0, p.text, p.mark != "")
		t.shade(ink)
	}
	for _, s := range p.list {
		t.room(listLine)
		t.face(listType, false)
		t.text(listMargin+1.5, t.y+0.75*listLine, "•")
		t.paragraph(5, s, false)
	}
	if p.table != nil {
		t.grid(p.table)
	}
}

func (t *pdfTables) paragraph(indent float64, s string, bold bool) {
	t.face(listType, bold)
	for _, line := range t.wrapped(t.clean(s), min(listWidth, t.w-2*listMargin)-indent) {
		t.room(listLine)
		t.face(listType, bold)
		t.text(listMargin+indent, t.y+0.75*listLine, line)
		t.y += listLine
	}
	t.y += 1.2
}

func (t *pdfTables) grid(g *grid) {
	letters := 0
	for _, c := range g.columns {
		letters += c.letters
	}
	perLetter := (t.w - 2*listMargin) / float64(letters)
	if g.whole {
		n := 0
		g.rows(func(*cells) { n++ })
		t.room(float64(n+1) * (gridLine + gridPad))
	}
	if g.caption != "" {
		t.paragraph(0, g.caption, false)
	}
	heads := func() {
		t.face(gridType, true)
		t.lines(g.columns, perLetter, func(i int) string { return g.columns[i].head })
		t.stroke(ink, 0.35, listMargin, t.y, t.w-listMargin, t.y)
		t.face(gridType, false)
	}
	heads()
	g.rows(func(row *cells) {
		height := gridPad + gridLine*float64(t.most(g.columns, perLetter, row))
		if t.y+height > t.h-listMargin {
			t.ruled()
			t.turn()
			heads()
		} else if row.apart {
			t.thick = append(t.thick, t.y)
		}
		top := t.y
		t.lines(g.columns, perLetter, func(i int) string { return string(row.at(i)) })
		x := listMargin
		for _, c := range g.columns {
			if c.box {
				t.boxes = append(t.boxes, rect{x + gridBeside, top + (gridLine+gridPad-2.9)/2, 2.9, 2.9})
			}
			x += float64(c.letters) * perLetter
		}
		t.thin = append(t.thin, t.y)
	})
	t.ruled()
	t.y += 2
}

// ruled draws the rules and the boxes of the table on this page.
func (t *pdfTables) ruled() {
	across := func(l look, heights []float64) {
		t.pen(l)
		for _, y := range heights {
			t.line(listMargin, y, t.w-listMargin, y)
		}
		t.end()
	}
	across(look{pen: rule, width: 0.1}, t.thin)
	across(look{pen: ink, width: 0.3}, t.thick)
	t.pen(look{pen: ink, width: 0.2})
	for _, b := range t.boxes {
		t.box(b)
	}
	t.end()
	t.thin, t.thick, t.boxes = t.thin[:0], t.thick[:0], t.boxes[:0]
}

// most gives how many lines a row takes: columns of words are wrapped.
func (t *pdfTables) most(columns []tableColumn, perLetter float64, row *cells) int {
	n := 1
	for i, c := range columns {
		if words := row.at(i); c.left && len(words) > 0 {
			if width := float64(c.letters)*perLetter - 2*gridBeside; t.f.GetStringWidth(string(words)) > width {
				n = max(n, len(t.wrapped(t.clean(string(words)), width)))
			}
		}
	}
	return n
}

// lines sets one row.
func (t *pdfTables) lines(columns []tableColumn, perLetter float64, words func(int) string) {
	x, base, tallest := listMargin, t.y+gridPad/2+0.78*gridLine, 1
	t.pieces = t.pieces[:0]
	for i, c := range columns {
		width := float64(c.letters) * perLetter
		set := t.clean(words(i))
		wide := t.f.GetStringWidth(set)
		switch {
		case set == "":
		case wide <= width-2*gridBeside || !c.left:
			at := x + gridBeside
			if !c.left {
				at = x + width - gridBeside - wide
			}
			t.pieces = append(t.pieces, placed{at, set})
		default:
			lines := t.wrapped(set, width-2*gridBeside)
			for n, line := range lines {
				t.text(x+gridBeside, base+float64(n)*gridLine, line)
			}
			tallest = max(tallest, len(lines))
		}
		x += width
	}
	t.texts(base, t.pieces...)
	t.y += gridPad + gridLine*float64(tallest)
}
