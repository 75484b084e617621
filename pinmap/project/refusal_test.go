package project_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pinwright/arrange/tune"
	"pinwright/pinmap/project"
)

// refused is a document that cannot be used: where the fault lies and words that must say so.
type refused struct {
	name, document, pointer, words string
}

// badSetups cannot be read whatever the tune; badForTune do not suit the tune of fiveNotes.
var badSetups = []refused{
	{"no JSON", `{"title"`, "", "not JSON"},
	{"a list", `[1]`, "", "not an object"},
	{"a number", `7`, "", "not an object"},
	{"an unknown field", `{"colour": 1}`, "/colour", "known here are bench, beside, comb"},
	{"no circles", `{"bench": {"headCircles": []}}`, "/bench/headCircles", "give 1 to 64"},
	{"a circle without holes", `{"bench": {"headCircles": [15, 0]}}`, "/bench/headCircles/1", "give 1 to 1000"},
	{"a head of ratio 0", `{"bench": {"headRatio": 0}}`, "/bench/headRatio", "give 1 to 1000"},
	{"a wheel without divisions", `{"bench": {"wheelDivisions": 0}}`, "/bench/wheelDivisions", "give 1 to"},
	{"a motor of ratio 0", `{"bench": {"motorRatio": 0}}`, "/bench/motorRatio", "give 0.001 to"},
	{"a way to set angles that is none", `{"bench": {"method": "guess"}}`, "/bench/method", "give wrap, degrees"},
	{"a material that is none", `{"bench": {"material": "cheese"}}`, "/bench/material", "give brass"},
	{"a shape that is none", `{"bench": {"pinShape": "star"}}`, "/bench/pinShape", "give cone or round"},
	{"a bore into the holes", `{"bench": {"boreMm": 11}}`, "/bench/boreMm", "make it narrower"},
	{"an unknown field below", `{"comb": {"tooths": 1}}`, "/comb/tooths", "known here are dampingCycles"},
	{"a slash and a tilde in a name", `{"a/b~c": 1}`, "/a~1b~0c", "no such field"},
	{"a name too long to repeat", `{"` + strings.Repeat("x", 500) + `": 1}`, "", "no field"},
	{"another case", `{"Comb": {}}`, "/Comb", "no such field"},
	{"a title that is a number", `{"title": 5}`, "/title", "a text in quotes"},
	{"a long title", `{"title": "` + strings.Repeat("ü", 201) + `"}`, "/title", "201 characters; at most 200"},
	{"a line break in the title", `{"title": "a\nb"}`, "/title", "control character"},
	{"a date in words", `{"date": "31 March"}`, "/date", "2026-03-31"},
	{"a day that is not", `{"date": "2026-02-30"}`, "/date", "not a date"},
	{"parts in braces", `{"parts": {}}`, "/parts", "square brackets"},
	{"a role of its own", `{"parts": [{"id": "t1c1", "role": "lead"}, {"id": "t2c2", "role": "loud"}]}`, "/parts/1/role", "lead, bass, fill or off"},
	{"a part twice", `{"parts": [{"id": "t1c1", "role": "lead"}, {"id": "t1c1", "role": "off"}]}`, "/parts/1/id", "listed twice"},
	{"an excerpt backwards", `{"excerpt": {"fromBar": 4, "toBar": 2}}`, "/excerpt/toBar", "from bar 4 to bar 2"},
	{"an excerpt without an end", `{"excerpt": {"fromBar": 4}}`, "/excerpt/toBar", "give fromBar and toBar"},
	{"half a bar", `{"excerpt": {"fromBar": 1.5, "toBar": 2}}`, "/excerpt/fromBar", "a whole number"},
	{"another tempo", `{"tempo": {"mode": "rubato"}}`, "/tempo/mode", "fill or written"},
	{"a short turn", `{"tempo": {"revolutionMs": 100}}`, "/tempo/revolutionMs", "200 to"},
	{"a turn in words", `{"tempo": {"revolutionMs": "slow"}}`, "/tempo/revolutionMs", "a number"},
	{"a number without end in an unknown field", `{"tempo": {"": 1e700}}`, "/tempo/", "no such field"},
	{"a turn without end", `{"tempo": {"revolutionMs": 1e400}}`, "/tempo/revolutionMs", "a number"},
	{"keys the wrong way round", `{"transpose": {"min": 3, "max": -3}}`, "/transpose/max", "below min, 3"},
	{"a key too far", `{"transpose": {"min": -61}}`, "/transpose/min", "-60 to 60"},
	{"a comb of air", `{"comb": {"mode": "air"}}`, "/comb/mode", "cut or fixed"},
	{"no teeth", `{"comb": {"teeth": 0}}`, "/comb/teeth", "1 to 144"},
	{"many teeth", `{"comb": {"teeth": 145}}`, "/comb/teeth", "1 to 144"},
	{"a comb upside down", `{"comb": {"low": "C6", "high": "C5"}}`, "/comb/low", "above high, C5"},
	{"a note that is none", `{"comb": {"low": "H4"}}`, "/comb/low", "such as C#5"},
	{"a note out of range", `{"comb": {"high": "A9"}}`, "/comb/high", "C-1 to G9"},
	{"a number that is no note", `{"comb": {"high": 128}}`, "/comb/high", "0 to 127"},
	{"no twins", `{"comb": {"maxTwins": 0}}`, "/comb/maxTwins", "1 to 12"},
	{"a given comb without teeth", `{"comb": {"mode": "fixed"}}`, "/comb/pitches", "list their notes"},
	{"a bad note on the comb", `{"comb": {"mode": "fixed", "pitches": ["C5", "c"]}}`, "/comb/pitches/1", "such as C#5"},
	{"too many alike", `{"comb": {"mode": "fixed", "maxTwins": 1, "pitches": ["C5", "D5", "C5"]}}`, "/comb/pitches/2", "more than 1 times"},
	{"a comb too long", `{"comb": {"mode": "fixed", "pitches": [` + strings.Repeat("60,", 144) + `61]}}`, "/comb/pitches", "at most 144"},
	{"damping backwards", `{"comb": {"dampingCycles": -1}}`, "/comb/dampingCycles", "0 to 1000"},
	{"a tooth of lead", `{"comb": {"qualityFactor": 49}}`, "/comb/qualityFactor", "give 50 to 20000"},
	{"a tooth that never stops", `{"comb": {"qualityFactor": 20001}}`, "/comb/qualityFactor", "give 50 to 20000"},
	{"endless ring", `{"comb": {"leastRingMs": 10001}}`, "/comb/leastRingMs", "0 to 10000"},
	{"a recovery of a note that is none", `{"comb": {"recoveryMs": {"X5": 200}}}`, "/comb/recoveryMs/X5", "note name"},
	{"no recovery", `{"comb": {"recoveryMs": {"C#5": 0}}}`, "/comb/recoveryMs/C#5", "1 to 60000"},
	{"a thin cylinder", `{"cylinder": {"diameterMm": 2.9}}`, "/cylinder/diameterMm", "3 to 400"},
	{"a thick cylinder", `{"cylinder": {"diameterMm": 401}}`, "/cylinder/diameterMm", "3 to 400"},
	{"a lift beyond the tip", `{"cylinder": {"liftMm": 7.4}}`, "/cylinder/liftMm", "radius of the pins' tips, 7.4 mm"},
	{"pins thicker than the metal", `{"cylinder": {"diameterMm": 4, "pinDiameterMm": 3}}`, "/cylinder/pinDiameterMm", "make them thinner"},
	{"holes to the axis", `{"cylinder": {"holeDepthMm": 6.5}}`, "/cylinder/holeDepthMm", "reach the axis"},
	{"nothing but gap", `{"cylinder": {"gapDeg": 360}}`, "/cylinder/gapDeg", "0 to 350"},
	{"a negative gap", `{"cylinder": {"gapDeg": -1}}`, "/cylinder/gapDeg", "0 to 350"},
	{"teeth on one another", `{"cylinder": {"toothSpacingMm": 0}}`, "/cylinder/toothSpacingMm", "0.1 to 50"},
	{"another end", `{"cylinder": {"bassEnd": "middle"}}`, "/cylinder/bassEnd", "left or right"},
	{"another way to turn", `{"cylinder": {"turns": "sideways"}}`, "/cylinder/turns", "up or down"},
	{"thick paper", `{"cylinder": {"paperMm": 3}}`, "/cylinder/paperMm", "0 to 2"},
	{"no train", `{"drive": {"stages": []}}`, "/drive/stages", "1 to 12"},
	{"a wheel that stands", `{"drive": {"stages": [2.75, 0]}}`, "/drive/stages/1", "0.01 to 1000"},
	{"a cylinder outside the train", `{"drive": {"cylinderStage": 5}}`, "/drive/cylinderStage", "0 (the great wheel) to 4"},
	{"a cylinder that races", `{"drive": {"greatWheelRpm": 900}}`, "/drive", "turn once in 24.24 ms"},
	{"a great wheel that stands", `{"drive": {"greatWheelRpm": 0}}`, "/drive/greatWheelRpm", "rev/min"},
	{"a file that is not made", `{"share": {"files": ["holes.csv", "plan.pdf"]}}`, "/share/files/1", "holes.csv"},
	{"a file twice", `{"share": {"files": ["holes.csv", "map.svg", "holes.csv"]}}`, "/share/files/2", "twice"},
	{"files that are no list", `{"share": {"files": "holes.csv"}}`, "/share/files", "list"},
	{"a file that is no name", `{"share": {"files": [null, 7]}}`, "/share/files/1", "text in quotes"},
	{"no file of a name", `{"share": {"files": [null]}}`, "/share/files/0", "holes.csv"},
	{"an unknown field of sharing", `{"share": {"file": []}}`, "/share/file", "files"},
	{"a wide tolerance", `{"limits": {"shiftMs": 1001}}`, "/limits/shiftMs", "0 to 1000"},
	{"nothing together", `{"limits": {"maxTogether": 0}}`, "/limits/maxTogether", "1 to 144"},
}

