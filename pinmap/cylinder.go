package pinmap

import "pinwright/arrange/unit"

// Side is an end of the cylinder as seen from the comb.
type Side string

// Turn is which way the surface next to the comb moves, as seen from the comb.
type Turn string

// The sides and turns.
const (
	Left  Side = "left"
	Right Side = "right"
	Up    Turn = "up"
	Down  Turn = "down"
)

// Cylinder is the bare cylinder, its pins and the way it is mounted.
type Cylinder struct {
	DiameterMm      unit.Millimetres `json:"diameterMm"`      // D, of the bare cylinder, 3 to 400
	PinProjectionMm unit.Millimetres `json:"pinProjectionMm"` // h, from the bare surface to the pin's tip
	PinDiameterMm   unit.Millimetres `json:"pinDiameterMm"`   // d
	HoleWebMm       unit.Millimetres `json:"holeWebMm"`       // w, least metal between two holes
	LiftMm          unit.Millimetres `json:"liftMm"`          // δ, how far a tooth tip is raised before it drops
	ToothSpacingMm  unit.Millimetres `json:"toothSpacingMm"`  // s, axial distance between teeth
	TipMm           unit.Millimetres `json:"tipMm"`           // b, width of a tooth's tip along the axis
	FirstTrackMm    unit.Millimetres `json:"firstTrackMm"`    // z₁, from the bass-end face to track 1
	GapDeg          unit.Degrees     `json:"gapDeg"`          // g, the silent sector
	HoleDepthMm     unit.Millimetres `json:"holeDepthMm"`
	PaperMm         unit.Millimetres `json:"paperMm"`  // thickness of the paper that is wrapped round
	LengthMm        unit.Millimetres `json:"lengthMm"` // of the cylinder at hand; 0: as long as the comb needs
	BassEnd         Side             `json:"bassEnd"`
	Turns           Turn             `json:"turns"`
}

// Pin is one pin of the cylinder: where its hole is drilled and which note it came from.
type Pin struct {
	Pin      int               `json:"pin"`   // from 1, by angle, then tooth
	Tooth    int               `json:"tooth"` // 1 is the lowest note
	Note     string            `json:"note"`  // id of the note
	AngleDeg unit.Degrees      `json:"angleDeg"`
	ArcMm    unit.Millimetres  `json:"arcMm"`   // at the bare surface, from the datum line
	AxialMm  unit.Millimetres  `json:"axialMm"` // from the bass-end face
	TimeMs   unit.Milliseconds `json:"timeMs"`
	Bar      int               `json:"bar"`
	Beat     float64           `json:"beat"`
}
