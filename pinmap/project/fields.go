package project

import (
	"bytes"
	"encoding/json"
	"errors"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"pinwright/arrange/phrase"
	"pinwright/arrange/unit"
)

// FieldError says which field of a setup or a decision cannot be used, and what would do.
type FieldError struct {
	Pointer string // JSON pointer (RFC 6901) of the field, "" for the whole
	Message phrase.Phrase
}

func (e *FieldError) Error() string {
	if e.Pointer == "" {
		return e.Message.String()
	}
	return e.Pointer + ": " + e.Message.String()
}

func fieldError(pointer string, message phrase.Phrase) *FieldError {
	return &FieldError{Pointer: pointer, Message: message}
}

const (
	deepest     = 6  // tokens of the longest pointer to a known field, and a few
	longestName = 60 // bytes of an unknown name that is repeated in a pointer
)

var (
	rawMessage = reflect.TypeFor[json.RawMessage]()
	neighbours = reflect.TypeFor[Neighbours]()
)

// decodeOver reads JSON over v, which must be addressable: fields that are absent keep their value, objects are read
// field by field, lists are replaced, maps gain entries, and null takes an entry or a whole away. Quantities are rounded as they
// are written, so that what is stored gives the same result as what was posted. Unknown fields and wrong types are errors that carry their
// pointer. It stands in for encoding/json's own decoding of structs because that does not tell where a fault lies.
func decodeOver(v reflect.Value, data json.RawMessage, pointer string) error {
	isNull := string(data) == "null"
	switch {
	case strings.Count(pointer, "/") > deepest:
		return fieldError(pointer, phrase.Of("it lies deeper than anything that is known here; leave it out"))
	case v.Type() == neighbours && !isNull:
		all, err := v.Interface().(Neighbours).with(data, pointer)
		if err != nil {
			return err
		}
		v.Set(reflect.ValueOf(all))
		return nil
	case v.Type() == rawMessage:
		var b bytes.Buffer
		if err := json.Compact(&b, data); err != nil {
			return fieldError(pointer, phrase.Text(err.Error()))
		}
		v.SetBytes(b.Bytes())
		return nil
	case v.Kind() == reflect.Pointer && isNull, v.Kind() == reflect.Slice && isNull, v.Kind() == reflect.Map && isNull:
		v.SetZero()
		return nil
	case v.Kind() == reflect.Pointer:
		target := reflect.New(v.Type().Elem())
		if !v.IsNil() {
			target.Elem().Set(v.Elem())
		}
		if err := decodeOver(target.Elem(), data, pointer); err != nil {
			return err
		}
		v.Set(target)
		return nil
	case v.Kind() == reflect.Struct && isNull:
		return nil
	case v.Kind() == reflect.Struct:
		var members map[string]json.RawMessage
		if json.Unmarshal(data, &members) != nil {
			return fieldError(pointer, phrase.Of("{1} is not an object; put its fields in braces", short(data)))
		}
		fields := map[string]int{}
		for i := range v.NumField() {
			name, _, _ := strings.Cut(v.Type().Field(i).Tag.Get("json"), ",")
			fields[name] = i
		}
		for _, name := range sortedKeys(members) {
			i, ok := fields[name]
			if !ok && len(name) > longestName {
				return fieldError(pointer, phrase.Of("there is no field {1}; known here are {2}", quote(name), strings.Join(sortedKeys(fields), ", ")))
			}
			if !ok {
				return fieldError(pointer+"/"+escape(name), phrase.Of("there is no such field; known here are {1}", strings.Join(sortedKeys(fields), ", ")))
			}
			if err := decodeOver(v.Field(i), members[name], pointer+"/"+escape(name)); err != nil {
				return err
			}
		}
		return nil
	case v.Kind() == reflect.Slice:
		var items []json.RawMessage
		if json.Unmarshal(data, &items) != nil {
			return fieldError(pointer, phrase.Of("{1} is not a list; put its items in square brackets", short(data)))
		}
		list := reflect.MakeSlice(v.Type(), len(items), len(items))
		for i, item := range items {
			if err := decodeOver(list.Index(i), item, pointer+"/"+strconv.Itoa(i)); err != nil {
				return err
			}
		}
		v.Set(list)
		return nil
	case v.Kind() == reflect.Map:
		var members map[string]json.RawMessage
		if json.Unmarshal(data, &members) != nil {
			return fieldError(pointer, phrase.Of("{1} is not an object; put its fields in braces", short(data)))
		}
		merged := reflect.MakeMap(v.Type())
		for _, k := range v.MapKeys() {
			merged.SetMapIndex(k, v.MapIndex(k))
		}
		for _, name := range sortedKeys(members) {
			at := pointer
			if len(name) <= longestName {
				at += "/" + escape(name)
			}
			key := reflect.New(v.Type().Key())
			quoted, _ := json.Marshal(name)
			if err := decodeLeaf(key.Elem(), quoted, at); err != nil {
				return err
			}
			value := reflect.New(v.Type().Elem())
			if string(members[name]) == "null" {
				merged.SetMapIndex(key.Elem(), reflect.Value{})
				continue
			}
			if err := decodeOver(value.Elem(), members[name], at); err != nil {
				return err
			}
			merged.SetMapIndex(key.Elem(), value.Elem())
		}
		v.Set(merged)
		return nil
	}
	return decodeLeaf(v, data, pointer)
}

func decodeLeaf(v reflect.Value, data json.RawMessage, pointer string) error {
	err := json.Unmarshal(data, v.Addr().Interface())
	var wrong *json.UnmarshalTypeError
	switch {
	case err == nil:
		if _, ok := v.Interface().(json.Marshaler); ok && v.Kind() == reflect.Float64 {
			v.SetFloat(unit.Round(v.Float())) // as it will be written
		}
		return nil
	case errors.As(err, &wrong):
		switch v.Kind() {
		case reflect.Int:
			return fieldError(pointer, phrase.Of("{1} cannot be used here; give a whole number", short(data)))
		case reflect.Float64:
			return fieldError(pointer, phrase.Of("{1} cannot be used here; give a number", short(data)))
		case reflect.Bool:
			return fieldError(pointer, phrase.Of("{1} cannot be used here; give true or false", short(data)))
		}
		return fieldError(pointer, phrase.Of("{1} cannot be used here; give a text in quotes", short(data)))
	}
	return fieldError(pointer, phrase.Text(err.Error()))
}

// short gives at most 40 characters of a value, for a message.
func short(data []byte) string {
	r := []rune(strings.ToValidUTF8(string(data), "?"))
	if len(r) > 40 {
		r = append(r[:40], '…')
	}
	return string(r)
}

// quote gives as much of a text in quotes.
func quote[S ~string](text S) string { return strconv.Quote(short([]byte(text))) }

// escape writes a name as a reference token of a JSON pointer (RFC 6901).
func escape(name string) string {
	return strings.NewReplacer("~", "~0", "/", "~1").Replace(name)
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
