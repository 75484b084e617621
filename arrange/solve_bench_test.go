package arrange_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"

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

// BenchmarkSolve solves all 49 keys of one turn of a compact movement, 18 teeth cut freely.
func BenchmarkSolve(b *testing.B) {
	for _, n := range []int{100, 160, 400} {
		p := tuneLike(n, 14545.454545)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				s, err := arrange.NewExact().Solve(context.Background(), p)
				if err != nil {
					b.Fatal(err)
				}
				if !s.Proven {
					b.Fatal("not proven")
				}
			}
		})
	}
}
