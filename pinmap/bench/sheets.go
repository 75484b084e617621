package bench

import (
	"math"
	"unicode/utf8"

	"pinwright/pinmap/project"
)

// Sizes on a sheet, in mm.
const (
	frameLine = 0.7  // width of the frame's line (ISO 5457, from memory)
	edge      = 10.0 // from the sheet's edge to the frame; outside it are only centring marks and grid references
	filing    = 20.0 // the same at the left of a sheet of the A series, which is filed there (ISO 5457, table 1)
	overlap   = 12.0 // least that two neighbouring tiles share
	rulerMm   = 100.0

	titleHeight = 24.5
	titleWidth  = 180.0 // of the title block, the QR code within it (ISO 7200)
	noteLine    = 3.1   // from line to line of the notes
	noteGap     = 0.4   // between two notes
	noteLetter  = 1.22  // wider than the average of the letters of the notes
	leastAside  = 60.0  // width beside it from which on notes stand there; else the block is as wide as the frame
	rulerHeight = 12.0
	rulerBeside = 115.0 // the ruler across, with room at its sides, clear of the one that runs down
	keyWidth    = 58.0
	keyHeight   = 19.0
	rulerWidth  = 13.0

	above      = 19.0 // room over the map for the bar scale, the end's name and the arrow
	below      = 15.0 // room under it for the degree scale and the other end's name
	datumRoom  = 17.0 // room at its right for the datum line's name
	labelWidth = 9.0  // of one column of track names
	smallest   = 1.7  // height of the smallest type
)

// rect is a rectangle on the sheet, in mm from its upper left corner.
type rect struct{ x, y, w, h float64 }

// grown gives r with a margin on all sides.
func (r rect) grown(by float64) rect { return rect{r.x - by, r.y - by, r.w + 2*by, r.h + 2*by} }

// span is a stretch of the map, in mm along u or v.
type span struct{ from, to float64 }

func (s span) size() float64           { return s.to - s.from }
func (s span) holds(at float64) bool   { return at >= s.from && at <= s.to }
func (s span) middle(o span) float64   { return (s.from + o.to) / 2 }
func (s span) clamp(a float64) float64 { return math.Min(math.Max(a, s.from), s.to) }

// plan says how the map lies on its sheets.
type plan struct {
	surface
	paper         Paper
	width, height float64 // of a sheet
	lies          bool
	frame         rect
	verdict       rect
	block         rect // the title block
	link          rect // the QR code and its link; empty without one
	notes         rect
	aside         rect // the notes on drilling, beside the title block; empty where they stand among the others
	ruler         rect // the one across, from its left end
	key           rect // the key plan; of use where there are several sheets
	words         sheetWords
	room          rect // what the map and its lettering can take
	labelColumns  int  // columns of track names, so that names of near tracks don't touch
	columns, rows []span
	enlarged      float64 // scale of the plan to read by under the map; 0 where there is no room for one
}

// sheets gives the number of sheets.
func (p plan) sheets() int { return len(p.columns) * len(p.rows) }

// planSheets chooses the way round that needs fewest sheets, the usual one where both need as many.
func planSheets(j Job, paper Paper, verdictHeight float64, link rect) plan {
	usual := papers[paper].lies
	r, words := j.Result, wordsOf(j)
	a, b := planOne(r, words, paper, usual, verdictHeight, link), planOne(r, words, paper, !usual, verdictHeight, link)
	if b.sheets() < a.sheets() {
		return b
	}
	return a
}

