package arrange_test

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"

	"pinwright/arrange"
	"pinwright/arrange/tune"
	"pinwright/arrange/unit"
)

// posed is a problem in one key with what the arranger makes of it.
type posed struct {
	name      string
	problem   *arrange.Problem
	programme *programme
	solution  *arrange.Solution
}

func pose(t testing.TB, name string, p *arrange.Problem) posed {
	t.Helper()
	s, err := arrange.NewExact().Solve(context.Background(), p)
	if err != nil {
		t.Fatal(err)
	}
	return posed{name, p, stated(strings.NewReplacer(" ", "_", "+", "", "-", "m").Replace(name)+"_", p), s}
}

// judge holds solutions to the greatest values that a solver finds, all of the programmes at once.
func (r rival) judge(t *testing.T, cases []posed) {
	t.Helper()
	programmes := make([]*programme, len(cases))
	for i, c := range cases {
		programmes[i] = c.programme
	}
	values, _ := r.solve(t, programmes...)
	for i, c := range cases {
		if !(math.Abs(c.solution.Objective-values[i]) <= 1e-6) {
			t.Errorf("%s: %v, %s found %v", c.name, c.solution.Objective, r.name, values[i])
		}
	}
}

// check holds a solution to being one: proven, and with plucks that the problem allows and that are worth what it says.
func (c posed) check(t *testing.T) {
	t.Helper()
	p, s := c.problem, c.solution
	if !s.Proven || s.Bound-s.Objective > 1e-6 {
		t.Errorf("%s: %v, bound %v, not proven", c.name, s.Objective, s.Bound)
	}
	teeth, fresh := map[unit.Pitch]int{}, 0
	for _, pitch := range s.Teeth {
		if teeth[pitch]++; teeth[pitch] > p.Comb.Fixed[pitch] {
			if fresh++; pitch < p.Comb.Low || pitch > p.Comb.High || teeth[pitch] > p.Comb.MaxTwins {
				t.Errorf("%s: tooth %d of %s cannot be cut", c.name, teeth[pitch], pitch)
			}
		}
	}
	if p.Comb.Fixed != nil && fresh > p.Comb.Retuned || (p.Comb.Fixed == nil || p.Comb.Retuned > 0) && len(s.Teeth) > p.Comb.Teeth {
		t.Errorf("%s: %d teeth, %d of them not given", c.name, len(s.Teeth), fresh)
	}
	value, plucked := 0.0, make([]*arrange.Placed, len(p.Notes))
	for i := range s.Plucks {
		a := &s.Plucks[i]
		n, lock := p.Notes[a.Note], p.Locks[a.Note]
		worth, ok := map[int]float64{0: 1, 1: .6, -1: .6, 2: .45, -2: .45}[a.Octaves]
		worth *= map[arrange.Role]float64{"lead": 10, "bass": 5, "fill": 3}[n.Role]
		value += worth
		if !ok || plucked[a.Note] != nil || lock.LeaveOut || a.Pitch != n.Pitch+unit.Pitch(s.Transpose+12*a.Octaves) ||
			s.Teeth[a.Tooth-1] != a.Pitch || a.TimeMs != n.OnsetMs+lock.ShiftMs || math.Abs(a.Value-worth) > 1e-9 {
			t.Errorf("%s: %+v is no pluck of %+v", c.name, a, n)
		}
		plucked[a.Note] = a
		for j := range i {
			b := &s.Plucks[j]
			if a.Tooth == b.Tooth && roundTheCircle(a.TimeMs, b.TimeMs, p.RevolutionMs) < float64(p.RepeatMs[a.Pitch])-0.01-1e-9 {
				t.Errorf("%s: %+v and %+v are too near", c.name, *a, *b)
			}
		}
	}
	for i, lock := range p.Locks {
		a := plucked[i]
		if a == nil && lock.Placed() || a != nil && (lock.Octaves != nil && a.Octaves != *lock.Octaves || lock.Pitch != nil && a.Pitch != *lock.Pitch ||
			lock.Placed() && lock.Twin > 0 && (a.Tooth < lock.Twin || s.Teeth[a.Tooth-lock.Twin] != a.Pitch || a.Tooth > lock.Twin && s.Teeth[a.Tooth-lock.Twin-1] == a.Pitch)) {
			t.Errorf("%s: note %d is not where it is locked", c.name, i)
		}
	}
	if math.Abs(value-s.Objective) > 1e-6 {
		t.Errorf("%s: the plucks are worth %v, not %v", c.name, value, s.Objective)
	}
}

