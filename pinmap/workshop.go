package pinmap

import "pinwright/arrange/unit"

// Method is how a maker turns the cylinder to a hole's angle.
type Method string

// The methods.
const (
	Wrap    Method = "wrap"    // the printed map, wrapped round and pricked through
	Degrees Method = "degrees" // a scale of decimal degrees
	Sixties Method = "dms"     // a scale of degrees, minutes and seconds
	Head    Method = "head"    // a dividing head: turns of the crank and holes of a circle
	Wheel   Method = "wheel"   // a plain index wheel
	Stepper Method = "stepper" // a stepping motor
	Vernier Method = "vernier" // the arc, with vernier calipers
)

// Methods lists the methods in the order in which they are offered.
func Methods() []Method { return []Method{Wrap, Degrees, Sixties, Head, Wheel, Stepper, Vernier} }

// PinShape is the shape of a printed pin.
type PinShape string

// The shapes.
const (
	Cone  PinShape = "cone"  // prints without support
	Round PinShape = "round" // as a wire
)

// Bench is what the maker has to make the cylinder with. None of it moves a pin.
type Bench struct {
	Method         Method           `json:"method"`
	LeastDeg       unit.Degrees     `json:"leastDeg"`       // that the scale of decimal degrees can be set to
	LeastSec       float64          `json:"leastSec"`       // seconds of arc that the scale of degrees, minutes and seconds can be set to
	HeadRatio      int              `json:"headRatio"`      // turns of the crank for one of the cylinder
	HeadCircles    []int            `json:"headCircles"`    // holes of the circles on the plates at hand
	WheelDivisions int              `json:"wheelDivisions"` // of the index wheel
	MotorSteps     int              `json:"motorSteps"`     // of the stepping motor for one turn of its shaft, parts of steps included
	MotorRatio     float64          `json:"motorRatio"`     // turns of the motor for one of the cylinder
	LeastMm        unit.Millimetres `json:"leastMm"`        // that the vernier can be set to
	SigmaMm        unit.Millimetres `json:"sigmaMm"`        // standard deviation of setting and drilling along the arc; 0: usual for the method
	MostRisk       float64          `json:"mostRisk"`       // chance that some repeat fails, above which there is a finding; 0: none is asked for
	Material       string           `json:"material"`       // of the cylinder
	MostRpm        unit.Rpm         `json:"mostRpm"`        // of the drill's spindle
	SpindleRpm     unit.Rpm         `json:"spindleRpm"`     // 0: from the drill and the material
	FeedMmPerMin   float64          `json:"feedMmPerMin"`   // 0: from the drill and the material
	PeckMm         unit.Millimetres `json:"peckMm"`         // 0: from the drill and the material
	ClearMm        unit.Millimetres `json:"clearMm"`        // height over the bare surface in which the drill moves freely
	BoreMm         unit.Millimetres `json:"boreMm"`         // of the printed cylinder; 0: none
	PinShape       PinShape         `json:"pinShape"`       // of the printed cylinder
}

// Materials lists the materials of a cylinder in the order in which they are offered.
func Materials() []string { return []string{"brass", "aluminium", "steel", "plastic"} }

// DefaultBench is the bench of a maker who has said nothing of it: the paper map, and a dividing head of 40:1 with the eighteen circles of three
// usual plates (Machinery's Handbook, 1916).
func DefaultBench() Bench {
	return Bench{Method: Wrap, LeastDeg: 0.1, LeastSec: 60, HeadRatio: 40, HeadCircles: []int{15, 16, 17, 18, 19, 20, 21, 23, 27, 29, 31, 33, 37, 39, 41, 43, 47, 49},
		WheelDivisions: 360, MotorSteps: 3200, MotorRatio: 1, LeastMm: 0.02, Material: "brass", MostRpm: 10_000, ClearMm: 5, PinShape: Cone}
}