// planOne plans the sheets one way round: at the foot the title block, at the right, with the link, of which the size is
// given, at its own right; over it the verdict, then the notes, then the map. On a sheet that lies the link takes room of
// the verdict's width too, which leaves the map more of the height.
func planOne(r *project.Result, words sheetWords, paper Paper, lies bool, verdictHeight float64, link rect) plan {
	p := plan{surface: printedSurface(r.Cylinder), paper: paper, lies: lies, words: words}
	p.width, p.height = paper.size(lies)
	p.frame = paper.frame(lies)
	right, bottom := p.frame.x+p.frame.w, p.frame.y+p.frame.h
	p.block = rect{w: p.frame.w - link.w, h: math.Max(titleHeight, link.h)}
	if p.frame.w >= titleWidth+leastAside {
		p.block.w = titleWidth - link.w
	}
	p.verdict = rect{p.frame.x + frameLine/2, 0, p.frame.w - frameLine, verdictHeight} // its ground leaves the frame whole
	if lies {
		p.block.h = math.Max(titleHeight, link.h-verdictHeight)
		p.verdict.w -= link.w - frameLine/2
	}
	p.block.x = right - link.w - p.block.w
	notes, beside := p.words.all(), p.block.x-p.frame.x
	if beside > 0 {
		notes = p.words.wrap
		p.block.h = math.Max(p.block.h, notesHeight(p.words.drill, beside))
	}
	p.block.y = bottom - p.block.h
	p.verdict.y = p.block.y - verdictHeight
	if link.w > 0 {
		p.link = rect{right - link.w, p.block.y, link.w, p.block.h}
		if lies {
			p.link.y, p.link.h = p.verdict.y, p.verdict.h+p.block.h
		}
	}
	if beside > 0 {
		p.aside = rect{p.frame.x, p.block.y, beside, p.block.h}
	}

	// The notes and the ruler: side by side where the sheet is wide enough, else one over the other. A key plan stands under
	// the ruler, or beside the notes.
	p.notes = rect{x: p.frame.x, w: p.frame.w}
	p.ruler = rect{x: right - rulerMm - 12, w: rulerMm}
	p.key = rect{w: keyWidth, h: keyHeight}
	if lies {
		p.notes.w -= rulerBeside
		p.notes.h = math.Max(notesHeight(notes, p.notes.w), rulerHeight+p.key.h+5)
		p.notes.y = p.verdict.y - p.notes.h
		p.ruler.y = p.notes.y + 4
		p.key.x, p.key.y = p.ruler.x+(rulerMm-keyWidth)/2, p.notes.y+rulerHeight
	} else {
		p.notes.h = notesHeight(notes, p.notes.w)
		p.notes.y = p.verdict.y - p.notes.h
		p.ruler.y = p.notes.y - rulerHeight + 4
		p.key.x, p.key.y = p.frame.x+4, p.notes.y-p.key.h-5
	}
	foot := math.Min(p.notes.y, p.ruler.y-4)
	p.room = rect{p.frame.x, p.frame.y, p.frame.w - rulerWidth, foot - p.frame.y}

	p.labelColumns = 1
	if len(r.Comb.Teeth) > 1 {
		p.labelColumns = int(math.Ceil(smallest / math.Max(float64(r.Cylinder.ToothSpacingMm), smallest/4)))
	}
	p.columns = tiles(p.wrap, p.room.w-p.left()-datumRoom)
	p.rows = tiles(p.length, p.room.h-above-below)
	if p.sheets() > 1 && !lies { // the key plan takes room over the notes
		p.room.h = math.Min(p.room.h, p.key.y-2-p.frame.y)
		p.rows = tiles(p.length, p.room.h-above-below)
	}
	if p.sheets() == 1 && len(r.Pins) > 0 {
		p.enlarged = p.readingScale()
	}
	return p
}

// notesHeight gives the height that notes surely do with in a column of that width.
func notesHeight(notes []string, width float64) float64 {
	h := 1.4
	for _, s := range notes {
		h += noteGap + noteLine*math.Ceil(float64(utf8.RuneCountInString(s))*noteLetter/(width-4))
	}
	return h
}

// left is the room at the left of the map for the names of tracks and of the datum line.
func (p plan) left() float64 { return math.Max(datumRoom, 3+float64(p.labelColumns)*labelWidth) }

// tiles cuts a length into equal pieces no longer than room, each sharing the overlap with the next.
func tiles(length, room float64) []span {
	if length <= room {
		return []span{{0, length}}
	}
	n := int(math.Ceil((length - overlap) / (room - overlap)))
	step := (length - overlap) / float64(n)
	pieces := make([]span, n)
	for i := range pieces {
		pieces[i] = span{float64(i) * step, float64(i)*step + step + overlap}
	}
	pieces[n-1].to = length
	return pieces
}

// tile is one sheet's piece of the map.
type tile struct {
	column, row int
	u, v        span
	x, y        float64 // where the piece's upper left corner lies on the sheet
	holes       []int   // indices of the pins whose centres lie within its bounds
}

// at gives where a point of the map lies on the sheet.
func (t *tile) at(u, v float64) (x, y float64) { return t.x + u - t.u.from, t.y + v - t.v.from }

// spare is the height that a piece of the map leaves free; the plan to read by takes it where there is one.
func (p plan) spare(v span) float64 {
	if p.enlarged > 0 {
		return 0
	}
	return p.room.h - above - below - v.size()
}

// cut gives the tiles row by row, each with the holes within its bounds, those in overlaps on every sheet that shows
// them.
func (p plan) cut(r *project.Result) []tile {
	all := make([]tile, 0, p.sheets())
	for j, v := range p.rows {
		for i, u := range p.columns {
			all = append(all, tile{
				column: i, row: j, u: u, v: v,
				x: p.room.x + p.left() + (p.room.w-p.left()-datumRoom-u.size())/2,
				y: p.room.y + above + p.spare(v)/2,
			})
		}
	}
	for k, pin := range r.Pins {
		u, v := p.u(pin.AngleDeg), p.v(pin.AxialMm)
		for j := first(p.rows, v); j < len(p.rows) && p.rows[j].holds(v); j++ {
			for i := first(p.columns, u); i < len(p.columns) && p.columns[i].holds(u); i++ {
				t := &all[j*len(p.columns)+i]
				t.holes = append(t.holes, k)
			}
		}
	}
	return all
}

// first gives the index of the first piece that reaches to at.
func first(pieces []span, at float64) int {
	for i, s := range pieces {
		if at <= s.to {
			return i
		}
	}
	return len(pieces)
}

// markLines gives where match marks lie along one direction: in the middle of each overlap, and outside the map at
// either end.
func markLines(pieces []span, outside float64) []float64 {
	lines := []float64{-outside}
	for i := 1; i < len(pieces); i++ {
		lines = append(lines, pieces[i].middle(pieces[i-1]))
	}
	return append(lines, pieces[len(pieces)-1].to+outside)
}

// notesAndAside gives the notes over the title block and those beside it.
func (p plan) notesAndAside() (notes, aside []string) {
	if p.aside.w > 0 {
		return p.words.wrap, p.words.drill
	}
	return p.words.all(), nil
}
