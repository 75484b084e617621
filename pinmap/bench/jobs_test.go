package bench

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"pinwright/arrange"
	"pinwright/arrange/tune"
	"pinwright/fixtures"
	"pinwright/pinmap/project"
)

// judged says that an outside reader is needed: without it the test is skipped, and fails in CI.
func judged(t testing.TB, what string, tools ...string) {
	t.Helper()
	for _, tool := range tools {
		if _, err := exec.LookPath(tool); err != nil {
			if os.Getenv("CI") == "true" {
				t.Fatalf("%s needs %s: %v", what, tool, err)
			}
			t.Skipf("SKIPPED: %s: %s is not installed (%v)", what, tool, err)
		}
	}
}

// demoJob is the demo as it is opened.
func demoJob(t testing.TB) Job {
	t.Helper()
	var decisions []json.RawMessage
	if err := json.Unmarshal(fixtures.DemoDecisions, &decisions); err != nil {
		t.Fatal(err)
	}
	return jobOf(t, fixtures.DemoName, fixtures.DemoTune, fixtures.DemoSetup, decisions...)
}

// realJobs are the demo and ten real tunes of Debian's simutrans-data, on default cylinders.
func realJobs(t testing.TB) map[string]Job {
	t.Helper()
	jobs := map[string]Job{"demo": demoJob(t)}
	files, err := filepath.Glob("/usr/share/games/simutrans/music/*.mid")
	if err != nil {
		t.Fatal(err)
	}
	if len(files) < 10 {
		if os.Getenv("CI") == "true" {
			t.Fatal("the ten real tunes need Debian's simutrans-data")
		}
		t.Log("SKIPPED: Debian's simutrans-data is not installed, so only the demo is read back")
		return jobs
	}
	for i := range 10 {
		file := files[i*len(files)/10]
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		jobs[filepath.Base(file)] = jobOf(t, filepath.Base(file), data, nil)
	}
	return jobs
}

// jobOf derives what follows from a tune, a setup and decisions.
func jobOf(t testing.TB, name string, file, setup []byte, decisions ...json.RawMessage) Job {
	t.Helper()
	read, err := tune.Read(file, tune.DefaultLimits)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	j := Job{Tune: file, FileName: name, Log: []arrange.Decision{}}
	if j.Setup, err = project.ParseSetup(setup); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	for _, line := range decisions {
		d, err := project.ParseDecision(line)
		if err == nil {
			d, err = project.Accept(context.Background(), read, j.Setup, j.Log, d)
		}
		if err != nil {
			t.Fatalf("%s: %s: %v", name, line, err)
		}
		j.Log = append(j.Log, d)
	}
	if j.Result, err = project.NewSession(read, j.Setup).Derive(context.Background(), j.Log, project.Options{}); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	j.Revision = len(j.Log)
	return j
}

// made gives the bytes of a file.
func made(t testing.TB, name string, j Job) []byte {
	t.Helper()
	m, ok := File(name)
	if !ok {
		t.Fatalf("there is no file %s", name)
	}
	var b bytes.Buffer
	if err := m.Write(&b, j); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return b.Bytes()
}

func TestRealJobs(t *testing.T) {
	for name, j := range realJobs(t) {
		if len(j.Result.Pins) < 10 {
			t.Errorf("%s has %d pins", name, len(j.Result.Pins))
		}
	}
}