// TestJudgeHardCases: on generated problems of every kind of hardness what the arranger finds is proven, allowed, and worth as much as
// GLPK finds, and CBC, which takes longer, for a quarter of them. Where the arranger cannot keep the locks, nothing can.
func TestJudgeHardCases(t *testing.T) {
	glpk.need(t)
	cbc.need(t)
	cases, together := 200, 8 // of each kind, and how many a solver is given at once
	if testing.Short() {
		cases = 2 * together
	}
	var all, both, contradictory atomic.Int32
	t.Run("kinds", func(t *testing.T) {
		for _, kind := range hardnesses {
			t.Run(kind.name, func(t *testing.T) {
				t.Parallel()
				var hard []posed
				for seed := uint64(0); len(hard) < cases; seed++ {
					if int(seed) == 2*cases {
						t.Fatal("too many locks contradict")
					}
					c := pose(t, fmt.Sprint("seed ", seed), kind.pose(seed))
					if len(c.solution.Unmet) == 0 {
						hard = append(hard, c)
						continue
					}
					contradictory.Add(1)
					if c.programme.impossible {
						continue
					}
					if values, _ := glpk.solve(t, c.programme); !math.IsNaN(values[0]) {
						t.Errorf("%s: locks %v unmet, GLPK found %v", c.name, c.solution.Unmet, values[0])
					}
				}
				for _, c := range hard {
					c.check(t)
				}
				for _, seed := range kind.found { // one by one, they are hard for all
					c := pose(t, fmt.Sprint("seed ", seed), kind.pose(seed))
					c.check(t)
					glpk.judge(t, []posed{c})
				}
				all.Add(int32(len(hard) + len(kind.found)))
				for i := 0; i < len(hard); i += together {
					some := hard[i:min(i+together, len(hard))]
					glpk.judge(t, some)
					if i/together%4 == 0 {
						cbc.judge(t, some)
						both.Add(int32(len(some)))
					}
				}
			})
		}
	})
	t.Logf("%d problems judged by GLPK, %d of them by CBC too; besides them %d whose locks contradict", all.Load(), both.Load(), contradictory.Load())
}

// realTune is the first turn of a file of Debian's simutrans-data, for a default comb in all keys.
type realTune struct {
	name    string
	problem *arrange.Problem
}

// realTunes gives those that are installed.
func realTunes(t testing.TB) (tunes []realTune) {
	t.Helper()
	files, err := filepath.Glob("/usr/share/games/simutrans/music/*.mid")
	if err != nil || len(files) == 0 {
		if os.Getenv("CI") == "true" {
			t.Fatal("no tunes; Debian's simutrans-data is not installed")
		}
		t.Skip("SKIPPED: no real tunes; Debian's simutrans-data is not installed")
	}
	const turn, sounding = 14545.454545, 14545.454545 * 342 / 360
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		read, err := tune.Read(data, tune.DefaultLimits)
		if err != nil {
			t.Fatal(err)
		}
		var sources []arrange.Source
		first := unit.Milliseconds(-1)
		for _, n := range read.Notes {
			if read.Parts[n.Part].Percussion {
				continue
			}
			if first < 0 {
				first = n.OnsetMs
			}
			if n.OnsetMs-first < sounding {
				sources = append(sources, arrange.Source{ID: n.ID, AtMs: n.OnsetMs - first, Pitch: n.Pitch, Part: "t1c1"})
			}
		}
		p := &arrange.Problem{Notes: arrange.Compose(sources), RevolutionMs: turn, RepeatMs: repeats(turn), MinX: -24, MaxX: 24,
			Comb: arrange.Stock{Teeth: 18, Low: 60, High: 96, MaxTwins: 4}}
		p.Locks = make([]arrange.Lock, len(p.Notes))
		tunes = append(tunes, realTune{filepath.Base(file), p})
	}
	return tunes
}

// inKey gives a problem in one key.
func inKey(p *arrange.Problem, x int) *arrange.Problem {
	one := *p
	one.MinX, one.MaxX = x, x
	return &one
}

// TestJudgeRealTunes holds real tunes on a default comb to both solvers, in the key that is best and in two others.
func TestJudgeRealTunes(t *testing.T) {
	glpk.need(t)
	cbc.need(t)
	const long = 100 // notes; CBC then takes most of a second a key, and judges only the best
	var all, both atomic.Int32
	t.Run("tunes", func(t *testing.T) {
		for _, real := range realTunes(t) {
			p := real.problem
			t.Run(real.name, func(t *testing.T) {
				t.Parallel()
				s := solved(t, p)
				for _, x := range []int{s.Transpose, (s.Transpose+31)%49 - 24, 0} {
					c := pose(t, fmt.Sprintf("in key %+d", x), inKey(p, x))
					if x == s.Transpose && c.solution.Objective != s.Objective {
						t.Errorf("%v in that key alone, %v among all", c.solution.Objective, s.Objective)
					}
					c.check(t)
					glpk.judge(t, []posed{c})
					if x == s.Transpose || len(p.Notes) < long {
						cbc.judge(t, []posed{c})
						both.Add(1)
					}
					all.Add(1)
				}
			})
		}
	})
	t.Logf("%d problems judged by GLPK, %d of them by CBC too", all.Load(), both.Load())
}
