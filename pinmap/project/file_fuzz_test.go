package project_test

import (
	"bytes"
	"context"
	"testing"

	"pinwright/arrange/tune"
	"pinwright/pinmap/project"
)

// FuzzFile takes in project files of strangers: what is read is written again to bytes that are read as the same, and is derived without panic.
func FuzzFile(f *testing.F) {
	file := melody(played{0, c5}, played{1919, c5}, played{960, d5})
	for _, decisions := range [][]string{nil, {`{"kind": "shift", "note": "n1", "ms": -10}`, `{"kind": "leave-out", "note": "n9"}`},
		{`{"kind": "add", "pitch": "C5", "bar": 1, "beat": 2}`, `{"kind": "move", "note": "a1", "bar": 3}`, `{"kind": "remove", "note": "n7"}`},
		{`{"kind": "setup", "setup": {"excerpt": {"fromBar": 9, "toBar": 9}}}`}, {`{"kind": "place", "note": "n1", "pitch": "C9", "twin": 12}`}} {
		f.Add(project.Encode(project.File{FileName: "a.mid", Tune: file, Setup: project.DefaultSetup(), Decisions: decide(f, decisions...)}))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := project.Decode(data)
		if err != nil {
			return
		}
		written := project.Encode(p)
		if back, err := project.Decode(written); err != nil || !bytes.Equal(project.Encode(back), written) {
			t.Fatalf("%s is not read as it was written: %v", written, err)
		}
		limits := tune.DefaultLimits
		limits.Silent, limits.Bytes = true, 4<<10
		read, err := tune.Read(p.Tune, limits)
		if err != nil {
			return
		}
		ctx, cancel := context.WithTimeout(context.Background(), patience)
		defer cancel()
		r, err := project.Derive(ctx, read, p.Setup, p.Decisions, project.Options{})
		if err == nil && r == nil {
			t.Fatal("nothing was derived")
		}
	})
}
