package bench

import (
	"fmt"
	"math"
	"strconv"

	"pinwright/arrange/unit"
	"pinwright/pinmap/project"
)

// drawing draws one tile.
type drawing struct {
	canvas
	r       *project.Result
	job     Job
	plan    plan
	tile    *tile
	numbers []int // of the holes in the drilling order, by index of the pin
}

// drawSheet draws one sheet, with its notes and tables left out.
func drawSheet(c canvas, j Job, pl plan, t tile, numbers []int) {
	d := drawing{c, j.Result, j, pl, &t, numbers}
	d.border()
	d.gap()
	d.tracks()
	d.ends()
	d.datum()
	d.meetingMarks()
	d.bars()
	d.degrees()
	d.turning()
	d.matchMarks()
	d.rulers()
	d.keyPlan()
	d.holes()
	if pl.enlarged > 0 {
		d.enlargement()
	}
}

// body gives the sheet's piece of the map on paper.
func (d drawing) body() rect { return rect{d.tile.x, d.tile.y, d.tile.u.size(), d.tile.v.size()} }

// gap shades the silent sector at both ends of the paper.
func (d drawing) gap() {
	half := float64(d.r.Cylinder.GapDeg) / 2 / 360 * d.plan.wrap
	for _, s := range []span{{0, half}, {d.plan.wrap - half, d.plan.wrap}} {
		from, to := d.tile.u.clamp(s.from), d.tile.u.clamp(s.to)
		if to-from < 1e-6 {
			continue
		}
		x, _ := d.tile.at(from, 0)
		area := rect{x, d.tile.y, to - from, d.tile.v.size()}
		d.begin("gap")
		d.box(area)
		d.end()
		d.begin("hatch")
		const step = 1.5
		for c := step; c < area.w+area.h; c += step { // strokes x + y = c, cut to the area
			x1, x2 := math.Max(0, c-area.h), math.Min(area.w, c)
			d.line(area.x+x1, area.y+c-x1, area.x+x2, area.y+c-x2)
		}
		d.end()
	}
}

// tracks draws a thin line for each tooth and names it at the left.
func (d drawing) tracks() {
	b := d.body()
	every := 1 // name every track unless even the widest staircase of names would touch
	spacing := float64(d.r.Cylinder.ToothSpacingMm)
	if spacing*float64(d.plan.labelColumns) < smallest-1e-9 {
		every = int(math.Ceil(smallest / spacing / float64(d.plan.labelColumns)))
	}
	named := 0
	for _, track := range d.job.tracks() {
		v := d.plan.v(track.axial)
		if !d.tile.v.holds(v) {
			continue
		}
		_, y := d.tile.at(0, v)
		d.stroke("track", b.x, y, b.x+b.w, y)
		if track.name == "" || (track.tooth-1)%every != 0 {
			continue
		}
		x := b.x - 2.2 - float64(named%d.plan.labelColumns)*labelWidth
		named++
		d.stroke("track", x, y, b.x, y)
		d.words("s end", x-0.4, y+smallest*figureHeight/2, strconv.Itoa(track.tooth)+" "+track.name)
	}
}

// ends draws the two faces of the cylinder where they lie on this sheet and says at the upper and lower edge which
// end is which.
func (d drawing) ends() {
	b := d.body()
	middle := b.x + b.w/2
	upper, lower := d.plan.endNames()
	say := func(name string, y float64, face bool) {
		if !face {
			name = "towards the " + name
		}
		class := "m mid"
		if b.w < 20 { // a thin cylinder leaves no more room between the names of the datum lines
			class = "s mid"
		}
		d.words(class, middle, y, name)
	}
	top, bottom := d.tile.v.from == 0, d.tile.v.to == d.plan.length
	say(upper, b.y-6.2, top)
	say(lower, b.y+b.h+8.4, bottom)
	for _, e := range []struct {
		y    float64
		face bool
	}{{b.y, top}, {b.y + b.h, bottom}} {
		class := "cut"
		if !e.face {
			class = "joint"
		}
		d.stroke(class, b.x, e.y, b.x+b.w, e.y)
	}
}