var badForTune = []refused{
	{"a part of another tune", `{"parts": [{"id": "t9c9", "role": "lead"}]}`, "/parts/0/id", "its parts are t1c1"},
	{"every part off", `{"parts": [{"id": "t1c1", "role": "off"}]}`, "/parts", "every part is off"},
	{"a bar before the first", `{"excerpt": {"fromBar": 0, "toBar": 1}}`, "/excerpt/fromBar", "run from 1 to"},
	{"a bar after the last", `{"excerpt": {"fromBar": 1, "toBar": 99}}`, "/excerpt/toBar", "no bar 99"},
	{"silent bars", `{"excerpt": {"fromBar": 2, "toBar": 2}}`, "/excerpt", "nothing sounds in bars 2 to 2"},
	{"a turn faster than any", `{"tempo": {"mode": "written"}, "excerpt": {"fromBar": 3, "toBar": 3}, "cylinder": {"gapDeg": 0}}`, "/tempo", "no cylinder does"},
}

// fiveNotes is a tune with four notes in bar 1, a silent bar 2 and a bar 3 of its own meter, a sixteenth long.
func fiveNotes(t fataler) *tune.Tune {
	return read(t, melodyInThree())
}

func checkRefused(t *testing.T, row refused, err error) {
	t.Helper()
	var field *project.FieldError
	if !errors.As(err, &field) {
		t.Fatalf("%v is not about a field", err)
	}
	if field.Pointer != row.pointer || !strings.Contains(field.Message.String(), row.words) {
		t.Errorf("%q: %s\nwant %q with %q", field.Pointer, field.Message, row.pointer, row.words)
	}
	if len(field.Message.String()) > 400 || strings.Contains(field.Message.String(), "!") {
		t.Errorf("the message is long or shouts: %s", field.Message)
	}
}

