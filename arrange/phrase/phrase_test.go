package phrase_test

import (
	"bytes"
	"encoding/json"
	"testing"

	"pinwright/arrange/phrase"
)

func TestPhraseIsSaid(t *testing.T) {
	backwards := func(words string) string {
		return map[string]string{"{1} of {2}": "{2} sein {1}", "pins": "Stifte"}[words]
	}
	german := func(words string) string {
		if s := backwards(words); s != "" {
			return s
		}
		return words
	}
	for _, row := range []struct {
		name         string
		phrase       phrase.Phrase
		english, odd string
	}{
		{"nothing", phrase.Phrase{}, "", ""},
		{"without values", phrase.Of("pins"), "pins", "Stifte"},
		{"braces without values", phrase.Of("a {1} b"), "a {1} b", "a {1} b"},
		{"values change places", phrase.Of("{1} of {2}", 3, "x"), "3 of x", "x sein 3"},
		{"a phrase within", phrase.Of("{1} of {2}", phrase.Of("pins"), 4), "pins of 4", "4 sein Stifte"},
		{"a value is not searched", phrase.Of("{1} of {2}", "{2}", "{1}"), "{2} of {1}", "{1} sein {2}"},
		{"a place without a value", phrase.Of("{1} {2} {x} {", "a"), "a {2} {x} {", "a {2} {x} {"},
		{"a name", phrase.Text("pins"), "pins", "pins"},
		{"one of a pair", phrase.Plural(1, phrase.Of("a pin"), phrase.Of("{1} pins", 1)), "a pin", "a pin"},
		{"many of a pair", phrase.Plural(0, phrase.Of("a pin"), phrase.Of("{1} pins", 0)), "0 pins", "0 pins"},
		{"what JSON escapes", phrase.Of("<{1}> & \"{2}\"", 1, "\n"), "<1> & \"\n\"", "<1> & \"\n\""},
		{"joined", phrase.Join(", ", phrase.Of("pins"), phrase.Text("pins")), "pins, pins", "Stifte, pins"},
	} {
		t.Run(row.name, func(t *testing.T) {
			if got := row.phrase.String(); got != row.english {
				t.Errorf("in English %q, want %q", got, row.english)
			}
			if got := row.phrase.In(german); got != row.odd {
				t.Errorf("in the other language %q, want %q", got, row.odd)
			}
			if row.phrase.Empty() != (row.english == "") {
				t.Errorf("empty is %v", row.phrase.Empty())
			}
			data, err := json.Marshal(row.phrase)
			if err != nil {
				t.Fatal(err)
			}
			if plain, _ := json.Marshal(row.english); !bytes.Equal(data, plain) {
				t.Errorf("it is written as %s, the text as %s", data, plain)
			}
			var back phrase.Phrase
			if err := json.Unmarshal(data, &back); err != nil || back.String() != row.english {
				t.Errorf("%s came back as %q, %v", data, back, err)
			}
		})
	}
}