// datum draws the datum line and its twin at the closing edge, or the edges of a tile.
func (d drawing) datum() {
	b := d.body()
	first, last := d.tile.u.from == 0, d.tile.u.to == d.plan.wrap
	for _, e := range []struct {
		x             float64
		datum         bool
		class, figure string
		away          float64
	}{{b.x, first, "end", "0°", -1}, {b.x + b.w, last, "start", "360°", 1}} {
		if !e.datum {
			d.stroke("joint", e.x, b.y, e.x, b.y+b.h)
			continue
		}
		d.stroke("datum", e.x, b.y-10.4, e.x, b.y+b.h+6)
		x := e.x + 0.8*e.away
		d.words("s "+e.class, x, b.y-9, "datum line, "+e.figure)
		d.words("s "+e.class, x, b.y-6.8, "must meet the other,")
		d.words("s "+e.class, x, b.y-4.6, "a on a, b on b …")
		if d.r.Cylinder.GapDeg > 0 {
			d.words("s "+e.class, x, b.y+b.h+5.6, "gap, "+trim(float64(d.r.Cylinder.GapDeg/2))+"°")
		} else {
			d.words("s "+e.class, x, b.y+b.h+5.6, "no gap")
		}
	}
}

// bars draws the bar lines as ticks along the upper edge.
func (d drawing) bars() {
	b := d.body()
	free := math.Inf(-1)
	d.words("s end", b.x-0.8, b.y-2.2, "bar")
	for _, bar := range d.r.Tune.Excerpt.Bars {
		u := d.plan.u(angleAt(d.r.Cylinder, bar.StartMs))
		if u < 0 || u > d.plan.wrap || !d.tile.u.holds(u) {
			continue
		}
		x, _ := d.tile.at(u, 0)
		d.stroke("tick", x, b.y-1.6, x, b.y)
		name := strconv.Itoa(bar.Number)
		if half := float64(len(name)) * smallest * figureWidth / 2; x-half > free {
			x = math.Max(x, b.x+half+0.3) // clear of the datum line
			d.words("s mid", x, b.y-2.2, name)
			free = x + half + 0.6
		}
	}
}

// degrees draws the scale of angles along the lower edge.
func (d drawing) degrees() {
	b := d.body()
	perDegree := d.plan.wrap / 360
	tick := coarsest(0.8/perDegree, 1, 2, 5, 10, 30)
	name := coarsest(6/perDegree, 5, 10, 15, 30, 45, 90, 180)
	d.words("s end", b.x-0.8, b.y+b.h+3.4, "angle")
	d.begin("tick")
	for a := 0; a <= 360; a += tick {
		if u := d.plan.u(unit.Degrees(a)); d.tile.u.holds(u) {
			x, _ := d.tile.at(u, 0)
			long := 0.9
			if a%name == 0 {
				long = 1.6
			}
			d.line(x, b.y+b.h, x, b.y+b.h+long)
		}
	}
	d.end()
	for a := 0; a <= 360; a += name {
		if u := d.plan.u(unit.Degrees(a)); d.tile.u.holds(u) && a > 0 && a < 360 {
			x, _ := d.tile.at(u, 0)
			d.words("s mid", x, b.y+b.h+3.4, strconv.Itoa(a)+"°")
		}
	}
}

// coarsest gives the first step not finer than least, or the last.
func coarsest(least float64, steps ...int) int {
	for _, s := range steps {
		if float64(s) >= least {
			return s
		}
	}
	return steps[len(steps)-1]
}

// turning draws an arrow that points the way in which the surface next to the comb moves on this paper: to the left,
// since arcs grow in the order in which pins reach the comb.
func (d drawing) turning() {
	b := d.body()
	x, y := b.x+b.w/2, b.y-12.4
	d.stroke("arrow", x+11, y, x-9, y)
	d.begin("ink")
	d.shape([2]float64{x - 12, y}, [2]float64{x - 8, y - 1.1}, [2]float64{x - 8, y + 1.1})
	d.end()
	d.words("m mid", x, y-2, "direction of turning: "+string(d.r.Cylinder.Turns)+" past the comb")
}

