package project

import (
	"encoding/json"
	"reflect"

	"pinwright/arrange/tune"
)

// ParseBlank reads the JSON of a tune to be written from nothing; what it does not mention has its default. Errors are of type
// *FieldError; their pointers begin with /blank, the field of the form.
func ParseBlank(data []byte) (tune.Blank, error) {
	b := tune.DefaultBlank
	const pointer = "/blank"
	if !json.Valid(data) {
		return b, fieldError(pointer, "it is not JSON; check its quotes, commas and braces, or send {} for eight bars of four")
	}
	if err := decodeOver(reflect.ValueOf(&b).Elem(), data, pointer); err != nil {
		return b, err
	}
	for _, f := range []between{
		{"/bars", float64(b.Bars), 1, 200, "bars"}, {"/beats", float64(b.Beats), 1, 16, "beats in a bar"}, {"/bpm", b.BPM, 20, 400, "quarter notes a minute"},
	} {
		if !(f.value >= f.low && f.value <= f.high) {
			return b, fieldError(pointer+f.pointer, "%v %s cannot be used; give %v to %v", f.value, f.unit, f.low, f.high)
		}
	}
	switch b.Unit {
	case 2, 4, 8, 16:
		return b, nil
	}
	return b, fieldError(pointer+"/unit", "a beat cannot be one %dth of a whole note here; give 2, 4, 8 or 16", b.Unit)
}