func TestBadSetups(t *testing.T) {
	for _, row := range badSetups {
		t.Run(row.name, func(t *testing.T) {
			_, err := project.ParseSetup([]byte(row.document))
			checkRefused(t, row, err)
		})
	}
	for _, row := range badForTune {
		t.Run(row.name, func(t *testing.T) {
			_, err := project.Derive(context.Background(), fiveNotes(t), parse(t, row.document), nil, project.Options{})
			checkRefused(t, row, err)
		})
	}
}

func TestGoodSetups(t *testing.T) {
	for _, row := range []struct{ name, document string }{
		{"nothing", ``}, {"an empty object", ` {} `}, {"null", `null`}, {"nulls", `{"parts": null, "excerpt": null, "comb": null, "title": null}`},
		{"notes by number", `{"comb": {"mode": "fixed", "pitches": [60, "C5", "e♭5"]}}`},
		{"the default, complete", toJSON(t, project.DefaultSetup())},
	} {
		if _, err := project.ParseSetup([]byte(row.document)); err != nil {
			t.Errorf("%s: %v", row.name, err)
		}
	}
	if got, err := project.ParseSetup(nil); err != nil || toJSON(t, got) != toJSON(t, project.DefaultSetup()) {
		t.Errorf("nothing gives %s, %v", toJSON(t, got), err)
	}
}

