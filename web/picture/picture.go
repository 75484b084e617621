package picture

import (
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"io"
	"math"

	"pinwright/arrange/unit"
	"pinwright/pinmap"
	"pinwright/pinmap/project"
)

// Size of the picture and the places in it, in pixels.
const (
	Width, Height = 1200, 630

	margin    = 48.0
	top       = 236.0 // upper edge of the cylinder
	bottom    = 598.0
	tip       = 256.0 // of the teeth; the cylinder begins beside it
	turnLeft  = 260.0 // the datum line
	turnWidth = 904.0 // one turn
	endMargin = 20.0  // of bare cylinder beyond the outermost tracks
	longTooth = 176.0 // the longest tooth, root to tip
	mostDomes = 1500  // with more pins than this, pins thin to points
)

// The colours are those of the page by day.
var (
	page      = color.RGBA{0xfb, 0xfa, 0xf7, 0xff}
	ink       = color.RGBA{0x1e, 0x23, 0x26, 0xff}
	muted     = color.RGBA{0x5a, 0x60, 0x65, 0xff}
	brass     = color.RGBA{0x7a, 0x52, 0x00, 0xff}
	brassA    = color.RGBA{0xf3, 0xe6, 0xc3, 0xff}
	brassB    = color.RGBA{0xea, 0xd7, 0xa5, 0xff}
	brassC    = color.RGBA{0xcf, 0xb2, 0x6c, 0xff}
	bare      = color.RGBA{0xf8, 0xf0, 0xd9, 0xff}
	wake      = color.RGBA{0x8a, 0x5c, 0x00, 0xff}
	shadow    = color.RGBA{0x3d, 0x2a, 0x00, 0xff}
	steelA    = color.RGBA{0x46, 0x6a, 0x8c, 0xff}
	steelB    = color.RGBA{0x2f, 0x4b, 0x66, 0xff}
	steelC    = color.RGBA{0x22, 0x3a, 0x52, 0xff}
	glint     = color.RGBA{0x9f, 0xbc, 0xd6, 0xff}
	domeLight = color.RGBA{0xf4, 0xf7, 0xf9, 0xff}
	domeMid   = color.RGBA{0x8f, 0xa2, 0xb3, 0xff}
	domeDark  = color.RGBA{0x33, 0x47, 0x5a, 0xff}
)

// Write draws the picture of a result as PNG, 1200 × 630 pixels: the title, the facts beneath it, and the metal. Time and
// memory are bounded whatever the number of pins and teeth.
func Write(w io.Writer, r *project.Result, facts string) error {
	c, err := paint(r, facts)
	if err != nil {
		return err
	}
	return png.Encode(w, c.RGBA)
}

func paint(r *project.Result, facts string) (*canvas, error) {
	c := &canvas{image.NewRGBA(image.Rect(0, 0, Width, Height))}
	draw.Draw(c.RGBA, c.Rect, image.NewUniform(page), image.Point{}, draw.Src)
	if err := c.words(r.Title, facts); err != nil {
		return nil, err
	}
	m := newMetal(c, r)
	m.surface()
	m.comb()
	m.pins()
	return c, nil
}

// metal draws the cylinder and the comb.
type metal struct {
	*canvas
	r      *project.Result
	teeth  []project.ToothView
	step   float64 // between tracks
	middle float64 // of all tracks
	bassUp bool
	radius float64 // of a pin
}

func newMetal(c *canvas, r *project.Result) metal {
	m := metal{canvas: c, r: r, teeth: r.Comb.Teeth, middle: (top + bottom) / 2}
	m.step = math.Min(36, (bottom-top-2*endMargin)/math.Max(1, float64(len(m.teeth)-1)))
	m.bassUp = (r.Cylinder.BassEnd == pinmap.Left) != (r.Cylinder.Turns == pinmap.Up)
	m.radius = math.Max(1.3, math.Min(7, 0.34*m.step))
	if len(r.Pins) > mostDomes {
		m.radius = math.Min(m.radius, 2.2)
	}
	return m
}

// y gives where a track lies.
func (m metal) y(tooth int) float64 {
	up := float64(tooth-1) - float64(len(m.teeth)-1)/2
	if m.bassUp {
		return m.middle + up*m.step
	}
	return m.middle - up*m.step
}

// x gives where an angle lies.
func x(angle unit.Degrees) float64 { return turnLeft + float64(angle)/360*turnWidth }

