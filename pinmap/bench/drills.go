package bench

import (
	"math"

	"pinwright/arrange/unit"
)

// firstNumber and lastNumber are the thickest and the thinnest drill of numberDrills.
const (
	firstNumber = 60
	lastNumber  = 80
)

// numberDrills holds the diameters of the number drills 60 to 80 in inch (ANSI B94.11M, the list from memory, agreeing with a public table).
var numberDrills = [...]float64{0.04, 0.039, 0.038, 0.037, 0.036, 0.035, 0.033, 0.032, 0.031, 0.0292, 0.028, 0.026, 0.025, 0.024, 0.0225, 0.021, 0.02,
	0.018, 0.016, 0.0145, 0.0135}

const (
	mmPerInch    = 25.4
	beyondNumber = 0.0127 // mm, half of what lies between the two drills at either end of the list
	metricStep   = 0.05   // mm, from one metric drill to the next
)

// NumberDrill gives the number drill whose diameter is nearest to d, and its diameter; of two as near, the thicker. It reports whether there is one:
// the drills are those from number 80, 0.3429 mm, to 60, 1.016 mm, and d may lie no more than 0.0127 mm beyond.
func NumberDrill(d unit.Millimetres) (number int, diameter unit.Millimetres, ok bool) {
	least := math.Inf(1)
	for i, inch := range numberDrills {
		mm := inch * mmPerInch
		if off := math.Abs(mm - float64(d)); off < least {
			least, number, diameter = off, firstNumber+i, unit.Millimetres(unit.Round(mm))
		}
	}
	beyond := number == firstNumber && d > diameter || number == lastNumber && d < diameter
	if beyond && least > beyondNumber {
		return 0, 0, false
	}
	return number, diameter, true
}

// MetricDrill gives the diameter of the nearest metric drill, a whole number of steps of 0.05 mm and at least one; of two as near, the thicker.
func MetricDrill(d unit.Millimetres) unit.Millimetres {
	steps := math.Max(1, math.Floor(unit.Round(float64(d)/metricStep)+0.5))
	return unit.Millimetres(unit.Round(steps * metricStep))
}

// drillWords names the drill for pins of diameter d: "0.35 mm; nearest number drill 80, 0.343 mm; nearest metric drill 0.35 mm".
func drillWords(d unit.Millimetres) string {
	words := trim(float64(d)) + " mm"
	if number, mm, ok := NumberDrill(d); ok {
		words += "; nearest number drill " + trim(float64(number)) + ", " + trim(float64(mm)) + " mm"
	}
	return words + "; nearest metric drill " + trim(float64(MetricDrill(d))) + " mm"
}