// TestChange: a change replaces what it names, adds to the measured recoveries, and leaves the setup that it was made from alone.
func TestChange(t *testing.T) {
	s := parse(t, `{"title": "A", "excerpt": {"fromBar": 2, "toBar": 5}, "comb": {"recoveryMs": {"C5": 300, "D5": 310}}, "parts": [{"id": "t1c1", "role": "bass"}]}`)
	before := toJSON(t, s)
	got, err := s.With([]byte(`{"excerpt": {"toBar": 7}, "comb": {"recoveryMs": {"C5": null, "E5": 320.00000049}}, "parts": []}`))
	if err != nil {
		t.Fatal(err)
	}
	want := parse(t, `{"title": "A", "excerpt": {"fromBar": 2, "toBar": 7}, "comb": {"recoveryMs": {"D5": 310, "E5": 320}}}`)
	if toJSON(t, got) != toJSON(t, want) {
		t.Errorf("got %s, want %s", toJSON(t, got), toJSON(t, want))
	}
	if after := toJSON(t, s); after != before {
		t.Errorf("%s has become %s", before, after)
	}
}

var badDecisions = []refused{
	{"no JSON", `{`, "", "not JSON"},
	{"a text", `"undo"`, "", "not an object"},
	{"no kind", `{"note": "n1"}`, "/kind", "not a kind of decision"},
	{"another kind", `{"kind": "repeat"}`, "/kind", "give octave, place"},
	{"an unknown field", `{"kind": "undo", "why": 1}`, "/why", "no such field"},
	{"an octave of no note", `{"kind": "octave", "octaves": 1}`, "/note", "needs it"},
	{"no octaves", `{"kind": "octave", "note": "n1"}`, "/octaves", "needs it"},
	{"three octaves", `{"kind": "octave", "note": "n1", "octaves": 3}`, "/octaves", "-2 to 2"},
	{"half an octave", `{"kind": "octave", "note": "n1", "octaves": 0.5}`, "/octaves", "a whole number"},
	{"an octave with a pitch", `{"kind": "octave", "note": "n1", "octaves": 1, "pitch": "C5"}`, "/pitch", "does not have it"},
	{"a place nowhere", `{"kind": "place", "note": "n1"}`, "/pitch", "either pitch"},
	{"a place by pitch and tooth", `{"kind": "place", "note": "n1", "pitch": "C5", "tooth": 3}`, "/pitch", "either pitch"},
	{"a tooth and a twin", `{"kind": "place", "note": "n1", "tooth": 3, "twin": 2}`, "/twin", "leave twin out"},
	{"a tooth below the first", `{"kind": "place", "note": "n1", "tooth": -1}`, "/tooth", "1 to 144"},
	{"the thirteenth twin", `{"kind": "place", "note": "n1", "pitch": "C5", "twin": 13}`, "/twin", "no twin 13"},
	{"a pitch that is none", `{"kind": "place", "note": "n1", "pitch": "Q"}`, "/pitch", "note name"},
	{"a shift without ms", `{"kind": "shift", "note": "n1"}`, "/ms", "needs it"},
	{"a shift of seconds", `{"kind": "shift", "note": "n1", "ms": 1001}`, "/ms", "too far"},
	{"a shift in words", `{"kind": "shift", "note": "n1", "ms": "a little"}`, "/ms", "a number"},
	{"a long id", `{"kind": "leave-out", "note": "` + strings.Repeat("n", 41) + `"}`, "/note", "not the id"},
	{"a note by number", `{"kind": "leave-out", "note": 7}`, "/note", "a text in quotes"},
	{"a release of nothing", `{"kind": "release"}`, "/note", "needs it"},
	{"a setup without fields", `{"kind": "setup"}`, "/setup", "needs it"},
	{"a setup that is a text", `{"kind": "setup", "setup": "x"}`, "/setup", "not an object"},
	{"an unknown field of the setup", `{"kind": "setup", "setup": {"comb": {"tooths": 3}}}`, "/setup/comb/tooths", "no such field"},
	{"an undo of something", `{"kind": "undo", "note": "n1"}`, "/note", "does not have it"},
	{"several of none", `{"kind": "several", "decisions": []}`, "/decisions", "1 to 64"},
	{"several of 65", `{"kind": "several", "decisions": [` + strings.TrimSuffix(strings.Repeat(`{"kind":"release","note":"n1"},`, 65), ",") + `]}`, "/decisions", "65 decisions"},
	{"an undo among several", `{"kind": "several", "decisions": [{"kind": "undo"}]}`, "/decisions/0/kind", "stands alone"},
	{"several among several", `{"kind": "several", "decisions": [{"kind": "several", "decisions": [{"kind": "release", "note": "n1"}]}]}`, "/decisions/0/kind", "cannot be one of several"},
	{"a fault in the second of several", `{"kind": "several", "decisions": [{"kind": "release", "note": "n1"}, {"kind": "shift", "note": "n1"}]}`, "/decisions/1/ms", "needs it"},
	{"several without end", strings.Repeat(`{"kind": "several", "decisions": [`, 1000) + strings.Repeat(`]}`, 1000), "/decisions/0/decisions/0/decisions/0/decisions", "deeper"},
}

