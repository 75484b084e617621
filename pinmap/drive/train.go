// Package drive gives how fast each wheel of the movement turns.
package drive

import "pinwright/arrange/unit"

// Train is the gear train from the great wheel to the governor.
type Train struct {
	GreatWheelRpm unit.Rpm  `json:"greatWheelRpm"`
	Stages        []float64 `json:"stages"`        // each stage's ratio, driven speed over driving speed
	CylinderStage int       `json:"cylinderStage"` // the cylinder turns with the wheel after this many stages
}

// Default is a train of common practice for a small movement (no published source): great wheel 1.5 rev/min, 2.75 to
// the cylinder, 5.75, 6.3 and a 24-tooth worm wheel, one governor turn a tooth.
func Default() Train {
	return Train{GreatWheelRpm: 1.5, Stages: []float64{2.75, 5.75, 6.3, 24}, CylinderStage: 1}
}

// Ratio gives the governor's turns for one of the great wheel: the product of all stages.
func (t Train) Ratio() float64 { return product(t.Stages) }

// CylinderRatio gives the cylinder's turns for one of the great wheel.
func (t Train) CylinderRatio() float64 { return product(t.Stages[:t.CylinderStage]) }

// CylinderRpm gives the cylinder's speed.
func (t Train) CylinderRpm() unit.Rpm { return t.GreatWheelRpm * unit.Rpm(t.CylinderRatio()) }

// RevolutionMs gives the time of one turn of the cylinder, 60 000 / rpm.
func (t Train) RevolutionMs() unit.Milliseconds { return unit.Milliseconds(60_000 / t.CylinderRpm()) }

// Speeds gives the speed of each arbor when the cylinder turns once in revolution: the great wheel's, then one for
// each stage; the last is the governor's.
func (t Train) Speeds(revolution unit.Milliseconds) []unit.Rpm {
	speeds := []unit.Rpm{unit.Rpm(60_000 / float64(revolution) / t.CylinderRatio())}
	for _, stage := range t.Stages {
		speeds = append(speeds, speeds[len(speeds)-1]*unit.Rpm(stage))
	}
	return speeds
}

func product(stages []float64) float64 {
	p := 1.0
	for _, s := range stages {
		p *= s
	}
	return p
}
