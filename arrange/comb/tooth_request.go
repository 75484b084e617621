package comb

import (
	"errors"
	"math"
	"strconv"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"pinwright/arrange/phrase"
	"pinwright/arrange/unit"
)

// Material is what bends: Young's modulus and density.
type Material struct {
	ModulusGPa  float64 `json:"modulusGPa"`
	DensityKgM3 float64 `json:"densityKgM3"`
}

// Usual materials: spring steel, and lead as it is cast under the tip of a tooth.
var (
	usualSteel = Material{ModulusGPa: 210, DensityKgM3: 7850}
	usualLead  = Material{ModulusGPa: 16, DensityKgM3: 11340}
)

// Root is how a tooth is held.
type Root string

// The roots.
const (
	Rigid Root = "rigid" // the root's face cannot move at all
	Block Root = "block" // the tooth grows out of a block of the same steel, which gives a little
)

// ToothRequest is one tooth, whose sound or weight is asked for. It is valid if ParseTooth gave it.
type ToothRequest struct {
	Steel       Material         `json:"steel"`
	LengthMm    unit.Millimetres `json:"lengthMm"` // from the root to the tip
	WidthMm     unit.Millimetres `json:"widthMm"`
	ThicknessMm unit.Millimetres `json:"thicknessMm"`
	Root        Root             `json:"root"`
	Weight      *TipWeight       `json:"weight"`             // nil: a plain tooth
	TargetHz    *unit.Hertz      `json:"targetHz,omitempty"` // the pitch that the weight must bring, or be compared with
}

// TipWeight is a box bonded under the tooth, its end flush with the tip.
type TipWeight struct {
	Material
	LengthMm    unit.Millimetres  `json:"lengthMm"`
	WidthMm     unit.Millimetres  `json:"widthMm"`
	ThicknessMm *unit.Millimetres `json:"thicknessMm,omitempty"` // nil: asked for, by TargetHz
}

// UnmarshalJSONFrom reads a weight; a material that is not given is lead.
func (w *TipWeight) UnmarshalJSONFrom(from *jsontext.Decoder) error {
	type plain TipWeight
	lead := plain{Material: usualLead}
	if err := json.UnmarshalDecode(from, &lead); err != nil {
		return err
	}
	*w = TipWeight(lead)
	return nil
}

// FieldError says which field of a request cannot be used, why, and what would mend it.
type FieldError struct {
	Pointer string // JSON pointer (RFC 6901), empty for the request as a whole
	Message phrase.Phrase
}

// Error gives the message, after the pointer where there is one.
func (e *FieldError) Error() string {
	if e.Pointer == "" {
		return e.Message.String()
	}
	return e.Pointer + ": " + e.Message.String()
}

// ParseTooth reads a request. Fields that are not given have the defaults: steel of 210 GPa and 7850 kg/m³, a rigid root,
// no weight, a weight of 16 GPa and 11340 kg/m³. Unknown fields and figures outside their range are a *FieldError.
func ParseTooth(data []byte) (ToothRequest, error) {
	q := ToothRequest{Steel: usualSteel, Root: Rigid}
	if err := json.Unmarshal(data, &q, json.RejectUnknownMembers(true)); err != nil {
		return ToothRequest{}, unreadable(err)
	}
	if err := q.check(); err != nil {
		return ToothRequest{}, err
	}
	return q, nil
}

// unreadable puts the decoder's error into the user's words.
func unreadable(err error) *FieldError {
	var meaning *json.SemanticError
	var syntax *jsontext.SyntacticError
	switch {
	case errors.As(err, &meaning) && errors.Is(err, json.ErrUnknownName):
		return &FieldError{string(meaning.JSONPointer), phrase.Of("{1} is not a field of a tooth. The fields are steel, lengthMm, "+
			"widthMm, thicknessMm, root, weight and targetHz; of a material modulusGPa and densityKgM3; of a weight lengthMm, "+
			"widthMm, thicknessMm and those of its material.", strconv.Quote(meaning.JSONPointer.LastToken()))}
	case errors.As(err, &meaning):
		return &FieldError{string(meaning.JSONPointer), phrase.Of("A JSON {1} cannot stand here. Lengths, frequencies and "+
			"figures of materials are numbers, root is a string, steel and weight are objects.", meaning.JSONKind)}
	case errors.As(err, &syntax):
		return &FieldError{string(syntax.JSONPointer), phrase.Of("The request is not readable JSON ({1}). Send one object with "+
			"lengthMm, widthMm and thicknessMm at least.", syntax.Err)}
	}
	return &FieldError{"", phrase.Of("The request is not readable JSON. Send one object with lengthMm, widthMm and thicknessMm at least.")}
}

