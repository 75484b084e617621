package web

import (
	"encoding/json"
	"errors"
	"net/url"
	"testing"
)

func TestDecisionFromForm(t *testing.T) {
	for _, test := range []struct{ name, form, want string }{
		{"a remedy", "revision=3&decision=" + url.QueryEscape(`{"kind":"octave","note":"n12","octaves":1}`), `{"kind":"octave","note":"n12","octaves":1}`},
		{"undo", "decision=" + url.QueryEscape(`{"kind":"undo"}`), `{"kind":"undo"}`},
		{"an octave down", "note=n3&do=octave:-1", `{"kind":"octave","note":"n3","octaves":-1}`},
		{"back on its pitch", "note=n3&do=octave:0", `{"kind":"octave","note":"n3","octaves":0}`},
		{"left out", "note=n3&do=leave-out", `{"kind":"leave-out","note":"n3"}`},
		{"released", "note=n3&do=release", `{"kind":"release","note":"n3"}`},
		{"placed", "note=n3&do=place&tooth=+9", `{"kind":"place","note":"n3","tooth":9}`},
		{"earlier", "note=n3&do=shift&ms=-12.5", `{"kind":"shift","note":"n3","ms":-12.5}`},
		{"a field of the setup", "cylinder.diameterMm=14", `{"kind":"setup","setup":{"cylinder":{"diameterMm":14}}}`},
	} {
		t.Run(test.name, func(t *testing.T) {
			d, err := DecisionFromForm(parse(t, test.form), sample())
			if err != nil {
				t.Fatal(err)
			}
			got, err := json.Marshal(d)
			if err != nil {
				t.Fatal(err)
			}
			if string(got) != test.want {
				t.Errorf("got %s, want %s", got, test.want)
			}
		})
	}
}

func TestDecisionFromFormRefuses(t *testing.T) {
	for _, test := range []struct{ name, form, field string }{
		{"an empty decision", "decision=", "decision"},
		{"a decision of no kind", "decision={}", "decision"},
		{"a decision that is no JSON", "decision=undo", "decision"},
		{"a decision with something after it", "decision=" + url.QueryEscape(`{"kind":"undo"}{}`), "decision"},
		{"a decision with an unknown field", "decision=" + url.QueryEscape(`{"kind":"undo","by":"me"}`), "decision"},
		{"a note without a name", "note=+&do=release", "note"},
		{"a note without a change", "note=n3", "do"},
		{"an unknown change", "note=n3&do=sing", "do"},
		{"half an octave", "note=n3&do=octave:0.5", "do"},
		{"no tooth", "note=n3&do=place&tooth=", "tooth"},
		{"tooth 0", "note=n3&do=place&tooth=0", "tooth"},
		{"no time", "note=n3&do=shift&ms=", "ms"},
		{"a setup that changes nothing", "comb.teeth=18", ""},
		{"an empty form", "", ""},
		{"a field of the setup", "comb.teeth=many", "comb.teeth"},
	} {
		t.Run(test.name, func(t *testing.T) {
			_, err := DecisionFromForm(parse(t, test.form), sample())
			var field *FieldError
			if !errors.As(err, &field) {
				t.Fatalf("got %v, want a FieldError", err)
			}
			if field.Field != test.field || field.Message == "" {
				t.Errorf("got %q: %q; want %q", field.Field, field.Message, test.field)
			}
		})
	}
}

func FuzzDecisionFromForm(f *testing.F) {
	for _, seed := range []string{"decision={}", "note=n3&do=octave:1", "comb.pitches=C5&drive.stages=1+2", "part.t1c1=off&excerpt.fromBar=1"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, form string) {
		values, err := url.ParseQuery(form)
		if err != nil {
			return
		}
		d, err := DecisionFromForm(values, sample())
		if err == nil && d.Kind == "" {
			t.Errorf("%q gives neither a decision nor an error", form)
		}
	})
}
