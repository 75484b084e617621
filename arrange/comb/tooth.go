package comb

import (
	"context"
	"math"
	"strconv"

	"pinwright/arrange/phrase"
	"pinwright/arrange/unit"
)

// ToothAnswer is how a tooth sounds.
type ToothAnswer struct {
	FrequencyHz       unit.Hertz        `json:"frequencyHz"`
	PartialsHz        [3]unit.Hertz     `json:"partialsHz"` // the first is FrequencyHz
	WeightMg          float64           `json:"weightMg"`
	CentsPerMg        float64           `json:"centsPerMg"`                  // as the weight's thickness changes; 0 without a weight
	WeightThicknessMm *unit.Millimetres `json:"weightThicknessMm,omitempty"` // where it was asked for
	CentsFromTarget   *float64          `json:"centsFromTarget,omitempty"`   // where both a thickness and a target were given
}

// Poisson's ratios of steel and of lead, from which shear follows.
const (
	steelPoisson  = 0.3
	weightPoisson = 0.44
)

// weightOnset is how much of its inner end, in its thicknesses, a weight adds as mass alone: the bond pulls on its
// upper face only, and the rest follows later. Set on three weighted teeth of TestFiniteElements, checked on five others.
// A single section for both layers would want 0.4, and miss the third partial by 2 %.
const weightOnset = 0.16

// Tooth gives what a tooth sounds. With a target and a weight without thickness it gives the thinnest weight that brings
// the target, to 5 mm or the tooth's length, or a *FieldError that says why none can.
//
// The tooth is a stepped Timoshenko beam with rotary inertia. Along the weight, tooth and weight bend as two bonded
// layers with mass, stiffness and shear of their own, so that the neutral axis lies where they put it, bending pulls the
// weight lengthwise, and the weight's section lags behind the tooth's. Against finite elements of 12 teeth it is within
// 0.3 cent in pitch and 0.6 % in the second and third partial (tooth_test.go).
func Tooth(ctx context.Context, q ToothRequest) (ToothAnswer, error) {
	var answer ToothAnswer
	thickness := 0.0
	switch {
	case q.Weight == nil:
	case q.Weight.ThicknessMm != nil:
		thickness = float64(*q.Weight.ThicknessMm)
	default:
		found, err := q.weightFor(ctx, 2*math.Pi*float64(*q.TargetHz))
		if err != nil {
			return ToothAnswer{}, err
		}
		thickness = found
		answer.WeightThicknessMm = (*unit.Millimetres)(&found)
	}
	if err := ctx.Err(); err != nil {
		return ToothAnswer{}, err
	}
	for i, omega := range q.beam(thickness).bending(len(answer.PartialsHz)) {
		answer.PartialsHz[i] = unit.Hertz(omega / (2 * math.Pi))
	}
	answer.FrequencyHz = answer.PartialsHz[0]
	if q.Weight == nil {
		return answer, ctx.Err()
	}
	perMm := float64(q.Weight.LengthMm*q.Weight.WidthMm) * q.Weight.DensityKgM3 / 1000 // mm³ of 1000 kg/m³ weigh a mg
	answer.WeightMg = unit.Round(perMm * thickness)
	step := thickness / 1000
	change := cents(q.beam(thickness+step).frequency(1), q.beam(thickness-step).frequency(1))
	answer.CentsPerMg = unit.Round(change / (2 * step * perMm))
	if q.TargetHz != nil && answer.WeightThicknessMm == nil {
		off := unit.Round(cents(float64(answer.FrequencyHz), float64(*q.TargetHz)))
		answer.CentsFromTarget = &off
	}
	return answer, ctx.Err()
}

// cents gives the interval from b up to a, 1200·log₂(a/b).
func cents(a, b float64) float64 { return 1200 * math.Log2(a/b) }