// badForWork can be read but not be kept with the tune of fiveNotes on the comb C5 D5 E5 G5 G5 in the written key.
var badForWork = []refused{
	{"a note of another tune", `{"kind": "octave", "note": "n99", "octaves": 0}`, "/note", "no note \"n99\""},
	{"a tooth that is not there", `{"kind": "place", "note": "n1", "tooth": 6}`, "/tooth", "no tooth 6; it has 5"},
	{"a tooth of another note", `{"kind": "place", "note": "n1", "tooth": 2}`, "/pitch", "D5 is not C5 nor an octave of it"},
	{"a pitch that the comb lacks", `{"kind": "place", "note": "n1", "pitch": "C6"}`, "/pitch", "no tooth C6"},
	{"a pitch too far away", `{"kind": "place", "note": "n1", "pitch": "C9"}`, "/pitch", "more than two octaves"},
	{"a third twin", `{"kind": "place", "note": "n4", "pitch": "G5", "twin": 3}`, "/twin", "2 teeth of G5, not 3"},
	{"an octave off the comb", `{"kind": "octave", "note": "n1", "octaves": 1}`, "/octaves", "that would be C6"},
	{"a shift beyond the tolerance", `{"kind": "shift", "note": "n1", "ms": 25.5}`, "/ms", "tolerance of 25 ms"},
	{"nothing to take back", `{"kind": "undo"}`, "/kind", "no decision to take back"},
	{"nothing to make again", `{"kind": "redo"}`, "/kind", "just taken back"},
	{"a setup out of bounds", `{"kind": "setup", "setup": {"cylinder": {"gapDeg": 400}}}`, "/setup/cylinder/gapDeg", "0 to 350"},
	{"a setup that does not suit the tune", `{"kind": "setup", "setup": {"excerpt": {"fromBar": 2, "toBar": 2}}}`, "/setup/excerpt", "nothing sounds"},
	{"the same among several", `{"kind": "several", "decisions": [{"kind": "release", "note": "n1"}, {"kind": "setup", "setup": {"comb": {"mode": "fixed", "pitches": []}}}]}`, "/decisions/1/setup/comb/pitches", "list their notes"},
	{"a place that the change before it takes away", `{"kind": "several", "decisions": [{"kind": "setup", "setup": {"comb": {"pitches": ["D5"]}}}, {"kind": "place", "note": "n1", "pitch": "C5"}]}`, "/decisions/1/pitch", "no tooth C5"},
}

