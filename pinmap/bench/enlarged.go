package bench

import "strconv"

// Of the plan to read by, in mm: the room it takes around the map itself, and the size of its type.
const (
	readingBeside = 14.0
	readingAbove  = 9.0
	readingBelow  = 5.0
	readingType   = 2.2
)

// readingScale gives the largest scale, at least 2, at which the whole map fits under the true-size one; 0 where none
// does.
func (p plan) readingScale() float64 {
	for _, k := range [...]float64{10, 8, 6, 5, 4, 3.5, 3, 2.5, 2} {
		if k*p.wrap <= p.room.w-2*readingBeside && k*p.length <= p.room.h-above-below-p.length-readingAbove-readingBelow {
			return k
		}
	}
	return 0
}

// enlargement draws the map once more, larger, so that crowded numbers can be read. Its holes are drawn as paths: only
// a hole in true size is a circle.
func (d drawing) enlargement() {
	k := d.plan.enlarged
	b := rect{w: k * d.plan.wrap, h: k * d.plan.length}
	b.x = d.plan.room.x + (d.plan.room.w-b.w)/2
	b.y = d.tile.y + d.tile.v.size() + below + readingAbove
	b.y += (d.plan.room.y + d.plan.room.h - readingBelow - b.y - b.h) / 2
	at := func(u, v float64) (x, y float64) { return b.x + k*u, b.y + k*v }

	d.words("m mid", b.x+b.w/2, b.y-3.4, "plan to read by, "+trim(k)+" times true size: not to wrap")
	upper, lower := d.plan.endNames()
	d.words("r start", b.x, b.y-0.9, "0°, "+upper)
	d.words("r end", b.x+b.w, b.y-0.9, "360°")
	d.words("r start", b.x, b.y+b.h+2.6, "0°, "+lower)
	half := k * d.plan.u(d.r.Cylinder.GapDeg) / 2
	if half > 0 {
		d.begin("gap")
		d.box(rect{b.x, b.y, half, b.h})
		d.box(rect{b.x + b.w - half, b.y, half, b.h})
		d.end()
	}
	d.begin("track")
	next := 0.0 // tracks are named where the last name leaves room
	var names []int
	tracks := d.job.tracks()
	for i, track := range tracks {
		_, y := at(0, d.plan.v(track.axial))
		d.line(b.x-1, y, b.x+b.w+1, y)
		if track.name == "" {
			continue
		}
		if i == 0 || y-next > readingType || next-y > readingType {
			names, next = append(names, i), y
		}
	}
	d.end()
	for _, i := range names {
		_, y := at(0, d.plan.v(tracks[i].axial))
		name := strconv.Itoa(tracks[i].tooth) + " " + tracks[i].name
		d.words("r end", b.x-1.4, y+readingType*figureHeight/2, name)
		d.words("r start", b.x+b.w+1.4, y+readingType*figureHeight/2, name)
	}
	d.begin("plain")
	d.box(b)
	d.end()

	radius := k * float64(d.r.Cylinder.PinDiameterMm) / 2
	f := newField(b.grown(1), readingType)
	points := make([][2]float64, len(d.tile.holes))
	for i, n := range d.tile.holes {
		pin := d.r.Pins[n]
		x, y := at(d.plan.u(pin.AngleDeg), d.plan.v(pin.AxialMm))
		points[i] = [2]float64{x, y}
		f.take(rect{x - radius, y - radius, 2 * radius, 2 * radius})
	}
	d.rings(points, radius+0.35)
	d.begin("drawn")
	for _, p := range points {
		d.disc(p[0], p[1], radius)
	}
	d.end()
	d.number(f, "r", points, radius)
}