// six writes a figure with six digits.
func six(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }

// Bounds of a tooth: wide enough for any comb, and inside what a beam can stand for.
const (
	leastSlenderness = 3.0  // length / thickness
	mostWeightLength = 0.9  // of the tooth's length
	mostWeightWidth  = 3.0  // times the tooth's width
	thinnestWeightMm = 0.01 // no thinner one can be made
	flattestWeight   = 500  // length / thickness; a longer foil would be cut into too many elements
)

// thinnest gives the least thickness in mm of a weight as long as w.
func (w TipWeight) thinnest() float64 {
	return max(thinnestWeightMm, float64(w.LengthMm)/flattestWeight)
}

// check gives the first field that is outside its range.
func (q ToothRequest) check() error {
	type figure struct {
		pointer     string
		value       float64
		least, most float64
		unit        phrase.Phrase
	}
	length, width := float64(q.LengthMm), float64(q.WidthMm)
	figures := []figure{
		{"/steel/modulusGPa", q.Steel.ModulusGPa, 1, 1000, phrase.Of("GPa")},
		{"/steel/densityKgM3", q.Steel.DensityKgM3, 500, 25000, phrase.Of("kg/m³")},
		{"/lengthMm", length, 1, 200, phrase.Of("mm")},
		{"/widthMm", width, 0.05, 20, phrase.Of("mm")},
		{"/thicknessMm", float64(q.ThicknessMm), 0.05, min(10, length/leastSlenderness), phrase.Of("mm for a tooth of this length")},
	}
	if w := q.Weight; w != nil {
		figures = append(figures,
			figure{"/weight/modulusGPa", w.ModulusGPa, 1, 1000, phrase.Of("GPa")},
			figure{"/weight/densityKgM3", w.DensityKgM3, 500, 25000, phrase.Of("kg/m³")},
			figure{"/weight/lengthMm", float64(w.LengthMm), 0.05, mostWeightLength * length, phrase.Of("mm for a tooth of this length")},
			figure{"/weight/widthMm", float64(w.WidthMm), 0.05, mostWeightWidth * width, phrase.Of("mm for a tooth of this width")},
		)
		if w.ThicknessMm != nil {
			figures = append(figures, figure{"/weight/thicknessMm", float64(*w.ThicknessMm), w.thinnest(), 10, phrase.Of("mm for a weight of this length")})
		}
	}
	if q.TargetHz != nil {
		figures = append(figures, figure{"/targetHz", float64(*q.TargetHz), 1, 100_000, phrase.Of("Hz")})
	}
	for _, f := range figures {
		if math.IsNaN(f.value) || f.value < f.least || f.value > f.most {
			return &FieldError{f.pointer, phrase.Of("It is {1}; it must lie between {2} and {3} {4}.", six(f.value), six(f.least), six(f.most), f.unit)}
		}
	}
	switch {
	case q.Root != Rigid && q.Root != Block:
		return &FieldError{"/root", phrase.Of("{1} is not a root. Give {2} for a root that cannot move, or {3} for a tooth that "+
			"grows out of a block of steel.", strconv.Quote(string(q.Root)), strconv.Quote(string(Rigid)), strconv.Quote(string(Block)))}
	case q.Weight == nil && q.TargetHz != nil:
		return &FieldError{"/weight", phrase.Of("A target needs the weight that is to bring it: give its lengthMm and widthMm; its thickness " +
			"is then the answer.")}
	case q.Weight != nil && q.Weight.ThicknessMm == nil && q.TargetHz == nil:
		return &FieldError{"/weight/thicknessMm", phrase.Of("The weight has no thickness. Give one in mm, or a targetHz that it has to bring.")}
	}
	return nil
}
