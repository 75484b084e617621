package tune_test

import (
	"bytes"
	"cmp"
	_ "embed"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"
)

//go:embed testdata/mido_notes.py
var midoNotes string

// python gives an interpreter that has the independent reader python3-mido; Debian's own is tried after the first on the path.
func python() string {
	for _, name := range []string{"python3", "/usr/bin/python3"} {
		if exec.Command(name, "-c", "import mido").Run() == nil {
			return name
		}
	}
	return ""
}

// Debian's simutrans-data holds 53 real files; python3-mido reads them independently: the same notes, onsets and ends within 1 ms.
func TestAgreesWithMido(t *testing.T) {
	files, _ := filepath.Glob("/usr/share/games/simutrans/music/*.mid")
	interpreter := python()
	if len(files) == 0 || interpreter == "" {
		const missing = "the cross-check of real files needs the Debian packages simutrans-data and python3-mido"
		if os.Getenv("CI") == "true" {
			t.Fatal(missing)
		}
		t.Skip(missing)
	}
	if len(files) < 53 {
		t.Errorf("%d files, want 53", len(files))
	}
	cmd := exec.Command(interpreter, append([]string{"-c", midoNotes}, files...)...)
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	type note struct {
		Track, Channel, Pitch, Velocity int
		Onset, End                      float64 // ms
	}
	order := func(a, b note) int {
		return cmp.Or(cmp.Compare(a.Track, b.Track), cmp.Compare(a.Channel, b.Channel), cmp.Compare(a.Pitch, b.Pitch),
			cmp.Compare(a.Onset, b.Onset), cmp.Compare(a.End, b.End), cmp.Compare(a.Velocity, b.Velocity))
	}
	results := json.NewDecoder(bytes.NewReader(out))
	total, worst := 0, 0.0
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			var want []note
			if err := results.Decode(&want); err != nil {
				t.Fatal(err)
			}
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			got := mustRead(t, data)
			check(t, got)
			var have []note
			for _, n := range got.Notes {
				p := got.Parts[n.Part]
				have = append(have, note{p.Track, p.Channel, int(n.Pitch), int(n.Velocity), float64(n.OnsetMs), float64(n.EndMs)})
			}
			slices.SortFunc(have, order)
			slices.SortFunc(want, order)
			if len(have) != len(want) {
				t.Fatalf("%d notes, mido %d", len(have), len(want))
			}
			for i, h := range have {
				w := want[i]
				d := max(math.Abs(h.Onset-w.Onset), math.Abs(h.End-w.End))
				worst = max(worst, d)
				if h.Onset, h.End = w.Onset, w.End; d > 1 || h != w {
					t.Fatalf("note %+v, mido %+v", have[i], w)
				}
			}
			total += len(have)
		})
	}
	t.Logf("%d files, %d notes, worst difference %.2g ms", len(files), total, worst)
}