func TestBadDecisions(t *testing.T) {
	for _, row := range badDecisions {
		t.Run(row.name, func(t *testing.T) {
			_, err := project.ParseDecision([]byte(row.document))
			checkRefused(t, row, err)
		})
	}
	for _, row := range badForWork {
		t.Run(row.name, func(t *testing.T) {
			_, err := project.Accept(context.Background(), fiveNotes(t), givenComb(t), nil, decide(t, row.document)[0])
			checkRefused(t, row, err)
		})
	}
}

// TestGoodDecisions: what is accepted, and as what it is stored.
func TestGoodDecisions(t *testing.T) {
	for _, row := range []struct{ name, document, stored string }{
		{"a tooth by number", `{"kind": "place", "note": "n4", "tooth": 5}`, `{"kind":"place","note":"n4","pitch":"G5","twin":2}`},
		{"a pitch", `{"kind": "place", "note": "n1", "pitch": "C5"}`, `{"kind":"place","note":"n1","pitch":"C5"}`},
		{"a shift", `{"kind": "shift", "note": "n1", "ms": -25}`, `{"kind":"shift","note":"n1","ms":-25}`},
		{"a change, spaced", `{"kind": "setup", "setup": { "title" : "x" } }`, `{"kind":"setup","setup":{"title":"x"}}`},
		{"a place that the change before it brings", `{"kind": "several", "decisions": [{"kind": "setup", "setup": {"comb": {"pitches": ["C5", "C6"]}}}, {"kind": "place", "note": "n1", "tooth": 2}]}`,
			`{"kind":"several","decisions":[{"kind":"setup","setup":{"comb":{"pitches":["C5","C6"]}}},{"kind":"place","note":"n1","pitch":"C6","twin":1}]}`},
	} {
		got, err := project.Accept(context.Background(), fiveNotes(t), givenComb(t), nil, decide(t, row.document)[0])
		if err != nil || toJSON(t, got) != row.stored {
			t.Errorf("%s: %s, %v; want %s", row.name, toJSON(t, got), err, row.stored)
		}
	}
}