// surface is the brass, turned and scribed: a line a track, the gap bare, the datum line at both ends of the turn.
func (m metal) surface() {
	gap := math.Min(180, math.Max(0, float64(m.r.Cylinder.GapDeg)/2)) / 360 * turnWidth
	for py := int(top); py < int(bottom); py++ {
		part := (float64(py) - top) / (bottom - top)
		metal := mix(brassA, brassB, 2*part)
		if part > 0.5 {
			metal = mix(brassB, brassC, 2*part-1)
		}
		if py%3 == 0 {
			metal = mix(metal, brass, 0.05)
		}
		m.span(turnLeft, py, Width, metal)
		m.blendRow(turnLeft, turnLeft+gap, float64(py), bare, 0.72)
		m.blendRow(turnLeft+turnWidth-gap, turnLeft+turnWidth, float64(py), bare, 0.72)
	}
	opacity := math.Min(0.34, 0.06*m.step)
	for _, t := range m.teeth {
		m.blendRow(turnLeft, Width, m.y(t.Tooth)-0.5, brass, opacity)
	}
	for _, y := range [...]float64{top + 4, bottom - 5} {
		m.blendRow(turnLeft, Width, y, brass, 0.3)
	}
	m.rect(turnLeft, top, Width, top+2, brass, 1)
	m.rect(turnLeft, bottom-2, Width, bottom, brass, 1)
	for _, x := range [...]float64{turnLeft, turnLeft + turnWidth} {
		m.rect(x-1, top-12, x+1, bottom+8, brass, 1)
	}
}

// comb draws the teeth as long as 1/√f makes them, and the plate whose edge follows their roots.
func (m metal) comb() {
	lowest := math.Inf(1)
	for _, t := range m.teeth {
		lowest = math.Min(lowest, float64(t.FrequencyHz))
	}
	half := m.step / 2
	for i, t := range m.teeth {
		y := m.y(t.Tooth)
		length := longTooth
		if f := float64(t.FrequencyHz); f > 0 && lowest > 0 {
			length *= math.Sqrt(lowest / f)
		}
		root := tip - length
		wide, narrow := 0.40*m.step, 0.25*m.step
		m.polygon(steelB, [2]float64{root - 6, y - wide}, [2]float64{root, y - wide}, [2]float64{tip - 8, y - narrow}, [2]float64{tip, y - narrow/2},
			[2]float64{tip, y + narrow/2}, [2]float64{tip - 8, y + narrow}, [2]float64{root, y + wide}, [2]float64{root - 6, y + wide})
		if m.step >= 5 {
			m.polygon(glint, [2]float64{root, y - wide}, [2]float64{tip - 8, y - narrow}, [2]float64{tip - 8, y - narrow + 1.2}, [2]float64{root, y - wide + 1.2})
		}
		from, to := y-half, y+half // the plate goes on a little beyond the outermost teeth
		if first, last := i == 0, i == len(m.teeth)-1; first && m.bassUp || last && !m.bassUp {
			from -= 0.8 * half
		}
		if first, last := i == 0, i == len(m.teeth)-1; first && !m.bassUp || last && m.bassUp {
			to += 0.8 * half
		}
		m.plate(from, to, root)
	}
	if len(m.teeth) >= 6 {
		for _, part := range [...]float64{0.12, 0.5, 0.88} {
			m.screw(38, m.y(1)+(m.y(len(m.teeth))-m.y(1))*part)
		}
	}
}

// screw holds the plate.
func (m metal) screw(x, y float64) {
	m.disc(x, y, 11, steelC, 1)
	m.disc(x, y, 9.5, brassB, 1)
	m.polygon(steelC, [2]float64{x - 8, y - 4.5}, [2]float64{x - 7, y - 6}, [2]float64{x + 8, y + 4.5}, [2]float64{x + 7, y + 6})
}

// plate fills the plate from its back edge, which the picture cuts off, to the root of a tooth.
func (m metal) plate(from, to, root float64) {
	for py := int(math.Round(from)); py < int(math.Round(to)); py++ { // whole rows, so that no seam shows between two teeth
		for px := 0; px < int(root); px++ {
			part := float64(px) / tip
			m.blend(px, py, mix(steelA, steelC, part+0.25*(float64(py)-top)/(bottom-top)), 1)
		}
	}
}

// pins are domes with a shadow and the wake of their recovery; many thin to points. Across the seam the first appear again.
func (m metal) pins() {
	many := len(m.r.Pins) > mostDomes
	for pass := range 2 {
		for _, pin := range m.r.Pins {
			if pin.Tooth < 1 || pin.Tooth > len(m.teeth) || !(pin.AngleDeg >= 0 && pin.AngleDeg <= 360) {
				continue
			}
			at, y := x(pin.AngleDeg), m.y(pin.Tooth)
			switch {
			case many && pass == 1:
				m.disc(at, y, m.radius, domeDark, 0.85)
			case many:
			case pass == 0:
				m.wake(at, y, turnWidth*math.Min(1, float64(m.teeth[pin.Tooth-1].RepeatMs/m.r.Cylinder.RevolutionMs)))
			default:
				m.disc(at+1.6, y+2.2, m.radius+0.5, shadow, 0.34)
				m.dome(at, y, m.radius)
				if at+turnWidth-m.radius < Width {
					m.disc(at+turnWidth, y, m.radius, domeDark, 0.4)
				}
			}
		}
	}
}

// wake is as high as the pin where it stands and ends where the tooth is free again, across the seam too.
func (m metal) wake(from, y, length float64) {
	if !(length >= 1) {
		return
	}
	for i := 0.0; i < length; i++ {
		part := 1 - i/length
		at := from + i
		if at >= turnLeft+turnWidth {
			at -= turnWidth
		}
		half := 0.9 * m.radius * part
		m.rect(math.Floor(at), y-half, math.Floor(at)+1, y+half, wake, 0.42*part)
	}
}
