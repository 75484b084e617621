package web

import (
	"encoding/json"
	"errors"
	"net/url"
	"strings"
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
		{"added", "revision=0&pitch=eb5&bar=3&beat=2.5&do=add", `{"kind":"add","pitch":"D#5","bar":3,"beat":2.5}`},
		{"moved", "note=a1&bar=0&beat=1&pitch=C5&do=move", `{"kind":"move","note":"a1","pitch":"C5","bar":0,"beat":1}`},
		{"moved to a beat", "note=n3&bar=&beat=+2&pitch=&do=move", `{"kind":"move","note":"n3","beat":2}`},
		{"taken out", "note=n3&bar=1&beat=1&pitch=C5&do=remove", `{"kind":"remove","note":"n3"}`},
		{"taken out with what is merged into it", "note=n3&note=n4&do=remove", `{"kind":"several","decisions":[{"kind":"remove","note":"n3"},{"kind":"remove","note":"n4"}]}`},
		{"moved with what is merged into it", "note=n3&note=a2&bar=2&do=move", `{"kind":"several","decisions":[{"kind":"move","note":"n3","bar":2},{"kind":"move","note":"a2","bar":2}]}`},
		{"left out with what is merged into it", "note=n3&note=n4&do=leave-out", `{"kind":"leave-out","note":"n3"}`},
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
	l := markedBetween(t)
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
		{"a note added without pitch", "pitch=&bar=1&beat=1&do=add", "pitch"},
		{"a note added at no bar", "pitch=C5&bar=&beat=1&do=add", "bar"},
		{"a note added at no beat", "pitch=C5&bar=1&beat=&do=add", "beat"},
		{"a note added in half a bar", "pitch=C5&bar=1.5&beat=1&do=add", "bar"},
		{"a move nowhere", "note=n3&bar=&beat=&pitch=&do=move", "bar"},
		{"a move to no pitch", "note=n3&pitch=H5&do=move", "pitch"},
		{"a move to a beat in words", "note=n3&beat=two&do=move", "beat"},
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
			if field.Field != test.field || field.Message.Empty() {
				t.Errorf("got %q: %q; want %q", field.Field, field.Message, test.field)
			}
			if said := (Shown{language: &l}).Say(field.Message); word.MatchString(strings.ReplaceAll(unsaid(said), `"many"`, "")) {
				t.Errorf("%q is partly in English", said)
			}
		})
	}
}

func FuzzDecisionFromForm(f *testing.F) {
	for _, seed := range []string{"decision={}", "note=n3&do=octave:1", "pitch=C5&bar=3&beat=2.5&do=add", "note=n3&note=n4&beat=2&do=move", "comb.pitches=C5&drive.stages=1+2", "part.t1c1=off&excerpt.fromBar=1"} {
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
