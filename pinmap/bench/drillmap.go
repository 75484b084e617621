package bench

import (
	"io"
	"math"
	"strings"

	"pinwright/pinmap/indexing"
	"pinwright/pinmap/project"
)

// DrillMap writes the drill map of r as one self-contained HTML page: sheets in true size to wrap round the cylinder,
// then the tables. The same result gives the same bytes.
func DrillMap(w io.Writer, r *project.Result, paper Paper) error {
	return drillMap(w, Job{Result: r, Paper: paper, Setup: r.Setup})
}

func drillMap(w io.Writer, j Job) error {
	m := newMap(j)
	p := newPen(w)
	p.raw("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n" +
		`<meta name="viewport" content="width=device-width">` + "\n<title>Drill map: ").text(j.Result.Title).raw("</title>\n<style>\n")
	writeStyle(p, m.plan)
	p.raw("</style>\n</head>\n<body>\n<main>\n")
	for n, t := range m.plan.cut(j.Result) {
		p.raw(`<section class="sheet" id="sheet-`).int(n + 1).raw("\">\n")
		p.raw(`<svg xmlns="http://www.w3.org/2000/svg" width="`).mm(m.plan.width).raw(`mm" height="`).mm(m.plan.height)
		p.raw(`mm" viewBox="0 0 `).mm(m.plan.width).raw(" ").mm(m.plan.height).raw(`" role="img" aria-label="Map of the holes, true size">` + "\n")
		drawSheet(svgCanvas{p}, j, m.plan, t, m.numbers)
		p.raw("</svg>\n")
		notes, aside := m.plan.notesAndAside()
		writeNotes(p, "notes", notes)
		writeNotes(p, "aside", aside)
		writeVerdict(p, m.verdict)
		writeTitleBlock(p, m, n+1)
		writeLink(p, j.Link, m.code)
		p.raw("</section>\n")
	}
	writeTables(p, j.Result.Title, m.tables())
	p.raw("</main>\n</body>\n</html>\n")
	return p.flush()
}

// drillMapOf is what a drill map shows, whatever the medium.
type drillMapOf struct {
	job     Job
	verdict verdict
	code    LinkCode
	plan    plan
	order   []int  // in which holes are drilled, indices of the pins
	numbers []int  // of the holes in that order, by index of the pin
	id      string // the identification number
}

func newMap(j Job) drillMapOf {
	if j.Paper == "" {
		j.Paper = A4
	}
	m := drillMapOf{job: j, verdict: judge(j.Result), code: NewLinkCode(j.Link), order: indexing.Order(j.Result.Pins), id: identification(j.Result)}
	m.numbers = numbersOf(m.order)
	m.plan = planSheets(j, j.Paper, m.verdict.height(), m.code.size(j.Link))
	return m
}

func writeVerdict(p *pen, v verdict) {
	class := "verdict clear"
	if !v.clear {
		class = "verdict blocked"
	}
	p.raw(`<div class="`).raw(class).raw(`"><p>`).text(v.headline).raw("</p>")
	if lines := v.lines(); len(lines) > 0 {
		p.raw("<ul>")
		for _, t := range lines {
			p.raw("<li>").text(t).raw("</li>")
		}
		p.raw("</ul>")
	}
	p.raw("</div>\n")
}

func writeTitleBlock(p *pen, m drillMapOf, sheet int) {
	p.raw(`<dl class="block">`)
	for _, row := range m.titleBlock(sheet) {
		for _, f := range row {
			p.raw(`<div class="w`).int(f.span)
			if f.lines > 1 {
				p.raw(" two")
			}
			if f.bold {
				p.raw(" lead")
			}
			p.raw(`"><dt>`).text(f.name).raw(`</dt><dd>`).text(f.value).raw("</dd></div>")
		}
	}
	p.raw("</dl>\n")
}

// writeNotes writes what must be known at the bench, if anything.
func writeNotes(p *pen, class string, notes []string) {
	if len(notes) == 0 {
		return
	}
	p.raw(`<ol class="`).raw(class).raw(`">`)
	for _, s := range notes {
		p.raw("<li>").text(s).raw("</li>")
	}
	p.raw("</ol>\n")
}

// writeStyle writes the page's only style sheet. Lengths in the drawing are user units, one of them a millimetre.
func writeStyle(p *pen, pl plan) {
	place := func(selector string, r rect) {
		p.raw(selector).raw("{position:absolute;left:").mm(r.x).raw("mm;top:").mm(r.y).raw("mm;width:").mm(r.w).raw("mm;height:").mm(r.h).raw("mm}\n")
	}
	size := func(page string, w, h float64, margin string) {
		p.raw("@page ").raw(page).raw("{size:")
		if pl.paper == A3 {
			// Chromium rounds A3 up to 1588 dots of 1/96 inch and then shrinks it to 0.99926 (measured); a page of
			// whole dots, 0.2 mm smaller, it prints at 0.9999.
			p.mm(math.Floor(w / 25.4 * 96)).raw("px ").mm(math.Floor(h / 25.4 * 96)).raw("px")
		} else {
			p.mm(w).raw("mm ").mm(h).raw("mm")
		}
		p.raw(";margin:").raw(margin).raw("}\n")
	}
	size("sheet", pl.width, pl.height, "0")
	w, h := pl.paper.size(false)
	size("list", w, h, "12mm;@bottom-right{content:\"page \" counter(page);font-size:8pt;font-family:sans-serif}")
	// In print a sheet is a little less than its page: a browser rounds pages to whole dots, and would shrink the
	// drawing to make a sheet fit that is wider by a fraction of one. What is cut off is blank.
	p.raw(".sheet{width:").mm(pl.width).raw("mm;height:").mm(pl.height).raw("mm}\n")
	p.raw("@media print{.sheet{width:auto;height:").mm(pl.height - 1).raw("mm}}\n")
	p.raw(".list{max-width:").mm(w - 24).raw("mm}\n")
	place(".notes", pl.notes)
	if pl.aside.w > 0 {
		place(".aside", pl.aside)
	}
	place(".verdict", pl.verdict)
	place(".block", pl.block)
	p.raw(".block{grid-template-columns:repeat(").int(blockColumns).raw(",1fr);grid-template-rows:")
	for _, h := range blockRows {
		p.mm(h).raw("fr ")
	}
	p.raw("}\n")
	for _, span := range [...]int{2, 3, 4, 5, 6, 11} {
		p.raw(".w").int(span).raw("{grid-column:span ").int(span).raw("}\n")
	}
	writeLooks(p)
	p.raw(strings.TrimLeft(style, "\n"))
	if pl.link.w > 0 {
		place(".link", pl.link)
		p.raw(strings.TrimLeft(linkStyle, "\n"))
	}
}