// matchMarks draws the marks at the tile's corners that neighbouring sheets share.
func (d drawing) matchMarks() {
	if d.plan.sheets() == 1 {
		return
	}
	us := markLines(d.plan.columns, d.plan.left()-3)
	vs := markLines(d.plan.rows, 10.5)
	for _, i := range []int{d.tile.column, d.tile.column + 1} {
		for _, j := range []int{d.tile.row, d.tile.row + 1} {
			if outer(i, us) && outer(j, vs) {
				continue
			}
			x, y := d.tile.at(us[i], vs[j])
			name := letters(i) + strconv.Itoa(j+1)
			d.begin("match", "mark", name)
			d.cross(x, y, 2)
			d.end()
			d.words("s bold", x+0.5, y-0.6, name)
		}
	}
}

func outer(i int, lines []float64) bool { return i == 0 || i == len(lines)-1 }

// letters gives A to Z, then AA, AB and so on.
func letters(i int) string {
	if i < 26 {
		return string(rune('A' + i))
	}
	return letters(i/26-1) + letters(i%26)
}

// rulers draws 100 mm in both directions.
func (d drawing) rulers() {
	const advice = "measure before use: this must be 100 mm; if not, print again at 100 %, no fit to page"
	pl := d.plan
	x, y := pl.ruler.x, pl.ruler.y
	d.begin("ruler")
	d.line(x, y, x+rulerMm, y)
	for i := 1; i < 10; i++ {
		d.line(x+float64(i)*10, y, x+float64(i)*10, y+1.2)
	}
	d.end()
	d.begin("limit", "ruler", "across")
	d.line(x, y-2, x, y+2.6)
	d.line(x+rulerMm, y-2, x+rulerMm, y+2.6)
	d.end()
	d.words("s mid", x+rulerMm/2, y+4.4, advice)

	x, y = pl.frame.x+pl.frame.w-4, pl.frame.y+4
	d.begin("ruler")
	d.line(x, y, x, y+rulerMm)
	for i := 1; i < 10; i++ {
		d.line(x-1.2, y+float64(i)*10, x, y+float64(i)*10)
	}
	d.end()
	d.begin("limit", "ruler", "down")
	d.line(x-2.6, y, x+2, y)
	d.line(x-2.6, y+rulerMm, x+2, y+rulerMm)
	d.end()
	d.upwards("s mid", x-3.4, y+rulerMm/2, advice)
}

// keyPlan shows which tile this sheet is.
func (d drawing) keyPlan() {
	pl := d.plan
	if pl.sheets() == 1 {
		return
	}
	area := pl.key
	across, down := float64(len(pl.columns)), float64(len(pl.rows))
	k := math.Min(9, math.Min(area.w/across, area.h/down/0.7))
	w, h := k, k*0.7
	x, y := area.x+(area.w-across*w)/2, area.y
	for j := range pl.rows {
		for i := range pl.columns {
			class := "plain"
			if i == d.tile.column && j == d.tile.row {
				class = "ink"
			}
			c := rect{x + float64(i)*w, y + float64(j)*h, w, h}
			d.begin(class)
			d.box(c)
			d.end()
			if k >= 4 {
				on := "s mid"
				if class == "ink" {
					on = "s mid light"
				}
				d.words(on, c.x+w/2, c.y+h/2+smallest*figureHeight/2, strconv.Itoa(j*len(pl.columns)+i+1))
			}
		}
	}
	d.words("s mid", area.x+area.w/2, y+down*h+2.8, fmt.Sprintf("key plan: sheet %d is column %d of %d, row %d of %d",
		d.tile.row*len(pl.columns)+d.tile.column+1, d.tile.column+1, len(pl.columns), d.tile.row+1, len(pl.rows)))
}

