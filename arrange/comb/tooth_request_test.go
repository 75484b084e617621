package comb

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"
)

var goodTeeth = map[string]string{
	"plain":            `{"lengthMm": 18, "widthMm": 0.9, "thicknessMm": 0.6}`,
	"weight null":      `{"lengthMm": 18, "widthMm": 0.9, "thicknessMm": 0.6, "weight": null, "root": "block"}`,
	"weighted":         `{"lengthMm": 18, "widthMm": 0.9, "thicknessMm": 0.6, "weight": {"lengthMm": 5, "widthMm": 0.9, "thicknessMm": 1.5}}`,
	"target":           `{"lengthMm": 18, "widthMm": 0.9, "thicknessMm": 0.6, "weight": {"lengthMm": 5, "widthMm": 0.9}, "targetHz": 880}`,
	"target and given": `{"lengthMm": 18, "widthMm": 0.9, "thicknessMm": 0.6, "weight": {"lengthMm": 5, "widthMm": 0.9, "thicknessMm": 1}, "targetHz": 880}`,
	"all": `{"steel": {"modulusGPa": 200, "densityKgM3": 7800}, "lengthMm": 18, "widthMm": 0.9, "thicknessMm": 0.6, "root": "rigid",
		"weight": {"lengthMm": 5, "widthMm": 0.9, "thicknessMm": 1.5, "modulusGPa": 40, "densityKgM3": 7300}}`,
	"squat":                   `{"lengthMm": 3, "widthMm": 1, "thicknessMm": 1, "weight": {"lengthMm": 2.7, "widthMm": 3, "thicknessMm": 10}}`,
	"long with a thin weight": `{"lengthMm": 200, "widthMm": 0.05, "thicknessMm": 0.05, "weight": {"lengthMm": 180, "widthMm": 0.15, "thicknessMm": 0.4}}`,
	"weight all onset":        `{"lengthMm": 18, "widthMm": 0.9, "thicknessMm": 0.6, "weight": {"lengthMm": 0.5, "widthMm": 0.9, "thicknessMm": 5}}`,
}

