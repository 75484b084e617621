package bench

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"pinwright/arrange"
	"pinwright/pinmap/project"
)

// DrillMap writes the drill map of r as one self-contained HTML page: sheets in true size to wrap round the cylinder,
// then the tables. The same result gives the same bytes.
func DrillMap(w io.Writer, r *project.Result, paper Paper) error {
	return drillMap(w, Job{Result: r, Paper: paper, Setup: r.Setup})
}

func drillMap(w io.Writer, j Job) error {
	if j.Paper == "" {
		j.Paper = A4
	}
	v := judge(j.Result)
	code := NewLinkCode(j.Link)
	pl := planSheets(j.Result, j.Paper, v.height(), code.size(j.Link))
	p := newPen(w)
	p.raw("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n" +
		`<meta name="viewport" content="width=device-width">` + "\n<title>Drill map: ").text(j.Result.Title).raw("</title>\n<style>\n")
	writeStyle(p, pl)
	p.raw("</style>\n</head>\n<body>\n<main>\n")
	for n, t := range pl.cut(j.Result) {
		p.raw(`<section class="sheet" id="sheet-`).int(n + 1).raw("\">\n")
		drawSheet(p, j.Result, pl, t)
		writeNotes(p, j.Result, pl)
		v.write(p)
		writeTitleBlock(p, j, n+1, pl.sheets())
		writeLink(p, j.Link, code)
		p.raw("</section>\n")
	}
	writeTables(p, j, v)
	p.raw("</main>\n</body>\n</html>\n")
	return p.flush()
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

func (v verdict) write(p *pen) {
	class := "verdict clear"
	if !v.clear {
		class = "verdict blocked"
	}
	p.raw(`<div class="`).raw(class).raw(`"><p>`).text(v.headline).raw("</p>")
	if len(v.texts)+v.more > 0 {
		p.raw("<ul>")
		for _, t := range v.texts {
			p.raw("<li>").text(t).raw("</li>")
		}
		if v.more > 0 {
			p.raw("<li>").text(strconv.Itoa(v.more) + " more, in full under Findings among the tables").raw("</li>")
		}
		p.raw("</ul>")
	}
	p.raw("</div>\n")
}

// writeTitleBlock writes the fields that a drawing's title block has (in the manner of ISO 7200).
func writeTitleBlock(p *pen, j Job, sheet, sheets int) {
	r := j.Result
	tune := r.Tune.Title
	if tune == "" {
		tune = "not named in the file"
	}
	p.raw(`<dl class="block">`)
	for _, f := range []struct{ class, name, value string }{
		{"wide", "Title", shorten(r.Title, 110)},
		{"", "Kind of drawing", "Drill map"},
		{"", "Revision", strconv.Itoa(j.Revision)},
		{"", "Sheet", fmt.Sprintf("%d of %d", sheet, sheets)},
		{"wide", "Tune", shorten(tune, 110)},
		{"", "Date of the setup", date(r.Setup.Date)},
		{"", "Scale and units", "1:1, mm and degrees"},
		{"", "Paper", j.Paper.String()},
	} {
		p.raw(`<div class="`).raw(f.class).raw(`"><dt>`).raw(f.name).raw(`</dt><dd>`).text(f.value).raw("</dd></div>")
	}
	p.raw("</dl>\n")
}

func date(s string) string {
	if s == "" {
		return "not given"
	}
	return shorten(s, 20)
}

// writeNotes writes what must be known to wrap the map the right way round.
func writeNotes(p *pen, r *project.Result, pl plan) {
	p.raw(`<ol class="notes">`)
	for _, s := range append(wrapNotes(r, pl), firstHoles(r)...) {
		p.raw("<li>").text(s).raw("</li>")
	}
	p.raw("</ol>\n")
}

func wrapNotes(r *project.Result, pl plan) []string {
	c := r.Cylinder
	bass := "bottom"
	if !pl.up {
		bass = "top"
	}
	return []string{
		"This is the outside of the cylinder, unrolled. Wrap it with this side out, the bass-end edge on the bass-end face, the two datum lines meeting.",
		fmt.Sprintf("Seen from the comb the bass end is at the %s and the surface moves %s. On this paper the bass end is at the %s, and holes reach the comb "+
			"from left to right.", c.BassEnd, c.Turns, bass),
		fmt.Sprintf("Printed arcs are for wrapping with paper of %.2f mm: 360° is π(D + p) = %.3f mm. Tabulated arcs, and those below, are at the bare surface: "+
			"360° is πD = %.3f mm.", c.PaperMm, pl.wrap, math.Pi*float64(c.DiameterMm)),
		"A mirrored map spoils a cylinder. Check on the wrapped paper before drilling:",
	}
}

// firstHoles describes the first three holes in words, so that a map wrapped the wrong way round is noticed.
func firstHoles(r *project.Result) []string {
	var words []string
	for _, pin := range r.Pins[:min(3, len(r.Pins))] {
		words = append(words, fmt.Sprintf("Hole %d: tooth %d, %s, %.2f degrees, %.2f mm from the datum line, %.2f mm from the bass-end face",
			pin.Pin, pin.Tooth, toothNote(r, pin.Tooth), pin.AngleDeg, pin.ArcMm, pin.AxialMm))
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

// writeStyle writes the page's only style sheet. Lengths in the drawing are user units, one of them a millimetre.
func writeStyle(p *pen, pl plan) {
	notes := pl.notes
	notes.x, notes.y = notes.x+1, notes.y+1
	if pl.lies {
		notes.w -= rulerMm + 10
	} else {
		notes.y, notes.h = notes.y+rulerHeight-1, notes.h-rulerHeight
		if pl.sheets() > 1 {
			notes.w -= 66
		}
	}
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
	place(".notes", notes)
	place(".verdict", pl.verdict)
	place(".block", pl.block)
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
path{fill:none;stroke:#1E2326;stroke-width:.12}
text{fill:#1E2326;font-family:Arial,"Liberation Sans",Helvetica,sans-serif}
circle{fill:#fff;stroke:#1E2326;stroke-width:.08}
.s{font-size:1.7px}
.r{font-size:2.2px}
.m{font-size:2.6px}
.mid{text-anchor:middle}
.end{text-anchor:end}
.start{text-anchor:start}
.bold{font-weight:bold}
text.light{fill:#fff}
.frame{stroke-width:.35}
.gap{fill:#EEE9DD;stroke:none}
.hatch{stroke:#7A5200;stroke-width:.06}
.track{stroke:#2F4B66;stroke-width:.06}
.cut{stroke-width:.2}
.joint{stroke:#5A6065;stroke-width:.12;stroke-dasharray:1.2 .6}
.datum{stroke:#7A5200;stroke-width:.18}
.drawn{fill:#fff;stroke-width:.12}
.tick,.ruler,.plain,.match{stroke-width:.14}
.limit{stroke-width:.1}
.arrow{stroke-width:.3}
.ink{fill:#1E2326}
.numbers text{stroke:#fff;stroke-width:.5;paint-order:stroke}
.cross{stroke-width:.06}
.leader{stroke:#5A6065;stroke-width:.07}
.notes{list-style:none;font-size:2.35mm;line-height:3.1mm;padding:0 1mm;overflow:hidden}
.notes li{padding-bottom:.4mm}
.verdict{border:.35mm solid #1E2326;border-width:.35mm 0 0;padding:.8mm 2mm;overflow:hidden;font-size:2.5mm;line-height:3.3mm}
.verdict p{font-size:3.8mm;line-height:5mm;font-weight:bold}
.verdict ul{padding-left:4mm}
.clear p{color:#17645A}
.blocked{background:#F6E7E3}
.blocked p{color:#9E2B18}
.block{display:grid;grid-template-columns:2.6fr 1.15fr 1.15fr .7fr;grid-template-rows:1fr 1fr;border-top:.35mm solid #1E2326}
.block div{border-left:.15mm solid #1E2326;border-bottom:.15mm solid #1E2326;padding:1mm 1.5mm;overflow:hidden}
.block .wide{border-left:0}
.block div:nth-child(n+5){border-bottom:0}
.block dt{font-size:2mm;line-height:2.4mm;color:#5A6065}
.block dd{font-size:3.1mm;line-height:3.6mm;overflow-wrap:anywhere;max-height:7.2mm;overflow:hidden}
.block .wide:first-child dd{font-weight:bold}
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
tr.new td{border-top:.3mm solid #1E2326}
td.t,th.t{text-align:left;overflow-wrap:anywhere}
i{display:inline-block;width:3mm;height:3mm;border:.2mm solid #1E2326;vertical-align:-.4mm}
.bad{color:#9E2B18;font-weight:bold}
.good{color:#17645A;font-weight:bold}
@media screen{.sheet,.list{margin:8mm auto}.list{background:#fff;padding:12mm;max-width:none;width:fit-content}}
@media print{body{background:none}.list{break-before:page}}
`

// linkStyle keeps the code true black on white, whatever else is tinted, and lets the narrower fields take more lines.
const linkStyle = `
.link{border:.35mm solid #1E2326;border-width:.35mm 0 0 .35mm;text-align:center;overflow:hidden}
.sheet .link svg{position:static;margin:0 auto}
.link path{fill:#000;stroke:none;shape-rendering:crispEdges}
.link p{font-size:1.7mm;line-height:2.1mm;padding:0 1mm;overflow-wrap:anywhere}
.block dd{max-height:10.8mm}
`
