package bench

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange/unit"
	"pinwright/pinmap"
	"pinwright/pinmap/project"
)

// hostile are texts that would end a comment early, begin another or a message, stop a controller, or break a line of a file.
var hostile = []string{
	")", "(", "x) G0 Z-20 (", "x\nG0 Z-20", "x\r\nM3 S9999\r\n(", "0", "\n  0\nEOF\n", "a\x00b", "x ; M30", "%", "%%", "%%u%%177%%%", "MSG, go on", ") (MSG, go on",
	"LOGOPEN,out.txt", "DEBUG,#5410", "!", "~?", "^J^M^ ^", `\U+0029 \P {\fArial;x}`, "Glöckchen, naïve: ☃ 日本語 🎵", "\u202etxt.exe", "\xff\xfe", "", strings.Repeat("long ", 2000),
	strings.Repeat("é", 500), strings.Repeat(")", 300), strings.Repeat("%", 300),
}

// word is a letter with its number.
type word struct {
	letter byte
	value  float64
}

// blocks reads a program strictly: comments stand alone on their lines, and all else is words with a space between.
func blocks(t fataler, program []byte) (blocks [][]word, comments []string) {
	t.Helper()
	comment, block := regexp.MustCompile(`^\([A-Za-z0-9 .,:+\-=/'&#_]*\)$`), regexp.MustCompile(`^[A-Z]-?[0-9]+(\.[0-9]+)?( [A-Z]-?[0-9]+(\.[0-9]+)?)*$`)
	text, ended := strings.CutSuffix(string(program), "\nM30\n")
	if !ended {
		t.Fatalf("the program does not end with M30")
	}
	for n, line := range strings.Split(text, "\n") {
		switch {
		case len(line) > 80:
			t.Fatalf("line %d has %d characters: %q", n+1, len(line), line)
		case comment.MatchString(line):
			comments = append(comments, line[1:len(line)-1])
		case block.MatchString(line):
			var words []word
			for _, w := range strings.Fields(line) {
				v, err := strconv.ParseFloat(w[1:], 64)
				if err != nil {
					t.Fatalf("line %d: %v", n+1, err)
				}
				words = append(words, word{w[0], v})
			}
			blocks = append(blocks, words)
		default:
			t.Fatalf("line %d is neither a comment nor words: %q", n+1, line)
		}
	}
	return blocks, comments
}

// TestPrograms reads both programs by the rules of the language and follows the machine.
func TestPrograms(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyResult(t)
		r.Setup.Bench = anyBench(t)
		r.Cylinder.HoleDepthMm = unit.Millimetres(rapid.Float64Range(0.05, 1.49).Draw(t, "holeDepthMm"))
		r.Title = rapid.OneOf(rapid.String(), rapid.SampledFrom(hostile)).Draw(t, "title")
		r.Setup.Date = rapid.SampledFrom(hostile).Draw(t, "date")
		r.Comb.Teeth[0].Note = rapid.SampledFrom(hostile).Draw(t, "note")
		j := Job{Result: r, FileName: rapid.SampledFrom(hostile).Draw(t, "file"), Revision: 3}
		wet, dry := programOf(t, drillNGC, j), programOf(t, drillDryNGC, j)
		checkProgram(t, r, wet, false)
		checkProgram(t, r, dry, true)

		// The hand turns the words, never the numbers.
		moves, _ := blocks(t, wet)
		r.Cylinder.BassEnd, r.Cylinder.Turns = pinmap.Right, pinmap.Down
		if r.Cylinder.AxialRunsUp() {
			r.Cylinder.Turns = pinmap.Up
		}
		if other, _ := blocks(t, programOf(t, drillNGC, j)); fmt.Sprint(other) != fmt.Sprint(moves) {
			t.Fatalf("another hand gives other moves")
		}
	})
}

func programOf(t fataler, write func(io.Writer, Job) error, j Job) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := write(&b, j); err != nil {
		t.Fatalf("%v", err)
	}
	return b.Bytes()
}

