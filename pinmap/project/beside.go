package project

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"slices"
	"strconv"

	"pinwright/arrange/phrase"
	"pinwright/arrange/unit"
	"pinwright/pinmap"
)

// Sharing says how the tunes of several projects share one cylinder.
type Sharing string

// The ways to share.
const (
	// Sideways is one comb: the cylinder is moved sideways by a share of the tooth spacing for the next tune.
	Sideways Sharing = "shift"
	// TwoCombs are plucked at once: the project's own at the bass end, that of the other project beyond it.
	TwoCombs Sharing = "combs"
)

// Beside is what else stands on the cylinder. Tunes are numbered in the order of their projects, from 1; tune 0 is the project's own.
//
// With Sideways, n tunes in all share the comb that the project's own tune has in the end, and tune i lies i·s/n farther from the bass-end
// face, s the tooth spacing. With TwoCombs the other project brings its own comb, whose first track lies GapMm beyond the last track of the
// first. In both, the cylinder, its turn and the limits are this project's, and so is the tooth spacing; the other projects keep their
// excerpt, parts, key, tempo mode and decisions.
type Beside struct {
	Layout   Sharing          `json:"layout"`
	GapMm    unit.Millimetres `json:"gapMm"` // between the tracks of two combs, at least one tooth spacing; 0: one tooth spacing
	Projects Neighbours       `json:"projects"`
}

// Neighbour is a whole project whose tune stands beside another.
type Neighbour struct {
	File
	written string // compact JSON; the same project always gives the same
	place   int    // from 1, among those that stood there, where a change names it so and there is none
}

// Neighbours are at most seven. In a change of the setup a whole number stands for the project that has that place, from 1, before the change.
type Neighbours []Neighbour

// MostNeighbours bounds the projects that stand beside a tune.
const MostNeighbours = 7

// Bounds of them besides those of a project.
const (
	mostNeighbourTune      = 256 << 10 // bytes
	mostNeighbourDecisions = 2000
	mostBeside             = 1 << 20 // bytes of all projects together, as JSON
	mostBesideGap          = 500     // mm
)

// with reads the projects of a change over those that stand. Nothing is decoded before its size is known to be within bounds.
func (n Neighbours) with(data json.RawMessage, pointer string) (Neighbours, error) {
	var items []json.RawMessage
	if json.Unmarshal(data, &items) != nil {
		return nil, fieldError(pointer, phrase.Of("{1} is not a list; put its items in square brackets", short(data)))
	}
	if len(items) > MostNeighbours {
		return nil, fieldError(pointer, phrase.Of("{1} projects are listed; at most {2} can stand beside a tune", len(items), MostNeighbours))
	}
	if len(data) > 2*mostBeside { // with the white space of its indentation
		return nil, tooMuchBeside(pointer, len(data))
	}
	all := make(Neighbours, len(items))
	for i, item := range items {
		if place, err := strconv.Atoi(string(item)); err == nil {
			if place < 1 || place > MostNeighbours {
				return nil, fieldError(at(pointer, i, ""), phrase.Of("{1} is no place of a project; give 1 to {2}, or the whole project", place, MostNeighbours))
			}
			all[i].place = place
			if place <= len(n) {
				all[i] = n[place-1]
			}
			continue
		}
		file, err := decodeFile(item, true)
		if err != nil {
			return nil, below(at(pointer, i, ""), err)
		}
		all[i] = Neighbour{File: file, written: encodeCompact(file)}
	}
	return all, nil
}

// MarshalJSON writes the whole project, as Encode does but for white space.
func (n Neighbour) MarshalJSON() ([]byte, error) {
	if n.written == "" {
		return strconv.AppendInt(nil, int64(n.place), 10), nil
	}
	return []byte(n.written), nil
}

// Size gives the bytes that the projects take as JSON; 0 of nothing.
func (b *Beside) Size() (size int) {
	if b != nil {
		for _, p := range b.Projects {
			size += len(p.written)
		}
	}
	return size
}

// count gives how many tunes stand beside the project's own.
func (b *Beside) count() int {
	if b == nil {
		return 0
	}
	return len(b.Projects)
}