var badFiles = []refused{
	{"nothing", ``, "", "not a JSON object"},
	{"a list", `[]`, "", "not a JSON object"},
	{"no schema", `{"tune": "TVRoZA=="}`, "/schema", "needs the schema"},
	{"a later version", `{"schema": "pinwright/project/2", "more": 1}`, "/schema", "this program reads"},
	{"a result", `{"schema": "pinwright/result/1"}`, "/schema", "pinwright/result/1"},
	{"an unknown field", `{"schema": "pinwright/project/1", "log": []}`, "/log", "no such field"},
	{"no tune", `{"schema": "pinwright/project/1"}`, "/tune", "base64"},
	{"a tune in hex", `{"schema": "pinwright/project/1", "tune": "4D 54"}`, "/tune", "base64"},
	{"a bad setup", `{"schema": "pinwright/project/1", "tune": "TVRoZA==", "setup": {"comb": {"teeth": 0}}}`, "/setup/comb/teeth", "1 to 144"},
	{"a bad decision", `{"schema": "pinwright/project/1", "tune": "TVRoZA==", "decisions": [{"kind": "release", "note": "n1"}, {"kind": "octave"}]}`, "/decisions/1/note", "needs it"},
	{"an undo", `{"schema": "pinwright/project/1", "tune": "TVRoZA==", "decisions": [{"kind": "undo"}]}`, "/decisions/0/kind", "in force"},
	{"a tooth by number", `{"schema": "pinwright/project/1", "tune": "TVRoZA==", "decisions": [{"kind": "several", "decisions": [{"kind": "place", "note": "n1", "tooth": 1}]}]}`, "/decisions/0/decisions/0/tooth", "pitch and twin"},
	{"a change that cannot be made", `{"schema": "pinwright/project/1", "tune": "TVRoZA==", "decisions": [{"kind": "setup", "setup": {"comb": {"mode": "fixed"}}}]}`, "/decisions/0/setup/comb/pitches", "list their notes"},
	{"a long name", `{"schema": "pinwright/project/1", "tune": "TVRoZA==", "fileName": "` + strings.Repeat("a", 256) + `"}`, "/fileName", "256 characters"},
}

func TestBadFiles(t *testing.T) {
	for _, row := range badFiles {
		t.Run(row.name, func(t *testing.T) {
			_, err := project.Decode([]byte(row.document))
			checkRefused(t, row, err)
		})
	}
}

// points reports whether a JSON pointer (RFC 6901) leads somewhere in a document.
func points(document any, pointer string) bool {
	if pointer == "" {
		return true
	}
	for _, token := range strings.Split(pointer[1:], "/") {
		token = strings.NewReplacer("~1", "/", "~0", "~").Replace(token)
		switch v := document.(type) {
		case map[string]any:
			next, ok := v[token]
			if !ok {
				return false
			}
			document = next
		case []any:
			i, err := strconv.Atoi(token)
			if err != nil || i < 0 || i >= len(v) {
				return false
			}
			document = v[i]
		default:
			return false
		}
	}
	return true
}

// checkPointer fails where an error is not about a field that the document has, or could have.
func checkPointer(t *testing.T, data []byte, whole string, err error) {
	t.Helper()
	var field *project.FieldError
	if !errors.As(err, &field) {
		t.Fatalf("%v is not about a field", err)
	}
	var document, complete any
	if json.Unmarshal([]byte(whole), &complete) != nil {
		t.Fatal("the complete document is not JSON")
	}
	numbers := json.NewDecoder(bytes.NewReader(data)) // as they are written, however large
	numbers.UseNumber()
	if numbers.Decode(&document) != nil {
		document = nil
	}
	within := field.Pointer[:max(strings.LastIndex(field.Pointer, "/"), 0)] // the object that lacks a field, where that is the fault
	if !points(document, within) && !points(complete, field.Pointer) {
		t.Fatalf("%q does not lead into %s", field.Pointer, data)
	}
	if field.Message.Empty() || len(field.Message.String()) > 1000 {
		t.Fatalf("the message is %q", field.Message)
	}
}

