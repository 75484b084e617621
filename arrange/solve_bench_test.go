package arrange_test

import (
	"cmp"
	"context"
	"fmt"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"
	"time"

	"pinwright/arrange"
	"pinwright/arrange/unit"
)

// tuneLike gives a problem of n notes with the density of a tune, four parts in eighths and sixteenths, in all 49 keys.
func tuneLike(n int, turn float64) *arrange.Problem {
	r := rand.New(rand.NewPCG(7, uint64(n)))
	p := &arrange.Problem{RevolutionMs: unit.Milliseconds(turn), RepeatMs: repeats(turn), MinX: -24, MaxX: 24,
		Comb: arrange.Stock{Teeth: 18, Low: 60, High: 96, MaxTwins: 4}}
	scale := []int{0, 2, 4, 5, 7, 9, 11}
	var sources []arrange.Source
	for i := range n {
		step := turn * 0.95 / float64(n) * 4
		at := step * float64(i/4)
		pitch := 48 + 6*(i%4) + scale[r.IntN(7)] + 12*r.IntN(2)
		sources = append(sources, arrange.Source{ID: fmt.Sprint("n", i), AtMs: unit.Milliseconds(at), Pitch: unit.Pitch(pitch), Part: "t1c1"})
	}
	p.Notes = arrange.Compose(sources)
	p.Locks = make([]arrange.Lock, len(p.Notes))
	return p
}

// solved gives the proven solution.
func solved(t testing.TB, p *arrange.Problem) *arrange.Solution {
	t.Helper()
	s, err := arrange.NewExact().Solve(context.Background(), p)
	if err != nil {
		t.Fatal(err)
	}
	if !s.Proven {
		t.Fatalf("not proven: %v, bound %v", s.Objective, s.Bound)
	}
	return s
}

// row is tunes that stand together in the table of times.
type row struct {
	name  string
	tunes []*arrange.Problem
}

func tableOfTimes(b *testing.B) []row {
	rows := []row{
		{"70 notes or fewer, real", nil},
		{"71 to 160 notes, real", nil},
		{"161 to 330 notes, real", nil},
		{"331 to 691 notes, real", nil},
	}
	for _, real := range realTunes(b) {
		size, _ := slices.BinarySearch([]int{70, 160, 330}, len(real.problem.Notes))
		rows[size].tunes = append(rows[size].tunes, real.problem)
	}
	for _, n := range []int{100, 160, 330, 400} {
		rows = append(rows, row{fmt.Sprint(n, " notes, generated"), []*arrange.Problem{tuneLike(n, 14545.454545)}})
	}
	return rows
}

// BenchmarkSolve times a default solve, all 49 keys of one turn of a compact movement with 18 teeth to be cut, and beside it what GLPK and CBC
// take for one of the keys, the best. It prints the table of DEVELOPERS.md: of each tune the least of seven runs, as other work disturbs
// it least, and of several tunes the median. Ours is the time that passes, the solvers' is the processor's, less that of a process with
// nothing to solve.
func BenchmarkSolve(b *testing.B) {
	idle := map[string]time.Duration{}
	theirs := func(r rival, p *arrange.Problem) time.Duration {
		best := solved(b, p)
		g := counted(inKey(p, best.Transpose))
		return least(7, func() time.Duration {
			values, took := r.solve(b, g)
			if values[0] < best.Objective-1e-6 {
				b.Errorf("%v, %s found no more than %v", best.Objective, r.name, values[0])
			}
			return took
		}) - idle[r.name]
	}
	table := "| tunes | number | ours, all 49 keys | allocated | GLPK, one key | CBC, one key |\n|---|---|---|---|---|---|\n"
	for _, r := range []rival{glpk, cbc} {
		r.need(b)
		idle[r.name] = least(31, func() time.Duration { _, took := r.solve(b, &programme{}); return took })
	}
	for _, row := range tableOfTimes(b) {
		b.Run(row.name, func(b *testing.B) {
			b.ReportAllocs()
			for i := 0; b.Loop(); i++ {
				solved(b, row.tunes[i%len(row.tunes)])
			}
		})
		figures := []any{row.name, len(row.tunes), median(len(row.tunes), func(i int) time.Duration {
			return least(7, func() time.Duration { began := time.Now(); solved(b, row.tunes[i]); return time.Since(began) })
		}), float64(median(len(row.tunes), func(i int) uint64 { return allocated(func() { solved(b, row.tunes[i]) }).TotalAlloc })) / (1 << 20)}
		for _, r := range []rival{glpk, cbc} {
			figures = append(figures, median(len(row.tunes), func(i int) time.Duration { return theirs(r, row.tunes[i]) }))
		}
		for i, f := range figures {
			if d, ok := f.(time.Duration); ok {
				figures[i] = fmt.Sprintf("%.1f ms", d.Seconds()*1000)
			}
		}
		table += fmt.Sprintf("| %v | %v | %v | %.1f MiB | %v | %v |\n", figures...)
	}
	fmt.Printf("%d cores; with nothing to solve GLPK takes %v, CBC %v\n%s", runtime.NumCPU(), idle["GLPK"], idle["CBC"], table)
}

// least gives the least of n figures.
func least[T cmp.Ordered](n int, of func() T) T {
	best := of()
	for range n - 1 {
		best = min(best, of())
	}
	return best
}

// median gives the middle one of n figures.
func median[T cmp.Ordered](n int, of func(i int) T) T {
	all := make([]T, n)
	for i := range all {
		all[i] = of(i)
	}
	slices.Sort(all)
	return all[n/2]
}