func (b *Beside) check(c pinmap.Cylinder) error {
	switch {
	case b == nil:
		return nil
	case b.Layout != Sideways && b.Layout != TwoCombs:
		return fieldError("/beside/layout", phrase.Of("{1} is not a way to share a cylinder; give shift (one comb, the cylinder moves sideways for the next tune) or combs (two combs, bass and treble)", quote(b.Layout)))
	case len(b.Projects) == 0:
		return fieldError("/beside/projects", phrase.Of("no project is listed; give at least one, or null in place of beside"))
	case b.Layout == TwoCombs && len(b.Projects) > 1:
		return fieldError("/beside/projects", phrase.Of("{1} projects are listed; two combs take exactly one", len(b.Projects)))
	case !(b.GapMm >= 0 && b.GapMm <= mostBesideGap):
		return fieldError("/beside/gapMm", phrase.Of("{1} {2} cannot be used; give {3} to {4}", float64(b.GapMm), phrase.Of("mm"), 0, mostBesideGap))
	case b.GapMm > 0 && b.GapMm < c.ToothSpacingMm:
		return fieldError("/beside/gapMm", phrase.Of("combs {1} mm apart stand nearer than their own teeth, {2} mm; give at least that, or 0 for one tooth spacing", float64(b.GapMm), float64(c.ToothSpacingMm)))
	}
	for i, p := range b.Projects {
		if p.written == "" {
			return fieldError(at("/beside/projects", i, ""), phrase.Of("there is no project {1} beside the tune; give the whole project, as in project.json", p.place))
		}
	}
	if size := b.Size(); size > mostBeside {
		return tooMuchBeside("/beside/projects", size)
	}
	return nil
}

func tooMuchBeside(pointer string, size int) *FieldError {
	return fieldError(pointer, phrase.Of("the projects take {1} bytes together; at most {2} can be kept: take parts and controller data that are not played out of their tunes", size, mostBeside))
}

// checkInner reports the first thing of a project, not yet read, that one that stands beside another cannot have.
func checkInner(tune string, setup json.RawMessage, decisions []json.RawMessage) error {
	if base64.StdEncoding.DecodedLen(len(tune)) > mostNeighbourTune+2 {
		return fieldError("/tune", phrase.Of("the tune has more than {1} bytes, the most of one that stands beside another; take parts and controller data that are not played out of it", mostNeighbourTune))
	}
	if len(decisions) > mostNeighbourDecisions {
		return fieldError("/decisions", phrase.Of("{1} decisions are in force; at most {2} can be read", len(decisions), mostNeighbourDecisions))
	}
	if member(setup, "beside") != nil {
		return besideBeside("/setup")
	}
	for i, line := range decisions {
		pointer := at("/decisions", i, "")
		if member(member(line, "setup"), "beside") != nil {
			return besideBeside(pointer + "/setup")
		}
		var parts []json.RawMessage
		if json.Unmarshal(member(line, "decisions"), &parts) != nil {
			continue
		}
		for j, part := range parts {
			if member(member(part, "setup"), "beside") != nil {
				return besideBeside(at(pointer+"/decisions", j, "setup"))
			}
		}
	}
	return nil
}

func besideBeside(setup string) *FieldError {
	return fieldError(setup+"/beside", phrase.Of("a project that stands beside a tune has none beside its own; list them all in one"))
}

// member gives a member of an object, nil where there is none or it is null.
func member(object json.RawMessage, name string) json.RawMessage {
	var members map[string]json.RawMessage
	if json.Unmarshal(object, &members) != nil || string(members[name]) == "null" {
		return nil
	}
	return members[name]
}

func encodeCompact(f File) string {
	var b bytes.Buffer
	if err := json.Compact(&b, Encode(f)); err != nil {
		panic("project: a project does not compact: " + err.Error()) // it was just written
	}
	return b.String()
}

// without gives the change of a setup that takes one tune off the cylinder.
func (b *Beside) without(tune int) map[string]any {
	if len(b.Projects) == 1 {
		return map[string]any{"beside": nil}
	}
	places := make([]int, 0, len(b.Projects))
	for i := range b.Projects {
		places = append(places, i+1)
	}
	return map[string]any{"beside": map[string]any{"projects": slices.Delete(places, tune-1, tune)}}
}
