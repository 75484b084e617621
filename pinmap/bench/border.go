package bench

import (
	"math"
	"strconv"
)

// Of the border, in mm (ISO 5457, from memory): from the frame to the line around the grid references, and the length of a
// field, counted from the centring marks.
const (
	gridBorder = 5.0
	gridField  = 50.0
)

// border draws the frame, the centring marks at the ends of the sheet's axes, and on the A series the grid references, on
// A4 above and at the right alone (ISO 5457, from memory). The form of the centring marks is free: these end at the frame, so
// that they cross nothing.
func (d drawing) border() {
	pl, f := d.plan, d.plan.frame
	out := f.grown(gridBorder)
	d.begin("frame")
	d.box(f)
	d.end()
	d.begin("centring")
	d.line(pl.width/2, out.y, pl.width/2, f.y)
	d.line(pl.width/2, f.y+f.h, pl.width/2, out.y+out.h)
	d.line(out.x, pl.height/2, f.x, pl.height/2)
	d.line(f.x+f.w, pl.height/2, out.x+out.w, pl.height/2)
	d.end()
	if pl.paper == Letter {
		return
	}
	const capital = 3.5 * figureHeight
	across, down := gridFields(f.x, f.x+f.w, pl.width/2), gridFields(f.y, f.y+f.h, pl.height/2)
	inner, outer := [2]float64{f.y, f.x + f.w}, [2]float64{out.y, out.x + out.w} // above, at the right
	sides := 1
	if pl.paper == A3 {
		sides = 2
	}
	for side := range sides {
		if side == 1 { // below, at the left
			inner, outer = [2]float64{f.y + f.h, f.x}, [2]float64{out.y + out.h, out.x}
		}
		d.begin("grid")
		d.line(f.x, outer[0], f.x+f.w, outer[0])
		d.line(outer[1], f.y, outer[1], f.y+f.h)
		for i, s := range across {
			if i == 0 {
				d.line(s.from, inner[0], s.from, outer[0])
			}
			d.line(s.to, inner[0], s.to, outer[0])
		}
		for i, s := range down {
			if i == 0 {
				d.line(inner[1], s.from, outer[1], s.from)
			}
			d.line(inner[1], s.to, outer[1], s.to)
		}
		d.end()
		for i, s := range across {
			d.words("g mid", s.middle(s), (inner[0]+outer[0]+capital)/2, strconv.Itoa(i+1))
		}
		for i, s := range down {
			d.words("g mid", (inner[1]+outer[1])/2, s.middle(s)+capital/2, gridLetter(i))
		}
	}
}

// gridFields cuts a side of the frame into fields of 50 mm from the centring mark both ways; what is left is at the ends.
func gridFields(from, to, centre float64) []span {
	var fields []span
	at := centre - gridField*math.Floor((centre-from)/gridField)
	if at > from {
		fields = append(fields, span{from, at})
	}
	for ; at < to; at += gridField {
		fields = append(fields, span{at, math.Min(at+gridField, to)})
	}
	return fields
}

// gridLetter gives the letter of a field; I and O, which look like figures, are left out.
func gridLetter(i int) string { return string("ABCDEFGHJKLMNPQRSTUVWXYZ"[i]) }
