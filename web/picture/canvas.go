package picture

import (
	"image"
	"image/color"
	"math"

	"golang.org/x/image/vector"
)

// canvas is an opaque picture that shapes are laid over, edges smoothed. What lies outside of it is cut off.
type canvas struct{ *image.RGBA }

// mix gives the colour a part of the way from a to b.
func mix(a, b color.RGBA, part float64) color.RGBA {
	part = math.Min(1, math.Max(0, part))
	between := func(a, b uint8) uint8 { return uint8(math.Round(float64(a) + (float64(b)-float64(a))*part)) }
	return color.RGBA{between(a.R, b.R), between(a.G, b.G), between(a.B, b.B), 0xff}
}

// blend lays a colour over one pixel.
func (c *canvas) blend(x, y int, over color.RGBA, cover float64) {
	if cover <= 0 || !(image.Point{X: x, Y: y}).In(c.Rect) {
		return
	}
	at := c.PixOffset(x, y)
	pix := c.Pix[at : at+4 : at+4]
	now := mix(color.RGBA{pix[0], pix[1], pix[2], 0xff}, over, cover)
	pix[0], pix[1], pix[2] = now.R, now.G, now.B
}

// span sets the pixels of a row.
func (c *canvas) span(from, y, to int, colour color.RGBA) {
	for x := from; x < to; x++ {
		c.SetRGBA(x, y, colour)
	}
}

// blendRow lays a stroke one pixel high over a row.
func (c *canvas) blendRow(from, to, y float64, over color.RGBA, cover float64) {
	c.rect(from, y, to, y+1, over, cover)
}

// rect lays a rectangle over the picture.
func (c *canvas) rect(x1, y1, x2, y2 float64, over color.RGBA, cover float64) {
	x1, x2 = math.Max(0, x1), math.Min(Width, x2)
	y1, y2 = math.Max(0, y1), math.Min(Height, y2)
	for y := int(y1); float64(y) < y2; y++ {
		high := math.Min(y2, float64(y)+1) - math.Max(y1, float64(y))
		for x := int(x1); float64(x) < x2; x++ {
			c.blend(x, y, over, cover*high*(math.Min(x2, float64(x)+1)-math.Max(x1, float64(x))))
		}
	}
}

// disc lays a disc over the picture.
func (c *canvas) disc(cx, cy, radius float64, over color.RGBA, cover float64) {
	c.round(cx, cy, radius, func(float64, float64) color.RGBA { return over }, cover)
}

// dome is a pin seen from above, the light coming from the upper left.
func (c *canvas) dome(cx, cy, radius float64) {
	c.round(cx, cy, radius+0.5, func(dx, dy float64) color.RGBA {
		far := math.Hypot(dx+0.28*radius, dy+0.36*radius) / (1.44 * radius)
		if far < 0.45 {
			return mix(domeLight, domeMid, far/0.45)
		}
		return mix(domeMid, domeDark, (far-0.45)/0.55)
	}, 1)
}

// round lays the colours that at gives, by the distance from the centre, over a disc.
func (c *canvas) round(cx, cy, radius float64, at func(dx, dy float64) color.RGBA, cover float64) {
	for y := int(math.Floor(cy - radius)); y <= int(math.Ceil(cy+radius)); y++ {
		for x := int(math.Floor(cx - radius)); x <= int(math.Ceil(cx+radius)); x++ {
			dx, dy := float64(x)+0.5-cx, float64(y)+0.5-cy
			if inside := math.Min(1, radius+0.5-math.Hypot(dx, dy)); inside > 0 {
				c.blend(x, y, at(dx, dy), cover*inside)
			}
		}
	}
}

// polygon fills the outline through the points given, which lie no farther than the picture is wide from each other.
func (c *canvas) polygon(colour color.RGBA, points ...[2]float64) {
	x1, y1, x2, y2 := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, p := range points {
		x1, y1, x2, y2 = math.Min(x1, p[0]), math.Min(y1, p[1]), math.Max(x2, p[0]), math.Max(y2, p[1])
	}
	box := image.Rect(int(math.Floor(x1)), int(math.Floor(y1)), int(math.Ceil(x2)), int(math.Ceil(y2)))
	r := vector.NewRasterizer(box.Dx(), box.Dy())
	for i, p := range points {
		x, y := float32(p[0]-float64(box.Min.X)), float32(p[1]-float64(box.Min.Y))
		if i == 0 {
			r.MoveTo(x, y)
		} else {
			r.LineTo(x, y)
		}
	}
	r.ClosePath()
	r.Draw(c.RGBA, box, image.NewUniform(colour), image.Point{})
}