const style = `
*{box-sizing:border-box;margin:0;padding:0}
body{background:#F0EDE6;color:#1E2326;font-family:Arial,"Liberation Sans",Helvetica,sans-serif;font-variant-numeric:tabular-nums;-webkit-print-color-adjust:exact;print-color-adjust:exact}
.sheet{page:sheet;position:relative;overflow:hidden;background:#fff;break-inside:avoid;break-after:page;margin:0 auto}
.sheet svg{display:block;position:absolute;left:0;top:0}
.list{page:list;margin:0 auto;font-size:9.5pt;line-height:1.35}
path{fill:none;stroke:none}
text{fill:#1E2326;font-family:Arial,"Liberation Sans",Helvetica,sans-serif}
.mid{text-anchor:middle}
.end{text-anchor:end}
.start{text-anchor:start}
.bold{font-weight:bold}
text.light{fill:#fff}
.numbers text{stroke:#fff;stroke-width:.5;paint-order:stroke}
text.halo{stroke:#fff;stroke-width:.5;paint-order:stroke}
.notes,.aside{list-style:none;font-size:2.35mm;line-height:3.1mm;padding:1mm 1.5mm 0;overflow:hidden}
.aside{border-top:.35mm solid #1E2326}
.notes li,.aside li{padding-bottom:.4mm}
.verdict{border:.35mm solid #1E2326;border-width:.35mm 0 0;padding:.8mm 2mm;overflow:hidden;font-size:2.5mm;line-height:3.3mm}
.verdict p{font-size:3.8mm;line-height:5mm;font-weight:bold}
.verdict ul{padding-left:4mm}
.clear p{color:#17645A}
.blocked{background:#F6E7E3}
.blocked p{color:#9E2B18}
.block{display:grid;border-top:.35mm solid #1E2326}
.block div{border-left:.15mm solid #1E2326;border-bottom:.15mm solid #1E2326;padding:.5mm 1mm 0;overflow:hidden;min-width:0;min-height:0}
.block div:nth-child(n+8){border-bottom:0}
.block dt{font-size:1.9mm;line-height:2.2mm;color:#5A6065;white-space:nowrap}
.block dd{font-size:2.7mm;line-height:3.2mm;overflow-wrap:anywhere;display:-webkit-box;-webkit-box-orient:vertical;-webkit-line-clamp:1;overflow:hidden}
.block .two dd{-webkit-line-clamp:2}
.block .lead dd{font-weight:bold}
h1{font-size:16pt;margin:0 0 4mm}
h2{font-size:12.5pt;margin:6mm 0 2mm;break-after:avoid}
h2.page{break-before:page;margin-top:0}
.list p,.list li{margin:0 0 1.2mm;max-width:170mm;overflow-wrap:anywhere}
.list ul{padding-left:5mm}
table{border-collapse:collapse;width:100%;font-size:9pt;line-height:1.25}
caption{text-align:left;padding-bottom:1.5mm}
thead{display:table-header-group}
th{font-weight:bold;text-align:right;vertical-align:bottom;border-bottom:.35mm solid #1E2326;padding:.6mm 1.5mm}
td{text-align:right;border-bottom:.1mm solid #A9AFB4;padding:.55mm 1.5mm}
tr,.whole{break-inside:avoid}
tr.new td{border-top:.55mm solid #1E2326}
td.t,th.t{text-align:left;overflow-wrap:anywhere}
i{display:inline-block;width:3mm;height:3mm;border:.2mm solid #1E2326;vertical-align:-.4mm}
.bad{color:#9E2B18;font-weight:bold}
.good{color:#17645A;font-weight:bold}
@media screen{.sheet,.list{margin:8mm auto}.list{background:#fff;padding:12mm;max-width:none;width:fit-content}}
@media print{body{background:none}.list{break-before:page}}
`

// linkStyle keeps the code true black on white, whatever else is tinted.
const linkStyle = `
.link{border:.35mm solid #1E2326;border-width:.35mm 0 0 .35mm;text-align:center;overflow:hidden}
.sheet .link svg{position:static;margin:0 auto}
.link path{fill:#000;stroke:none;shape-rendering:crispEdges}
.link p{font-size:1.7mm;line-height:2.1mm;padding:0 1mm;overflow-wrap:anywhere}
`
