package bench

import (
	"math"

	"pinwright/arrange/unit"
)

// Of the marks that must meet, in mm.
const (
	meetingSize  = 0.6  // from the middle of a mark to its corners
	meetingApart = 60.0 // most from one mark to the next
)

// meetingMark is a mark on the datum line that stands on the closing edge once more. The paper has the right length and
// isn't twisted where each lies on its like.
type meetingMark struct {
	name string
	v    float64
}

// meetingMarks gives the marks from the bass end on: one between each face and its nearest track, others between two
// tracks.
func (p plan) meetingMarks(firstTrack, spacing float64, teeth int) []meetingMark {
	zs := []float64{firstTrack / 2}
	between := min(teeth-1, max(1, int(math.Ceil(p.length/meetingApart))-1))
	for i := 1; i <= between; i++ {
		gap := (teeth - 1) * i / (between + 1) // tracks on the bass side, without the first
		zs = append(zs, firstTrack+(float64(gap)+0.5)*spacing)
	}
	zs = append(zs, (firstTrack+float64(teeth-1)*spacing+p.length)/2)
	marks := make([]meetingMark, len(zs))
	for i, z := range zs {
		marks[i] = meetingMark{lower(i), p.v(unit.Millimetres(z))}
	}
	return marks
}

// lower gives a to z, then aa, ab and so on.
func lower(i int) string {
	if i < 26 {
		return string(rune('a' + i))
	}
	return lower(i/26-1) + lower(i%26)
}

// meetingMarks draws those of the marks that lie on this sheet.
func (d drawing) meetingMarks() {
	b := d.body()
	for _, m := range d.marks() {
		if !d.tile.v.holds(m.v) {
			continue
		}
		for _, e := range []struct {
			u, x   float64
			name   string
			letter float64
			class  string
		}{{0, b.x, m.name + " 0", -0.9, "s end halo"}, {d.plan.wrap, b.x + b.w, m.name + " 360", 0.9, "s start halo"}} {
			if !d.tile.u.holds(e.u) {
				continue
			}
			_, y := d.tile.at(0, m.v)
			d.begin("meet", "meet", e.name)
			d.shape([2]float64{e.x - meetingSize, y}, [2]float64{e.x, y - meetingSize}, [2]float64{e.x + meetingSize, y}, [2]float64{e.x, y + meetingSize})
			d.end()
			d.words(e.class, e.x+e.letter, y+smallest*figureHeight/2, m.name)
		}
	}
}

func (d drawing) marks() []meetingMark {
	c := d.r.Cylinder
	return d.plan.meetingMarks(float64(c.FirstTrackMm), float64(c.ToothSpacingMm), len(d.r.Comb.Teeth))
}
