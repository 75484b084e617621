package pinmap

import (
	"math"

	"pinwright/arrange/unit"
)

// DefaultCylinder is an 18-tooth compact movement: typical, from memory; measure your own.
func DefaultCylinder() Cylinder {
	return Cylinder{DiameterMm: 13, PinProjectionMm: 0.9, PinDiameterMm: 0.35, HoleWebMm: 0.25, LiftMm: 0.45, ToothSpacingMm: 1, TipMm: 0.3,
		FirstTrackMm: 1.5, GapDeg: 18, HoleDepthMm: 1, PaperMm: 0.1, BassEnd: Left, Turns: Up}
}

// CircumferenceMm gives the circumference of the bare surface, πD.
func (c Cylinder) CircumferenceMm() unit.Millimetres { return math.Pi * c.DiameterMm }

// WrapMm gives the length at which paper of thickness p wrapped once round the cylinder closes, π(D + p).
func (c Cylinder) WrapMm() unit.Millimetres { return math.Pi * (c.DiameterMm + c.PaperMm) }

// TipRadiusMm gives the radius of the pins' tips, D/2 + h.
func (c Cylinder) TipRadiusMm() unit.Millimetres { return c.DiameterMm/2 + c.PinProjectionMm }

// Contact gives the angle through which a pin carries its tooth before the release, φ = asin(δ/R): the comb lies in
// the plane of the cylinder's axis and the pin's tip moves up past the tooth's tip. Domain: 0 < δ < R.
func (c Cylinder) Contact() unit.Degrees {
	return unit.Degrees(math.Asin(float64(c.LiftMm/c.TipRadiusMm())) * 180 / math.Pi)
}

// ContactMs gives the time of contact, T·φ/360°.
func (c Cylinder) ContactMs(revolution unit.Milliseconds) unit.Milliseconds {
	return revolution * unit.Milliseconds(c.Contact()/360)
}

// HoleMs gives the time below which two holes on one track would break into each other, T·(d + w)/(πD).
func (c Cylinder) HoleMs(revolution unit.Milliseconds) unit.Milliseconds {
	return revolution * unit.Milliseconds((c.PinDiameterMm+c.HoleWebMm)/c.CircumferenceMm())
}

// SoundingMs gives the part of a turn that is not gap, (1 − g/360)·T.
func (c Cylinder) SoundingMs(revolution unit.Milliseconds) unit.Milliseconds {
	return revolution * unit.Milliseconds(1-c.GapDeg/360)
}

// AngleDeg gives the angle of a pluck at time t, θ = g/2 + 360·t/T, in [0, 360).
func (c Cylinder) AngleDeg(t, revolution unit.Milliseconds) unit.Degrees {
	a := float64(c.GapDeg)/2 + 360*float64(t/revolution)
	if a < 0 || a >= 360 {
		a -= 360 * math.Floor(a/360)
		if a >= 360 { // of an angle a rounding error below 0
			a = 0
		}
	}
	return unit.Degrees(a)
}

// ArcMm gives the arc of an angle at the bare surface, θ/360·πD.
func (c Cylinder) ArcMm(angle unit.Degrees) unit.Millimetres {
	return unit.Millimetres(angle/360) * c.CircumferenceMm()
}

// AxialMm gives the distance of a tooth's track from the bass-end face, z₁ + (k − 1)·s; tooth 1 is the lowest note.
func (c Cylinder) AxialMm(tooth int) unit.Millimetres {
	return c.FirstTrackMm + unit.Millimetres(tooth-1)*c.ToothSpacingMm
}

// LeastLengthMm gives the least length of a cylinder for a comb: as much metal beyond the last track as before the first.
func (c Cylinder) LeastLengthMm(teeth int) unit.Millimetres {
	return c.AxialMm(max(teeth, 1)) + c.FirstTrackMm
}

// HoldsMm gives the length below which a cylinder does not hold the holes of a comb: to the last track, and half a hole and the web beyond it,
// z_k + d/2 + w.
func (c Cylinder) HoldsMm(teeth int) unit.Millimetres {
	return c.AxialMm(max(teeth, 1)) + c.PinDiameterMm/2 + c.HoleWebMm
}

// AxialRunsUp reports whether the axial distance runs up the paper where the arc runs to the right. The map is the
// outside of the cylinder, unrolled. Seen from the comb with the bass end on the left and the surface moving up, later pins lie
// lower: arc runs down and axial to the right; a quarter turn counter-clockwise puts arc to the right and axial
// up. Changing the bass end or the turning mirrors that; changing both is half a turn, no mirror.
func (c Cylinder) AxialRunsUp() bool { return (c.BassEnd == Left) == (c.Turns == Up) }
