package project_test

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"
	"time"

	"pinwright/arrange/tune"
	"pinwright/pinmap/project"
)

func TestTry(t *testing.T) {
	files, _ := filepath.Glob("/usr/share/games/simutrans/music/" + os.Getenv("T") + "*.mid")
	for _, f := range files {
		data, _ := os.ReadFile(f)
		start := time.Now()
		tn, err := tune.Read(data, tune.DefaultLimits)
		if err != nil {
			t.Errorf("%s: %v", f, err)
			continue
		}
		read := time.Since(start)
		start = time.Now()
		_, err = project.Derive(context.Background(), tn, project.DefaultSetup(), nil, project.Options{})
		if err != nil {
			t.Errorf("%s: %v", f, err)
			continue
		}
		plain := time.Since(start)
		start = time.Now()
		r, err := project.Derive(context.Background(), tn, project.DefaultSetup(), nil, project.Options{Remedies: true})
		n := 0
		for _, x := range r.Findings {
			n += len(x.Remedies)
		}
		t.Logf("%-40s read %v derive %v remedies %v notes %d plucked %d findings %d remedies %d proven %v x %d obj %v/%v clear %v", filepath.Base(f), read.Round(time.Millisecond), plain.Round(time.Millisecond), time.Since(start).Round(time.Millisecond), len(r.Tune.Notes), len(r.Arrangement.Plucks), len(r.Findings), n, r.Arrangement.Proven, r.Arrangement.Transpose, r.Arrangement.Objective, r.Arrangement.TotalValue, r.ClearToDrill)
		out, _ := json.Marshal(r)
		os.WriteFile("/tmp/pw/try/"+filepath.Base(f)+".json", out, 0o644)
	}
}