func FuzzSetup(f *testing.F) {
	for _, row := range append(badSetups, badForTune...) {
		f.Add([]byte(row.document))
	}
	f.Add([]byte(`{"comb": {"mode": "fixed", "pitches": ["C5", "D5", "G5", "G5"], "recoveryMs": {"C5": 900}}, "tempo": {"mode": "written", "revolutionMs": 1000}, "cylinder": {"gapDeg": 0}}`))
	f.Add([]byte(toJSON(f, project.DefaultSetup())))
	tn := fiveNotes(f)
	whole := strings.Replace(toJSON(f, project.DefaultSetup()), `"excerpt":null`, `"excerpt":{"fromBar":1,"toBar":1},"date":""`, 1)
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := project.ParseSetup(data)
		if err != nil {
			checkPointer(t, data, whole, err)
			return
		}
		ctx, cancel := context.WithTimeout(context.Background(), patience)
		defer cancel()
		r, err := project.Derive(ctx, tn, s, nil, project.Options{})
		if err != nil {
			checkPointer(t, data, whole, err)
			return
		}
		if bad := recompute(t, tn, nil, r); len(bad) > 0 {
			t.Fatal(strings.Join(bad, "\n"))
		}
		if again := parse(t, toJSON(t, s)); toJSON(t, again) != toJSON(t, s) {
			t.Fatalf("the setup %s is read again as %s", toJSON(t, s), toJSON(t, again))
		}
	})
}

func FuzzDecision(f *testing.F) {
	for _, row := range slices.Concat(badDecisions, badForWork, badWriting, badWritingForWork) {
		f.Add([]byte(row.document))
	}
	for _, kind := range []string{`"octave", "note": "n1", "octaves": 0`, `"place", "note": "n5", "tooth": 4`, `"leave-out", "note": "n2"`, `"shift", "note": "n3", "ms": 5`,
		`"add", "pitch": "C5", "bar": 2, "beat": 1.5`, `"move", "note": "n4", "bar": 5`, `"remove", "note": "n5"`, `"several", "decisions": [{"kind": "add", "pitch": "G5", "bar": 1, "beat": 1}, {"kind": "place", "note": "a1", "tooth": 4}]`,
		`"setup", "setup": {"transpose": {"min": -3, "max": 3}}`, `"several", "decisions": [{"kind": "setup", "setup": {"comb": {"mode": "cut", "teeth": 2}}}, {"kind": "place", "note": "n1", "pitch": "C5"}]`} {
		f.Add(fmt.Appendf(nil, `{"kind": %s}`, kind))
	}
	tn, s := fiveNotes(f), givenComb(f)
	log := decide(f, `{"kind": "octave", "note": "n2", "octaves": 0}`, `{"kind": "shift", "note": "n2", "ms": 5}`, `{"kind": "leave-out", "note": "n3"}`, `{"kind": "undo"}`)
	step := `"note":"","octaves":0,"pitch":"","tooth":0,"twin":0,"ms":0,"bar":0,"beat":0`
	setup := strings.Replace(toJSON(f, project.DefaultSetup()), `"excerpt":null`, `"excerpt":{"fromBar":1,"toBar":1},"date":""`, 1)
	f.Fuzz(func(t *testing.T, data []byte) {
		var parts []string
		for range 64 {
			parts = append(parts, `{"kind":"","setup":`+setup+`,"decisions":[],`+step+`}`)
		}
		whole := `{"kind":"","setup":` + setup + `,"decisions":[` + strings.Join(parts, ",") + `],` + step + `}`
		d, err := project.ParseDecision(data)
		if err != nil {
			checkPointer(t, data, whole, err)
			return
		}
		ctx, cancel := context.WithTimeout(context.Background(), patience)
		defer cancel()
		d, err = project.Accept(ctx, tn, s, log, d)
		if err != nil {
			checkPointer(t, data, whole, err)
			return
		}
		then := append(log[:len(log):len(log)], d)
		r := derive(t, tn, s, then, false)
		if bad := recompute(t, tn, then, r); len(bad) > 0 {
			t.Fatal(strings.Join(bad, "\n"))
		}
	})
}
