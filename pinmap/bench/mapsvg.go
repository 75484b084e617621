package bench

import "io"

// mapSVG writes the holes as circles of the pin's diameter, one unit one millimetre: x is the arc at the bare surface
// from the datum line, y the distance from the bass-end face, y up. These axes don't change with the hand of the
// movement; the description says how they lie on the outside of the cylinder.
func mapSVG(w io.Writer, j Job) error {
	c := j.Result.Cylinder
	wide, long := decimal(float64(c.CircumferenceMm)), decimal(float64(c.LengthMm))
	p := newPen(w)
	p.raw(`<?xml version="1.0" encoding="UTF-8"?>` + "\n" + `<svg xmlns="http://www.w3.org/2000/svg" width="`).raw(wide).raw(`mm" height="`).raw(long)
	p.raw(`mm" viewBox="0 0 `).raw(wide).raw(" ").raw(long).raw(`" overflow="visible">` + "\n<title>").text(j.Result.Title).raw("</title>\n<desc>")
	p.text("x: arc at the bare surface from the datum line, mm; y: distance from the bass-end face, mm, upwards. Seen from outside the cylinder, ")
	if axialUp(c.Cylinder) {
		p.text("this is the right way round.")
	} else {
		p.text("this is mirrored: bass end and turning of this movement make the axial distance run down on the outside.")
	}
	p.raw("</desc>\n" + `<g transform="matrix(1 0 0 -1 0 `).raw(long).raw(`)" fill="none" stroke="#1E2326" stroke-width="0.05">` + "\n")
	radius := decimal(float64(c.PinDiameterMm) / 2)
	numbers := drillingNumbers(j.Result.Pins)
	for k, pin := range j.Result.Pins {
		p.raw(`<circle cx="`).raw(decimal(float64(pin.ArcMm))).raw(`" cy="`).raw(decimal(float64(pin.AxialMm))).raw(`" r="`).raw(radius)
		p.raw(`" data-pin="`).int(pin.Pin).raw(`" data-hole="`).int(numbers[k]).raw(`" data-tooth="`).int(pin.Tooth).raw(`"/>` + "\n")
	}
	p.raw("</g>\n</svg>\n")
	return p.flush()
}
