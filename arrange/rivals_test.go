package arrange_test

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"
)

// rival is a general solver of integer programmes, which judges the arranger and is timed beside it.
type rival struct {
	name, command, debian string
	arguments             []string // "model" and "answer" stand for the files
	// read gives the greatest value of each programme from the answer to them together; NaN where they have no solution.
	read func(answer []byte, programmes []*programme) ([]float64, error)
}

var glpk = rival{"GLPK", "glpsol", "glpk-utils", []string{"--lp", "model", "-w", "answer"}, readGLPK}
var cbc = rival{"CBC", "cbc", "coinor-cbc", []string{"model", "-solve", "-solution", "answer", "-quit"}, readCBC}

var glpkStatus = regexp.MustCompile(`(?m)^s mip \d+ \d+ (.) `)
var glpkColumn = regexp.MustCompile(`(?m)^j \d+ (\S+)$`)

// readGLPK reads what glpsol -w writes: the value of each variable, numbered from 1 as the programme first names them.
func readGLPK(answer []byte, programmes []*programme) ([]float64, error) {
	values := make([]float64, len(programmes))
	switch status := glpkStatus.FindSubmatch(answer); {
	case status == nil:
		return nil, errors.New("no status")
	case string(status[1]) == "n" || string(status[1]) == "u": // shown to have no solution, by the search or before it
		return none(values), nil
	case string(status[1]) != "o":
		return nil, errors.New("no optimum")
	}
	columns := glpkColumn.FindAllSubmatch(answer, -1)
	for i, g := range programmes {
		if len(columns) < len(g.order) {
			return nil, errors.New("too few variables")
		}
		for j, worth := range g.order {
			if string(columns[j][1]) == "1" {
				values[i] += worth
			}
		}
		columns = columns[len(g.order):]
	}
	return values, nil
}

// none is the answer where there is no solution.
func none(values []float64) []float64 {
	for i := range values {
		values[i] = math.NaN()
	}
	return values
}

// readCBC reads the value of each variable that is not 0.
func readCBC(answer []byte, programmes []*programme) ([]float64, error) {
	values := make([]float64, len(programmes))
	status, rest, _ := strings.Cut(string(answer), "\n")
	if strings.HasPrefix(status, "Infeasible") || strings.HasPrefix(status, "Integer infeasible") {
		return none(values), nil
	}
	if !strings.HasPrefix(status, "Optimal - ") {
		return nil, errors.New("no optimum")
	}
	for line := range strings.Lines(rest) {
		fields := strings.Fields(line)
		if len(fields) < 3 {
			return nil, fmt.Errorf("%q", line)
		}
		amount, err := strconv.ParseFloat(fields[2], 64)
		if err != nil {
			return nil, err
		}
		for i, g := range programmes {
			values[i] += g.worth[fields[1]] * math.Round(amount)
		}
	}
	return values, nil
}

// need skips the test where the solver is not installed; with CI set that is a failure.
func (r rival) need(t testing.TB) {
	t.Helper()
	if _, err := exec.LookPath(r.command); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("%s (Debian %s) is not installed", r.command, r.debian)
		}
		t.Skipf("SKIPPED: %s (Debian %s) is not installed, so %s does not judge the arranger", r.command, r.debian, r.name)
	}
}

// solve gives the greatest value of each programme, NaN where they have no solution together, and what the process took of the processor.
func (r rival) solve(t testing.TB, programmes ...*programme) (values []float64, took time.Duration) {
	t.Helper()
	dir := t.TempDir()
	model, answer := filepath.Join(dir, "model.lp"), filepath.Join(dir, "answer")
	if err := os.WriteFile(model, text(programmes...), 0o600); err != nil {
		t.Fatal(err)
	}
	var arguments []string
	for _, a := range r.arguments {
		arguments = append(arguments, strings.NewReplacer("model", model, "answer", answer).Replace(a))
	}
	process := exec.Command(r.command, arguments...)
	log, err := process.CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", r.command, err, log)
	}
	written, err := os.ReadFile(answer)
	if err != nil {
		t.Fatalf("%s: %v\n%s", r.command, err, log)
	}
	values, err = r.read(written, programmes)
	if err != nil {
		t.Fatalf("%s: %v\n%.600s\n%s", r.command, err, bytes.TrimSpace(written), log)
	}
	return values, process.ProcessState.UserTime() + process.ProcessState.SystemTime()
}
