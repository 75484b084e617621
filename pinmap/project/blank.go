package project

import (
	"encoding/json"
	"reflect"

	"pinwright/arrange/phrase"
	"pinwright/arrange/tune"
)

// ParseBlank reads the JSON of a tune to be written from nothing; what it does not mention has its default. Errors are of type
// *FieldError; their pointers begin with /blank, the field of the form.
func ParseBlank(data []byte) (tune.Blank, error) {
	b := tune.DefaultBlank
	const pointer = "/blank"
	if !json.Valid(data) {
		return b, fieldError(pointer, phrase.Of("it is not JSON; check its quotes, commas and braces, or send {} for eight bars of four"))
	}
	if err := decodeOver(reflect.ValueOf(&b).Elem(), data, pointer); err != nil {
		return b, err
	}
	for _, f := range []between{
		{"/bars", float64(b.Bars), 1, 200, phrase.Of("bars")}, {"/beats", float64(b.Beats), 1, 16, phrase.Of("beats in a bar")}, {"/bpm", b.BPM, 20, 400, phrase.Of("quarter notes a minute")},
	} {
		if !(f.value >= f.low && f.value <= f.high) {
			return b, fieldError(pointer+f.pointer, phrase.Of("{1} {2} cannot be used; give {3} to {4}", f.value, f.unit, f.low, f.high))
		}
	}
	switch b.Unit {
	case 2, 4, 8, 16:
		return b, nil
	}
	return b, fieldError(pointer+"/unit", phrase.Of("a beat cannot be one {1}th of a whole note here; give 2, 4, 8 or 16", b.Unit))
}