func checkProgram(t *rapid.T, r *project.Result, program []byte, dry bool) {
	read, comments := blocks(t, program)
	for _, c := range comments {
		first, _, _ := strings.Cut(strings.TrimSpace(c), ",")
		switch strings.ToUpper(first) {
		case "MSG", "DEBUG", "PRINT", "LOG", "LOGOPEN", "LOGAPPEND", "LOGCLOSE", "PROBEOPEN", "PROBECLOSE":
			if !strings.HasPrefix(c, "MSG, Dry run: check the zeros") && !strings.HasPrefix(c, "MSG, Check the drill") && !strings.HasPrefix(c, "MSG, All holes visited") &&
				!strings.HasPrefix(c, "MSG, NOT clear to drill: ") {
				t.Fatalf("a comment is an order: %q", c)
			}
		}
	}
	clear, depth := float64(r.Setup.Bench.ClearMm), float64(r.Cylinder.HoleDepthMm)
	lift := 0.0
	if dry {
		lift = clear + depth
	}
	var x, a, z float64
	var spinning, stopped, moved bool
	var indexed bool      // A was set by the block just before
	var known, below bool // where A is, and that it came there from below
	var drilled []int
	left := map[[2]float64][]int{} // pins by place, to a ten-thousandth
	for i, p := range r.Pins {
		at := [2]float64{round4(float64(p.AxialMm)), round4(float64(p.AngleDeg))}
		left[at] = append(left[at], i)
	}
	for n, b := range read {
		letters := ""
		value := map[byte]float64{}
		for _, w := range b {
			letters += string(w.letter)
			value[w.letter] = w.value
		}
		atClear := near(z, clear+lift, 1.01e-4)
		switch letters {
		case "GGGGGGGGG", "MM", "G", "GP":
			if letters == "G" && value['G'] != 80 {
				t.Fatalf("block %d is %v", n+1, b)
			}
			if letters == "MM" {
				spinning = false
			}
		case "M":
			if value['M'] != 0 {
				t.Fatalf("block %d is %v", n+1, b)
			}
			stopped = true
		case "SM":
			if value['M'] != 3 || value['S'] > float64(r.Setup.Bench.MostRpm) {
				t.Fatalf("block %d is %v", n+1, b)
			}
			spinning = true
		case "GZ":
			z, moved = value['Z'], true
		case "GY", "GX", "GA":
			if value['G'] != 0 || !atClear || !moved {
				t.Fatalf("block %d moves %v at the height %v", n+1, b, z)
			}
			if v, ok := value['A']; ok {
				below = known && (v > a || v == a && below)
				a, known = v, true
				if v < -approachDeg || v > 360 {
					t.Fatalf("block %d turns to %v", n+1, v)
				}
			}
			if v, ok := value['X']; ok {
				x = v
			}
		default:
			if want := map[bool]string{true: "GGXZRQF", false: "GGXZRF"}[value['G'] == 83]; letters != want || value['G'] != 83 && value['G'] != 81 {
				t.Fatalf("block %d is %v", n+1, b)
			}
			if value['G'] == 83 && !(value['Q'] > 0) || !(value['F'] > 0) || value['R'] < value['Z'] || value['R'] > z {
				t.Fatalf("block %d cannot be run: %v", n+1, b)
			}
			if !indexed || !below || !atClear || !stopped || spinning == dry {
				t.Fatalf("block %d: before the cycle A was set: %v, from below: %v, at clear height: %v, the operator asked: %v, the spindle on: %v", n+1, indexed, below, atClear, stopped, spinning)
			}
			if !near(value['Z'], lift-depth, 1.01e-4) || value['X'] != x || dry && value['Z'] < clear-1e-4 {
				t.Fatalf("block %d drills %v at X %v", n+1, b, x)
			}
			at := [2]float64{x, a}
			if len(left[at]) == 0 {
				t.Fatalf("block %d drills at %v, where no hole is left", n+1, at)
			}
			drilled = append(drilled, left[at][0])
			left[at] = left[at][1:]
		}
		indexed = letters == "GA"
	}
	if len(drilled) != len(r.Pins) || spinning {
		t.Fatalf("%d of %d holes were drilled; the spindle still turns: %v", len(drilled), len(r.Pins), spinning)
	}
	for i := 1; i < len(drilled); i++ {
		before, pin := r.Pins[drilled[i-1]], r.Pins[drilled[i]]
		if pin.Tooth < before.Tooth || pin.Tooth == before.Tooth && round4(float64(pin.AngleDeg)) < round4(float64(before.AngleDeg)) {
			t.Fatalf("pin %d on track %d is drilled after pin %d on track %d", pin.Pin, pin.Tooth, before.Pin, before.Tooth)
		}
	}
}

