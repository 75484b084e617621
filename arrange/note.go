package arrange

import "pinwright/arrange/unit"

// Role is what a note does in the tune; it sets what a pluck is worth.
type Role string

// The roles.
const (
	Lead Role = "lead"
	Bass Role = "bass"
	Fill Role = "fill"
	Off  Role = "off" // not played
)

// Value gives what a pluck at the written pitch is worth: lead 10, bass 5, fill 3, off 0.
func (r Role) Value() float64 {
	switch r {
	case Lead:
		return 10
	case Bass:
		return 5
	case Fill:
		return 3
	}
	return 0
}

// index tells the roles apart.
func (r Role) index() int {
	switch r {
	case Lead:
		return 0
	case Bass:
		return 1
	case Fill:
		return 2
	}
	return 3
}

// ShiftFactor gives the part of its value that a note keeps when it is moved by octaves: 1, 0.6 or 0.45; 0 beyond two.
func ShiftFactor(octaves int) float64 {
	switch octaves {
	case 0:
		return 1
	case 1, -1:
		return 0.6
	case 2, -2:
		return 0.45
	}
	return 0
}

// Note is one note of the excerpt, merged with those of equal pitch within 10 ms, with its time on the cylinder.
type Note struct {
	ID      string            `json:"id"`
	OnsetMs unit.Milliseconds `json:"onsetMs"` // on the cylinder; 0 is the first onset of the excerpt
	Pitch   unit.Pitch        `json:"pitch"`   // as written
	Name    string            `json:"name"`    // of the pitch as written
	Part    string            `json:"part"`
	Role    Role              `json:"role"`
	Value   float64           `json:"value"` // of its role
	Bar     int               `json:"bar"`
	Beat    float64           `json:"beat"`
	Merged  []string          `json:"merged,omitempty"` // ids of the file's notes that this one stands for, where there are more than one
}
