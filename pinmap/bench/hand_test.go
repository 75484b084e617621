package bench

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"testing"

	"pinwright/pinmap"
)

// vec is a point or direction in space. The comb's player sits at +z and looks along −z: x is to his right, y up.
type vec struct{ x, y, z float64 }

func (a vec) plus(b vec) vec      { return vec{a.x + b.x, a.y + b.y, a.z + b.z} }
func (a vec) times(k float64) vec { return vec{a.x * k, a.y * k, a.z * k} }
func (a vec) dot(b vec) float64   { return a.x*b.x + a.y*b.y + a.z*b.z }
func (a vec) cross(b vec) vec     { return vec{a.y*b.z - a.z*b.y, a.z*b.x - a.x*b.z, a.x*b.y - a.y*b.x} }
func (a vec) about(k vec, by float64) vec { // Rodrigues: a turned by an angle about the unit vector k, right-handed
	return a.times(math.Cos(by)).plus(k.cross(a).times(math.Sin(by))).plus(k.times(k.dot(a) * (1 - math.Cos(by))))
}

// release is a tooth released at a moment.
type release struct{ time, place float64 } // of a turn; mm from the comb's left end

// TestHand wraps the printed paper round a cylinder, turns it past a comb, and listens. Nothing here knows how the map
// chooses its directions: the paper is a picture with right and down, its outside faces away from the axis, one of its
// horizontal edges (the one printed as the bass end) lies on the bass-end face, and the cylinder turns as it is set.
func TestHand(t *testing.T) {
	for _, bassEnd := range []pinmap.Side{pinmap.Left, pinmap.Right} {
		for _, turns := range []pinmap.Turn{pinmap.Up, pinmap.Down} {
			t.Run(fmt.Sprintf("bass end %s, turning %s", bassEnd, turns), func(t *testing.T) {
				c := compact()
				c.BassEnd, c.Turns = bassEnd, turns
				r := result(c, 18, tuneful(18, 60, 18))
				m := write(t, r, A4)
				sheet := m.sheets[0]
				bassEdge, trebleEdge := facesOf(t, m)

				axis := vec{1, 0, 0} // the cylinder lies across, before the player
				// Paper wrapped face outwards: at a point of the surface, right × up of the paper is the outward normal.
				// The bass end lies left or right, so the paper's way from bass edge to treble edge is ± the axis.
				treble := axis
				if bassEnd == pinmap.Right {
					treble = axis.times(-1)
				}
				paperUp := treble
				if bassEdge < trebleEdge { // the sheet's y runs down: the bass edge is printed above
					paperUp = treble.times(-1)
				}
				normal := vec{0, 0, 1} // the datum line is set to face the comb at the start
				paperRight := paperUp.cross(normal)
				// Turning a point at +z about the axis right-handed moves it by axis × z.
				spin := 1.0
				if moves := axis.cross(normal).y; (moves > 0) != (turns == pinmap.Up) {
					spin = -1
				}

				wrap := math.Pi * float64(c.DiameterMm+c.PaperMm)
				radius := wrap / 2 / math.Pi
				datum := datumOf(t, m)
				var heard []release
				for _, hole := range sheet.circles {
					// Going right on the paper is going round the axis the way that carries the normal into paperRight.
					along := axis.times(math.Copysign(1, axis.dot(normal.cross(paperRight))))
					out := normal.about(along, (hole.x-datum)/radius)
					face := 10.0 * math.Copysign(1, treble.x) * -1 // x of the bass-end face, the cylinder centred
					at := out.times(radius).plus(vec{face, 0, 0}).plus(treble.times(math.Abs(hole.y - bassEdge)))
					// Turn until the hole faces the comb.
					turn := math.Mod(math.Atan2(at.cross(vec{0, 0, 1}).dot(axis), at.z)*spin+4*math.Pi, 2*math.Pi) / 2 / math.Pi
					turned := at.about(axis, turn*2*math.Pi*spin)
					if !near(turned.y, 0, 1e-6) || !near(turned.z, radius, 1e-6) {
						t.Fatalf("hole %d faces (%.4f, %.4f), want the comb", hole.pin, turned.y, turned.z)
					}
					heard = append(heard, release{turn, turned.x + 10})
				}
				slices.SortFunc(heard, func(a, b release) int {
					return cmp.Or(cmp.Compare(math.Round(a.time*1e5), math.Round(b.time*1e5)), cmp.Compare(a.place, b.place))
				})

				var want []release // the comb as the player sees it, from its own left end, 20 mm from face to face
				for _, pin := range r.Pins {
					place := 1.5 + float64(pin.Tooth-1)
					if bassEnd == pinmap.Right {
						place = 20 - place
					}
					want = append(want, release{9.0/360 + float64(pin.TimeMs)/float64(r.Cylinder.RevolutionMs), place})
				}
				slices.SortFunc(want, func(a, b release) int {
					return cmp.Or(cmp.Compare(math.Round(a.time*1e5), math.Round(b.time*1e5)), cmp.Compare(a.place, b.place))
				})
				if len(heard) != len(want) {
					t.Fatalf("%d teeth were heard, want %d", len(heard), len(want))
				}
				for i := range want {
					if !near(heard[i].time, want[i].time, 1e-5) || !near(heard[i].place, want[i].place, 1e-3) {
						t.Fatalf("release %d: heard at %.5f of a turn, %.3f mm along the comb; want %.5f, %.3f",
							i+1, heard[i].time, heard[i].place, want[i].time, want[i].place)
					}
				}
			})
		}
	}
}