func round4(v float64) float64 { return math.Round(v*1e4) / 1e4 }

// ran is what the interpreter of LinuxCNC did of a program.
type ran struct {
	holes    []place // in the order in which they were visited, at their deepest
	lowest   float64
	atTheEnd place
	messages []string
	stops    int
	turned   bool // the spindle was started
	ended    bool
}

type place struct{ x, a, z float64 }

// interpret has LinuxCNC's interpreter run a program. A hole is where the drill feeds below the clear height, with all its pecks; the test fails where A or X
// moves before the drill is up again.
func interpret(t testing.TB, program []byte, clear float64) ran {
	t.Helper()
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "drill.ngc"), program, 0o600); err != nil {
		t.Fatal(err)
	}
	command := exec.Command("rs274", "-g", "drill.ngc")
	command.Dir = dir
	var complaints bytes.Buffer
	command.Stderr = &complaints
	out, err := command.Output()
	if err != nil {
		t.Fatalf("rs274: %v; %s", err, complaints.String())
	}
	call := regexp.MustCompile(`^ *[0-9]+ +N\S* +(\w+)\((.*)\)$`)
	r := ran{lowest: math.Inf(1)}
	var at place
	var hole *place // in which the drill is
	for _, line := range strings.Split(strings.TrimSpace(string(out)), "\n") {
		m := call.FindStringSubmatch(line)
		if m == nil {
			t.Fatalf("rs274 says %q", line)
		}
		switch m[1] {
		case "STRAIGHT_TRAVERSE", "STRAIGHT_FEED":
			var to place
			var y, b, c float64
			if _, err := fmt.Sscanf(strings.ReplaceAll(m[2], ",", ""), "%g %g %g %g %g %g", &to.x, &y, &to.z, &to.a, &b, &c); err != nil || y != 0 || b != 0 || c != 0 {
				t.Fatalf("rs274 moves to %s, %v", m[2], err)
			}
			if (to.a != at.a || to.x != at.x) && (!near(at.z, clear, 1.01e-4) || to.z != at.z) {
				t.Fatalf("A or X moves from %+v to %+v, where the clear height is %v", at, to, clear)
			}
			if m[1] == "STRAIGHT_FEED" {
				if hole == nil {
					r.holes = append(r.holes, to)
					hole = &r.holes[len(r.holes)-1]
				}
				hole.z = math.Min(hole.z, to.z)
			}
			if near(to.z, clear, 1.01e-4) {
				hole = nil
			}
			at, r.lowest = to, math.Min(r.lowest, to.z)
		case "START_SPINDLE_CLOCKWISE", "START_SPINDLE_COUNTERCLOCKWISE":
			r.turned = true
		case "PROGRAM_STOP":
			r.stops++
		case "MESSAGE":
			r.messages = append(r.messages, m[2])
		case "PROGRAM_END":
			r.ended, r.atTheEnd = true, at
		case "ARC_FEED", "PROBE", "CHANGE_TOOL", "SELECT_TOOL":
			t.Fatalf("rs274 is told %q", line)
		}
	}
	return r
}

