package project

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"reflect"
	"strconv"
	"unicode/utf8"

	"pinwright/arrange"
	"pinwright/arrange/phrase"
)

// FileSchema names the version of a project file.
const FileSchema = "pinwright/project/1"

// File is a whole project: all else is derived from it. Its JSON form is an object of five fields:
//
//	schema     "pinwright/project/1"
//	fileName   the tune's name as uploaded, at most 255 characters
//	tune       the uploaded bytes in base64 (RFC 4648, section 4)
//	setup      the setup before the decisions; fields that are absent have their default
//	decisions  those in force, in order, as the API takes them; teeth are named by pitch and twin, and undo and redo do not occur
type File struct {
	FileName  string
	Tune      []byte
	Setup     Setup
	Decisions []arrange.Decision
}

// fileJSON is a File as it is written; the order of its fields is that of the file.
type fileJSON struct {
	Schema    string             `json:"schema"`
	FileName  string             `json:"fileName"`
	Tune      string             `json:"tune"`
	Setup     Setup              `json:"setup"`
	Decisions []arrange.Decision `json:"decisions"`
}

// Bounds of a project file besides those of its parts.
const (
	mostFileName = 255    // characters
	mostInForce  = 10_000 // decisions
)

// Encode writes a project file: the same project always gives the same bytes. Its setup and decisions must have been
// read by ParseSetup, ParseDecision and Accept.
func Encode(f File) []byte {
	if f.Decisions == nil {
		f.Decisions = []arrange.Decision{}
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	if err := e.Encode(fileJSON{FileSchema, f.FileName, base64.StdEncoding.EncodeToString(f.Tune), f.Setup, f.Decisions}); err != nil {
		panic("project: a project does not marshal: " + err.Error()) // a decision's setup that is not JSON: it was never parsed
	}
	return b.Bytes()
}

// Decode reads a project file. What it gives is valid but for what depends on the tune, which is not read here: that its bytes
// are a tune, and that its parts, bars and notes are those that the setup and the decisions speak of. Errors are of type
// *FieldError. How large data may be is the caller's to bound.
func Decode(data []byte) (File, error) { return decodeFile(data, false) }

// decodeFile is Decode, also for a project inside another, which has less room.
func decodeFile(data []byte, inner bool) (File, error) {
	var head struct {
		Schema json.RawMessage `json:"schema"`
	}
	if json.Unmarshal(data, &head) != nil {
		return File{}, fieldError("", phrase.Of("the project file is not a JSON object; choose a file that was saved as project.json"))
	}
	if string(head.Schema) != `"`+FileSchema+`"` {
		if head.Schema == nil {
			return File{}, fieldError("/schema", phrase.Of("the file does not say that it is a project; it needs the schema {1}", strconv.Quote(FileSchema)))
		}
		return File{}, fieldError("/schema", phrase.Of("the file is of the version {1}; this program reads {2}", short(head.Schema), strconv.Quote(FileSchema)))
	}
	raw := struct {
		Schema    string            `json:"schema"`
		FileName  string            `json:"fileName"`
		Tune      string            `json:"tune"`
		Setup     json.RawMessage   `json:"setup"`
		Decisions []json.RawMessage `json:"decisions"`
	}{}
	if err := decodeOver(reflect.ValueOf(&raw).Elem(), data, ""); err != nil {
		return File{}, err
	}
	if inner {
		if err := checkInner(raw.Tune, raw.Setup, raw.Decisions); err != nil {
			return File{}, err
		}
	}
	if len(raw.Decisions) > mostInForce {
		return File{}, fieldError("/decisions", phrase.Of("{1} decisions are in force; at most {2} can be read", len(raw.Decisions), mostInForce))
	}
	f := File{FileName: raw.FileName, Decisions: make([]arrange.Decision, len(raw.Decisions))}
	if n := utf8.RuneCountInString(f.FileName); n > mostFileName {
		return File{}, fieldError("/fileName", phrase.Of("the name has {1} characters; at most {2} can be kept", n, mostFileName))
	}
	var err error
	if f.Tune, err = base64.StdEncoding.Strict().DecodeString(raw.Tune); err != nil || len(f.Tune) == 0 {
		return File{}, fieldError("/tune", phrase.Of("it is not the base64 of a tune; choose a file that was saved whole"))
	}
	if f.Setup, err = ParseSetup(raw.Setup); err != nil {
		return File{}, below("/setup", err)
	}
	now := f.Setup
	for i, line := range raw.Decisions {
		pointer := at("/decisions", i, "")
		if f.Decisions[i], err = ParseDecision(line); err != nil {
			return File{}, below(pointer, err)
		}
		for part, step := range arrange.Steps(f.Decisions[i : i+1]) {
			if step.Part > 0 {
				pointer = at(at("/decisions", i, "")+"/decisions", part, "")
			}
			switch d := step.Decision; {
			case d.Kind == arrange.Undo || d.Kind == arrange.Redo:
				return File{}, fieldError(pointer+"/kind", phrase.Of("a project file holds the decisions in force; there is no {1} among them", d.Kind))
			case d.Tooth != 0:
				return File{}, fieldError(pointer+"/tooth", phrase.Of("a project file names a tooth by pitch and twin; give those"))
			case d.Kind == arrange.Change:
				if now, err = now.With(d.Setup); err != nil {
					return File{}, below(pointer+"/setup", err)
				}
			}
		}
	}
	return f, nil
}
