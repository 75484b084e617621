package project_test

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"pinwright/arrange/tune"
	"pinwright/pinmap/project"
)

func TestTryPlain(t *testing.T) {
	files, _ := filepath.Glob("/usr/share/games/simutrans/music/" + os.Getenv("T") + "*.mid")
	for _, f := range files {
		data, _ := os.ReadFile(f)
		tn, err := tune.Read(data, tune.DefaultLimits)
		if err != nil {
			t.Errorf("%s: %v", f, err)
			continue
		}
		start := time.Now()
		r, err := project.Derive(context.Background(), tn, project.DefaultSetup(), nil, project.Options{})
		if err != nil {
			t.Errorf("%s: %v", f, err)
			continue
		}
		t.Logf("%-40s derive %v notes %d plucked %d findings %d proven %v x %d obj %v/%v clear %v", filepath.Base(f), time.Since(start).Round(time.Millisecond), len(r.Tune.Notes), len(r.Arrangement.Plucks), len(r.Findings), r.Arrangement.Proven, r.Arrangement.Transpose, r.Arrangement.Objective, r.Arrangement.TotalValue, r.ClearToDrill)
	}
}