// TestInterpreted has the interpreter of LinuxCNC run both programs of the demo, of ten real tunes, of a cylinder of 300 pins and of one with
// hostile texts: each hole is visited once, its place equals its pin's to 0.001 mm and 0.001 degrees.
func TestInterpreted(t *testing.T) {
	judged(t, "the drilling programs run", "rs274")
	jobs := realJobs(t)
	jobs["300 pins"] = Job{Result: result(compact(), 72, tuneful(72, 300, 18))}
	mirrored := compact()
	mirrored.BassEnd = pinmap.Right
	bad := result(mirrored, 18, tuneful(18, 18, 18))
	bad.Title, bad.Setup.Date, bad.Tune.Title = strings.Join(hostile, ""), hostile[2], hostile[3]
	for i := range bad.Comb.Teeth {
		bad.Comb.Teeth[i].Note = hostile[i]
	}
	jobs["hostile texts"] = Job{Result: bad, FileName: "MSG, " + hostile[2]}
	shallow := result(compact(), 6, tuneful(6, 20, 18))
	shallow.Setup.Bench.PeckMm = 2
	shallow.ClearToDrill = false
	jobs["no pecks, not clear"] = Job{Result: shallow}
	jobs["no pins"] = Job{Result: result(compact(), 6, nil)}
	for name, j := range jobs {
		t.Run(name, func(t *testing.T) {
			r := j.Result
			clear, depth := float64(r.Setup.Bench.ClearMm), float64(r.Cylinder.HoleDepthMm)
			messages := 2
			if !r.ClearToDrill {
				messages = 3
			}
			wet := interpret(t, programOf(t, drillNGC, j), clear)
			dry := interpret(t, programOf(t, drillDryNGC, j), clear+clear+depth)
			for _, program := range []struct {
				name   string
				ran    ran
				bottom float64
			}{{"drill.ngc", wet, -depth}, {"drill-dry.ngc", dry, clear}} {
				got := program.ran
				if !got.ended || got.stops != 1 || len(got.messages) != messages || got.turned != (program.name == "drill.ngc") {
					t.Errorf("%s: ended %v, stops %d, says %q, spindle started %v", program.name, got.ended, got.stops, got.messages, got.turned)
				}
				if len(got.holes) != len(r.Pins) {
					t.Fatalf("%s visits %d holes, want %d", program.name, len(got.holes), len(r.Pins))
				}
				for i, k := range byTrack(r) {
					pin, hole := r.Pins[k], got.holes[i]
					if !near(hole.x, float64(pin.AxialMm), 1e-3) || !near(hole.a, float64(pin.AngleDeg), 1e-3) || !near(hole.z, program.bottom, 1e-3) {
						t.Fatalf("%s: hole %d is at %+v, want %+v with its ground at %v", program.name, i+1, hole, pin, program.bottom)
					}
				}
				if got.atTheEnd.a != 0 || len(r.Pins) > 0 && !near(got.lowest, program.bottom, 1e-3) {
					t.Errorf("%s goes as low as %v and ends at %+v", program.name, got.lowest, got.atTheEnd)
				}
			}
		})
	}
}

func TestCommentText(t *testing.T) {
	for s, want := range map[string]string{
		"x) G0 Z-20 (": "x_ G0 Z-20 _", "Glöckchen; naïve": "Glockchen, naive", "C#5": "C#5", "stop! ~100 %?": "stop_ _100 __", "a\nb": "a b",
		strings.Repeat("ab", 38): strings.Repeat("ab", 38), strings.Repeat("ab", 39): strings.Repeat("ab", 37) + "..",
	} {
		if got := commentText(s); got != want {
			t.Errorf("commentText(%q) = %q, want %q", s, got, want)
		}
	}
}

func BenchmarkPrograms(b *testing.B) {
	big := compact()
	big.DiameterMm = 400
	for _, n := range []int{300, 5000, 20_000} {
		j := Job{Result: result(big, 144, tuneful(144, n, 18))}
		for _, file := range []string{"map.dxf", "drill.ngc", "drill-dry.ngc"} {
			maker, _ := File(file)
			b.Run(fmt.Sprintf("%s, %d pins", file, n), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					if err := maker.Write(io.Discard, j); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
