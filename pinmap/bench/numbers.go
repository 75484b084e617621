package bench

import "math"

// field keeps which parts of a sheet's piece of the map are taken, in cells of a tenth of a millimetre, so that numbers
// stand beside their holes and never on something else. Asking and taking cost the same wherever a hole lies, so
// numbering is linear in the holes.
type field struct {
	x, y          float64 // upper left corner on the sheet
	columns, rows int
	words         int
	bits          []uint64
	size          float64         // of the figures
	full          map[[2]int]bool // squares of 2 mm in which a number found no room
}

const cell = 0.1

// newField gives a field over r for figures of the size given, in mm.
func newField(r rect, size float64) *field {
	f := &field{x: r.x, y: r.y, columns: int(r.w / cell), rows: int(r.h / cell), size: size, full: map[[2]int]bool{}}
	f.words = (f.columns + 63) / 64
	f.bits = make([]uint64, f.words*f.rows)
	return f
}

// cells gives the cells that a rectangle touches, and whether all of it lies in the field.
func (f *field) cells(r rect) (x0, y0, x1, y1 int, inside bool) {
	x0, y0 = int(math.Floor((r.x-f.x)/cell)), int(math.Floor((r.y-f.y)/cell))
	x1, y1 = int(math.Ceil((r.x+r.w-f.x)/cell)), int(math.Ceil((r.y+r.h-f.y)/cell))
	inside = x0 >= 0 && y0 >= 0 && x1 <= f.columns && y1 <= f.rows
	return max(x0, 0), max(y0, 0), min(x1, f.columns), min(y1, f.rows), inside
}

// free reports whether nothing lies in r and r lies in the field.
func (f *field) free(r rect) bool {
	x0, y0, x1, y1, inside := f.cells(r)
	if !inside {
		return false
	}
	for y := y0; y < y1; y++ {
		for w := x0 / 64; w*64 < x1; w++ {
			if f.bits[y*f.words+w]&mask(x0, x1, w) != 0 {
				return false
			}
		}
	}
	return true
}

// take marks r as taken.
func (f *field) take(r rect) {
	x0, y0, x1, y1, _ := f.cells(r)
	for y := y0; y < y1; y++ {
		for w := x0 / 64; w*64 < x1; w++ {
			f.bits[y*f.words+w] |= mask(x0, x1, w)
		}
	}
}

// mask gives the bits of word w that stand for cells x0 to x1, x1 left out.
func mask(x0, x1, w int) uint64 {
	m := ^uint64(0)
	if lo := x0 - w*64; lo > 0 {
		m &= ^uint64(0) << lo
	}
	if hi := x1 - w*64; hi < 64 {
		m &= 1<<hi - 1
	}
	return m
}

// spot is where a hole's number stands: its box, and the leader to it where it stands off.
type spot struct {
	box    rect
	leader bool
	x1, y1 float64 // the leader's end at the hole
	x2, y2 float64 // and at the number
}

// How high figures are and how wide one is, in parts of the size of type, of the sans-serif types in use.
const (
	figureHeight = 0.74
	figureWidth  = 0.58
)

// directions are where a number is tried, in the order of how well it reads there: right of the hole first, then
// left, then between the tracks.
var directions = func() (d [16][2]float64) {
	for i, turn := range [16]float64{0, 8, 1, 15, 7, 9, 2, 14, 6, 10, 3, 13, 5, 11, 4, 12} {
		d[i][0], d[i][1] = math.Cos(turn*math.Pi/8), -math.Sin(turn*math.Pi/8)
	}
	return d
}()

// standOffs are how far from the hole's edge a number is tried, in mm; beyond the first it gets a leader.
var standOffs = [...]float64{0.25, 0.7, 1.2, 1.8, 2.5, 3.3, 4.2, 5.2, 6.5, 8}

// place finds room for a number beside the hole at x, y of radius r and takes it; it reports whether there was any.
func (f *field) place(x, y, r float64, digits int) (spot, bool) {
	w, h := float64(digits)*figureWidth*f.size, figureHeight*f.size
	// Where a number found no room before, far places are not searched again: crowded maps stay quick to draw.
	area := [2]int{int((x - f.x) / 2), int((y - f.y) / 2)}
	offs := standOffs[:]
	if f.full[area] {
		offs = offs[:3]
	}
	for i, off := range offs {
		for _, d := range directions {
			// The box touches the ray at distance r + off with its nearest point.
			cx, cy := x+d[0]*(r+off+w/2), y+d[1]*(r+off+h/2)
			s := spot{box: rect{cx - w/2, cy - h/2, w, h}}
			if !f.free(s.box) {
				continue
			}
			if i > 0 {
				s.leader = true
				s.x2 = math.Min(math.Max(x, s.box.x), s.box.x+w)
				s.y2 = math.Min(math.Max(y, s.box.y), s.box.y+h)
				long := math.Hypot(s.x2-x, s.y2-y)
				if long < r+0.2 {
					continue
				}
				ex, ey := (s.x2-x)/long, (s.y2-y)/long
				s.x1, s.y1 = x+ex*(r+0.1), y+ey*(r+0.1)
				s.x2, s.y2 = s.x2-ex*0.1, s.y2-ey*0.1
				if !f.line(s, false) {
					continue
				}
				f.line(s, true)
			}
			f.take(s.box)
			return s, true
		}
	}
	f.full[area] = true
	return spot{}, false
}

// line walks along a leader; it takes its cells, or reports whether they are free past the hole's own margin.
func (f *field) line(s spot, take bool) bool {
	long := math.Hypot(s.x2-s.x1, s.y2-s.y1)
	steps := int(long/cell) + 1
	for i := 0; i <= steps; i++ {
		t := float64(i) / float64(steps)
		if t*long < 0.15 {
			continue
		}
		c := rect{s.x1 + t*(s.x2-s.x1), s.y1 + t*(s.y2-s.y1), cell / 2, cell / 2}
		if take {
			f.take(c)
		} else if !f.free(c) {
			return false
		}
	}
	return true
}