// beam gives the tooth as a beam, with a weight of the given thickness in mm, 0 for none.
//
// A rigid root stops the section's sideways strain and acts as if the tooth were shorter by (0.024 w/t − 0.003)·t; a
// block turns as (0.52 − 0.11 t/w)·t more tooth would. Both were set on finite elements of plain teeth with w/t from 1 to 4
// (values.md, "How well a one-dimensional model can do"); beyond 0.5 to 10 the ratio is held.
func (q ToothRequest) beam(weightThickness float64) beam {
	length, width, thickness := float64(q.LengthMm), float64(q.WidthMm), float64(q.ThicknessMm)
	steel := layer{q.Steel, steelPoisson, width, thickness}
	plain := steel.alone()
	ratio := min(max(width/thickness, 0.5), 10)
	b := beam{hinge: math.Inf(1)}
	if q.Root == Block {
		b.hinge = plain.elastic[1][1] / ((0.52 - 0.11/ratio) * thickness)
	} else {
		length -= (0.024*ratio - 0.003) * thickness
	}
	if q.Weight == nil || weightThickness == 0 {
		b.pieces = []piece{{plain, length}}
		return b
	}
	weight := layer{q.Weight.Material, weightPoisson, float64(q.Weight.WidthMm), weightThickness}
	long := float64(q.Weight.LengthMm)
	onset := min(weightOnset*weightThickness, long)
	b.pieces = []piece{{plain, length - long}, {steel.carrying(weight), onset}}
	if onset < long {
		b.pieces = append(b.pieces, piece{steel.bonded(weight), long - onset})
	}
	return b
}

// layer is a rectangle of one material, width × thickness in mm.
type layer struct {
	Material
	poisson, width, thickness float64
}

func (l layer) area() float64    { return l.width * l.thickness }
func (l layer) modulus() float64 { return l.ModulusGPa * 1e3 }    // N/mm²
func (l layer) density() float64 { return l.DensityKgM3 * 1e-12 } // t/mm³

// shear gives kGA in N, with k = 10(1 + ν)/(12 + 11ν) for a rectangle: G. R. Cowper, The Shear Coefficient in
// Timoshenko's Beam Theory, Journal of Applied Mechanics 33 (1966) 335 (from memory), and G = E/(2(1 + ν)).
func (l layer) shear() float64 {
	return 5 * l.modulus() * l.area() / (12 + 11*l.poisson)
}

// alone gives the section of a plain tooth.
func (l layer) alone() section {
	s := section{mass: l.density() * l.area(), soft: 1 / l.shear()}
	second := l.thickness * l.thickness / 12
	s.elastic[0][0], s.elastic[1][1] = l.modulus()*l.area(), l.modulus()*l.area()*second
	s.inertia[0][0], s.inertia[1][1] = s.mass, s.mass*second
	s.elastic[2][2] = s.elastic[1][1] // see section: φ stands for nothing
	return s
}

// carrying gives the section of a tooth with a weight that turns with it but does not stiffen it.
func (l layer) carrying(weight layer) section {
	s := l.alone()
	mass := weight.density() * weight.area()
	arm := (l.thickness + weight.thickness) / 2
	s.mass += mass
	s.inertia[0][0] += mass
	s.inertia[0][1] += mass * arm
	s.inertia[1][0] += mass * arm
	s.inertia[1][1] += mass * (arm*arm + weight.thickness*weight.thickness/12)
	return s
}

// bonded gives the section of a tooth and a weight that bend together. At a depth ζ under the bond the weight moves by
// u + (t/2)·ψ + ζ·φ, t the tooth's thickness.
func (l layer) bonded(weight layer) section {
	s := l.alone()
	half, deep := l.thickness/2, weight.thickness
	form := [3][3]float64{
		{1, half, deep / 2},
		{half, half * half, half * deep / 2},
		{deep / 2, half * deep / 2, deep * deep / 3},
	}
	stretch, mass := weight.modulus()*weight.area(), weight.density()*weight.area()
	s.mass += mass
	s.elastic[2][2] = 0
	for i := range form {
		for j, f := range form[i] {
			s.elastic[i][j] += stretch * f
			s.inertia[i][j] += mass * f
		}
	}
	s.soft = 1 / (l.shear() + weight.shear())
	s.share = weight.shear() * s.soft
	return s
}

// thickestWeightMm bounds the search for a weight.
const thickestWeightMm = 5.0