// holes draws every hole within the tile's bounds with a scribing cross at its centre and its number beside it.
func (d drawing) holes() {
	b := d.body()
	radius := float64(d.r.Cylinder.PinDiameterMm) / 2
	arm := math.Max(radius*1.4, 0.3)
	f := newField(b.grown(0.6), smallest)
	for _, k := range d.tile.holes {
		x, y := d.centre(k)
		f.take(rect{x - arm, y - arm, 2 * arm, 2 * arm})
	}
	d.takeMarks(f)
	// The numbers stand first: a hole and its cross lie over the white that sets a number off.
	at := make([][2]float64, len(d.tile.holes))
	for i, k := range d.tile.holes {
		at[i][0], at[i][1] = d.centre(k)
	}
	if missing := d.number(f, "s", at, radius); missing > 0 {
		instead := "the tables give them by track and by angle"
		if d.plan.enlarged > 0 {
			instead = "the plan below has them"
		}
		d.words("s mid", b.x+b.w/2, b.y+b.h+11.5, fmt.Sprintf("%d of %d holes here %s for want of room; %s",
			missing, len(d.tile.holes), map[bool]string{true: "has no number beside it", false: "have no number beside them"}[missing == 1], instead))
	}

	d.rings(at, radius+0.12)
	d.open("holes")
	for _, k := range d.tile.holes {
		x, y := d.centre(k)
		d.hole(x, y, radius, d.r.Pins[k], d.numbers[k])
	}
	d.close()
	d.begin("cross")
	for _, k := range d.tile.holes {
		x, y := d.centre(k)
		d.cross(x, y, arm)
		// A hole on the seam is cut in two: its centre is marked at the other edge as well.
		u := d.plan.u(d.r.Pins[k].AngleDeg)
		if twin := u + d.plan.wrap; u < radius && d.tile.u.holds(twin) {
			d.cross(x+d.plan.wrap, y, arm)
		}
		if twin := u - d.plan.wrap; -twin < radius && d.tile.u.holds(twin) {
			d.cross(x-d.plan.wrap, y, arm)
		}
	}
	d.end()
}

// rings sets the holes of the other tunes, which lie at the points given, apart by a ring of the tune's colour; the letter beside the hole says the same.
func (d drawing) rings(at [][2]float64, radius float64) {
	if d.job.several == nil {
		return
	}
	for tune := 1; tune <= len(d.r.Beside); tune++ {
		d.begin("tune" + strconv.Itoa(tune))
		for i, k := range d.tile.holes {
			if d.job.several.tune[k] == tune {
				d.disc(at[i][0], at[i][1], radius)
			}
		}
		d.end()
	}
}

// number writes the numbers of the tile's holes, which lie at the points given, where f has room for them, and gives how
// many found none.
func (d drawing) number(f *field, class string, at [][2]float64, radius float64) (missing int) {
	spots := make([]spot, len(at))
	for i, k := range d.tile.holes {
		var ok bool
		if spots[i], ok = f.place(at[i][0], at[i][1], radius, len(d.job.holeNumber(k, d.numbers[k]))); !ok {
			missing++
		}
	}
	d.begin("leader")
	for _, s := range spots {
		if s.leader {
			d.line(s.x1, s.y1, s.x2, s.y2)
		}
	}
	d.end()
	d.open(class + " mid numbers")
	for i, k := range d.tile.holes {
		if s := spots[i]; s.box.w > 0 {
			d.words("", s.box.x+s.box.w/2, s.box.y+s.box.h, d.job.holeNumber(k, d.numbers[k]))
		}
	}
	d.close()
	return missing
}

// takeMarks keeps numbers off the datum lines and the match marks.
func (d drawing) takeMarks(f *field) {
	b := d.body()
	for _, x := range []float64{b.x, b.x + b.w} {
		f.take(rect{x - 0.1, b.y, 0.2, b.h})
		for _, m := range d.marks() {
			_, y := d.tile.at(0, m.v)
			f.take(rect{x - meetingSize, y - meetingSize, 2 * meetingSize, 2 * meetingSize})
		}
	}
	if d.plan.sheets() == 1 {
		return
	}
	for _, u := range markLines(d.plan.columns, d.plan.left()-3) {
		for _, v := range markLines(d.plan.rows, 10.5) {
			x, y := d.tile.at(u, v)
			f.take(rect{x - 2.2, y - 2.4, 5, 4.6})
		}
	}
}

// centre gives where the centre of a hole lies on the sheet.
func (d drawing) centre(k int) (x, y float64) {
	pin := d.r.Pins[k]
	return d.tile.at(d.plan.u(pin.AngleDeg), d.plan.v(pin.AxialMm))
}

// cross adds a cross to a path.
func (d drawing) cross(x, y, arm float64) {
	d.line(x-arm, y, x+arm, y)
	d.line(x, y-arm, x, y+arm)
}

// stroke draws one straight line.
func (d drawing) stroke(class string, x1, y1, x2, y2 float64) {
	d.begin(class)
	d.line(x1, y1, x2, y2)
	d.end()
}