var badTeeth = map[string]struct{ data, pointer, words string }{
	"empty":                {``, "", "not readable JSON"},
	"not an object":        {`7`, "", "cannot stand here"},
	"cut off":              {`{"lengthMm": 18`, "", "not readable JSON"},
	"twice":                {`{"lengthMm": 18, "lengthMm": 18}`, "/lengthMm", "duplicate"},
	"nothing given":        {`{}`, "/lengthMm", "between 1 and 200 mm"},
	"unknown":              {`{"lenghtMm": 18}`, "/lenghtMm", `"lenghtMm" is not a field`},
	"unknown in weight":    {`{"lengthMm": 18, "weight": {"massMg": 3}}`, "/weight/massMg", `"massMg" is not a field`},
	"unknown in steel":     {`{"steel": {"poisson": 0.3}}`, "/steel/poisson", "not a field"},
	"text for a number":    {`{"lengthMm": "18"}`, "/lengthMm", "string cannot stand here"},
	"number for a root":    {`{"root": 1}`, "/root", "number cannot stand here"},
	"too big for a figure": {`{"lengthMm": 1e999}`, "/lengthMm", "cannot stand here"},
	"too long":             {`{"lengthMm": 201, "widthMm": 0.9, "thicknessMm": 0.6}`, "/lengthMm", "201"},
	"negative":             {`{"lengthMm": 18, "widthMm": -0.9, "thicknessMm": 0.6}`, "/widthMm", "-0.9"},
	"stout":                {`{"lengthMm": 6, "widthMm": 0.9, "thicknessMm": 2.5}`, "/thicknessMm", "between 0.05 and 2 mm for a tooth of this length"},
	"soft steel":           {`{"steel": {"modulusGPa": 0.5}, "lengthMm": 18, "widthMm": 0.9, "thicknessMm": 0.6}`, "/steel/modulusGPa", "GPa"},
	"steel null":           {`{"steel": null, "lengthMm": 18, "widthMm": 0.9, "thicknessMm": 0.6}`, "/steel/modulusGPa", "GPa"},
	"light steel":          {`{"steel": {"densityKgM3": 5}, "lengthMm": 18, "widthMm": 0.9, "thicknessMm": 0.6}`, "/steel/densityKgM3", "kg/m³"},
	"root":                 {`{"lengthMm": 18, "widthMm": 0.9, "thicknessMm": 0.6, "root": "soft"}`, "/root", `"rigid"`},
	"weight too long":      {`{"lengthMm": 18, "widthMm": 0.9, "thicknessMm": 0.6, "weight": {"lengthMm": 18, "widthMm": 0.9, "thicknessMm": 1}}`, "/weight/lengthMm", "16.2"},
	"weight too wide":      {`{"lengthMm": 18, "widthMm": 0.9, "thicknessMm": 0.6, "weight": {"lengthMm": 5, "widthMm": 3, "thicknessMm": 1}}`, "/weight/widthMm", "2.7"},
	"weight too thin":      {`{"lengthMm": 18, "widthMm": 0.9, "thicknessMm": 0.6, "weight": {"lengthMm": 5, "widthMm": 0.9, "thicknessMm": 0}}`, "/weight/thicknessMm", "0.01"},
	"weight a foil":        {`{"lengthMm": 30, "widthMm": 0.9, "thicknessMm": 0.6, "weight": {"lengthMm": 10, "widthMm": 0.9, "thicknessMm": 0.015}}`, "/weight/thicknessMm", "between 0.02 and 10 mm for a weight of this length"},
	"weight of nothing":    {`{"lengthMm": 18, "widthMm": 0.9, "thicknessMm": 0.6, "weight": {"lengthMm": 5, "widthMm": 0.9, "thicknessMm": 1, "densityKgM3": 0}}`, "/weight/densityKgM3", "500"},
	"no thickness":         {`{"lengthMm": 18, "widthMm": 0.9, "thicknessMm": 0.6, "weight": {"lengthMm": 5, "widthMm": 0.9}}`, "/weight/thicknessMm", "targetHz"},
	"target, no weight":    {`{"lengthMm": 18, "widthMm": 0.9, "thicknessMm": 0.6, "targetHz": 880}`, "/weight", "lengthMm and widthMm"},
	"target of nothing":    {`{"lengthMm": 18, "widthMm": 0.9, "thicknessMm": 0.6, "weight": {"lengthMm": 5, "widthMm": 0.9}, "targetHz": 0}`, "/targetHz", "Hz"},
}

func TestParseTooth(t *testing.T) {
	for name, data := range goodTeeth {
		t.Run(name, func(t *testing.T) {
			if _, err := ParseTooth([]byte(data)); err != nil {
				t.Error(err)
			}
		})
	}
	for name, row := range badTeeth {
		t.Run(name, func(t *testing.T) {
			_, err := ParseTooth([]byte(row.data))
			var field *FieldError
			if !errors.As(err, &field) {
				t.Fatalf("got %v, want a *FieldError", err)
			}
			if field.Pointer != row.pointer || !strings.Contains(field.Message.String(), row.words) {
				t.Errorf("got %q at %q, want %q at %q", field.Message, field.Pointer, row.words, row.pointer)
			}
		})
	}
}

func TestDefaults(t *testing.T) {
	q, err := ParseTooth([]byte(goodTeeth["weighted"]))
	if err != nil {
		t.Fatal(err)
	}
	if q.Steel != (Material{210, 7850}) || q.Weight.Material != (Material{16, 11340}) || q.Root != Rigid {
		t.Errorf("steel %v, weight %v, root %v", q.Steel, q.Weight.Material, q.Root)
	}
}

func FuzzTooth(f *testing.F) {
	for _, data := range goodTeeth {
		f.Add([]byte(data))
	}
	for _, row := range badTeeth {
		f.Add([]byte(row.data))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		q, err := ParseTooth(data)
		var a ToothAnswer
		if err == nil {
			a, err = Tooth(context.Background(), q)
		}
		var field *FieldError
		if err != nil && !errors.As(err, &field) {
			t.Fatalf("%T: %v", err, err)
		}
		if err != nil {
			return
		}
		last := 0.0
		for _, hertz := range a.PartialsHz {
			if !(float64(hertz) > last) || math.IsInf(float64(hertz), 0) {
				t.Fatalf("partials %v", a.PartialsHz)
			}
			last = float64(hertz)
		}
		for _, v := range []float64{a.WeightMg, a.CentsPerMg} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("answer %+v", a)
			}
		}
	})
}