// weightFor gives the thickness in mm of the thinnest weight that brings the first frequency to omega (rad/s). A weight
// lowers the pitch by its mass and raises it by its stiffness, so the pitch may turn back as the weight grows.
func (q ToothRequest) weightFor(ctx context.Context, omega float64) (float64, error) {
	plain := q.beam(0).frequency(1)
	up := omega > plain
	// One count tells whether a thickness brings the tooth past a pitch; its own pitch need not be found.
	past := func(h, pitch float64) bool { return (q.beam(h).below(pitch) == 0) == up }
	pastTarget := func(h float64) bool { return past(h, omega) }
	thinnest, thickest := q.Weight.thinnest(), min(thickestWeightMm, float64(q.LengthMm))
	if pastTarget(thinnest) || omega == plain {
		return 0, &FieldError{"/targetHz", phrase.Of("The tooth alone sounds {1} Hz, {2} cents from the target: a weight for "+
			"that would be thinner than {3} mm. Leave the weight out and tune the steel, or make the weight shorter.",
			hundredths(plain/(2*math.Pi)), hundredths(math.Abs(cents(omega, plain))), strconv.FormatFloat(thinnest, 'g', 3, 64))}
	}
	const points = 48
	at := func(i float64) float64 { return thinnest * math.Pow(thickest/thinnest, i/points) }
	for i := 1.0; i <= points; i++ {
		if err := ctx.Err(); err != nil {
			return 0, err
		}
		if pastTarget(at(i)) {
			return crossing(at(i-1), at(i), pastTarget), nil
		}
	}
	// The pitch may still turn back past the target between two points, beside the one that comes nearest to it.
	nearest := float64(points)
	for i, pitch := nearest-1, q.beam(thickest).frequency(1); i >= 0; i-- {
		if err := ctx.Err(); err != nil {
			return 0, err
		}
		if past(at(i), pitch) {
			nearest, pitch = i, q.beam(at(i)).frequency(1)
		}
	}
	start := max(nearest-1, 0)
	sign := -1.0
	if up {
		sign = 1
	}
	nearest = peak(start, min(nearest+1, points), func(i float64) float64 { return sign * q.beam(at(i)).frequency(1) })
	if pastTarget(at(nearest)) {
		return crossing(at(start), at(nearest), pastTarget), nil
	}
	return 0, q.outOfReach(plain, omega, at(nearest))
}

// crossing gives the argument in [low, high] from which on past holds, to the last bits; past(low) is false, past(high) true.
func crossing(low, high float64, past func(float64) bool) float64 {
	for range 60 {
		middle := low + (high-low)/2
		if past(middle) {
			high = middle
		} else {
			low = middle
		}
	}
	return high
}

// peak gives where f, which rises and then falls, is greatest in [low, high], by thirds.
func peak(low, high float64, f func(float64) float64) float64 {
	if f(high) > f(high-(high-low)/1e4) {
		return high
	}
	for range 24 {
		third := (high - low) / 3
		if f(low+third) < f(high-third) {
			low += third
		} else {
			high -= third
		}
	}
	return (low + high) / 2
}

// hundredths writes a figure with two decimals.
func hundredths(v float64) string { return strconv.FormatFloat(v, 'f', 2, 64) }

// outOfReach says why no weight brings omega; nearest is the thickness that comes nearest to it.
func (q ToothRequest) outOfReach(plain, omega, nearest float64) *FieldError {
	highest := q.beam(nearest).frequency(1)
	target, alone, reached := hundredths(omega/(2*math.Pi)), hundredths(plain/(2*math.Pi)), hundredths(highest/(2*math.Pi))
	thickness := strconv.FormatFloat(nearest, 'f', 3, 64)
	switch {
	case omega > plain && highest <= plain:
		return &FieldError{"/targetHz", phrase.Of("The target of {1} Hz lies above the {2} Hz of the tooth alone, and this weight "+
			"only lowers it. Make the tooth shorter or thicker, or the target lower.", target, alone)}
	case omega > plain:
		return &FieldError{"/targetHz", phrase.Of("The target of {1} Hz is too high: the tooth alone sounds {2} Hz and this weight "+
			"raises it to {3} Hz at most, at {4} mm. Make the tooth shorter or thicker, or the target lower.", target, alone, reached, thickness)}
	}
	return &FieldError{"/targetHz", phrase.Of("The target of {1} Hz is too low: a weight of {2} mm brings the tooth from {3} Hz to "+
		"{4} Hz, and none up to {5} mm brings it lower. Make the weight longer, wider or denser, or the tooth longer or thinner.",
		target, thickness, alone, reached, hundredths(min(thickestWeightMm, float64(q.LengthMm))))}
}
