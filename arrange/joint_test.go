package arrange_test

import (
	"context"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange"
	"pinwright/arrange/unit"
)

// triedTogether tries every comb of a stock for several tunes.
func triedTogether(tunes []*arrange.Problem) (best float64) {
	stock := tunes[0].Comb
	teeth := map[unit.Pitch]int{}
	var try func(from unit.Pitch, left int)
	try = func(from unit.Pitch, left int) {
		sum := 0.0
		for _, p := range tunes {
			own := *p
			own.Comb = arrange.Stock{Fixed: teeth}
			sum += tried(&own)
		}
		best = max(best, sum)
		for pitch := from; left > 0 && pitch <= stock.High; pitch++ {
			if teeth[pitch] < stock.MaxTwins {
				teeth[pitch]++
				try(pitch, left-1)
				teeth[pitch]--
			}
		}
	}
	try(stock.Low, stock.Teeth)
	return best
}

// TestTogether: one comb for two tunes is the best of all combs and keys, and each tune's arrangement is on it.
func TestTogether(t *testing.T) {
	proven, all := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		var tunes []*arrange.Problem
		stock := arrange.Stock{Teeth: rapid.IntRange(1, 3).Draw(t, "teeth"), Low: unit.Pitch(rapid.IntRange(58, 62).Draw(t, "low")),
			MaxTwins: rapid.IntRange(1, 2).Draw(t, "twins")}
		stock.High = stock.Low + unit.Pitch(rapid.IntRange(0, 9).Draw(t, "width"))
		for range 2 {
			p := small(t)
			p.Notes = p.Notes[:min(len(p.Notes), 3)]
			p.Locks = make([]arrange.Lock, len(p.Notes))
			p.MaxX = min(p.MaxX, p.MinX+1)
			p.Comb = stock
			tunes = append(tunes, p)
		}
		j, err := arrange.NewExact().Together(context.Background(), tunes)
		if err != nil {
			t.Fatal(err)
		}
		best := triedTogether(tunes)
		if j.Objective > best+1e-6 || j.Bound < best-1e-6 || j.Proven && j.Objective < best-1e-6 {
			t.Fatalf("%v, bound %v, proven %v; the best is %v", j.Objective, j.Bound, j.Proven, best)
		}
		if all++; j.Proven {
			proven++
		}
		sum := 0.0
		for _, s := range j.Solutions {
			if sum += s.Objective; !slices.Equal(s.Teeth, j.Teeth) {
				t.Fatalf("a tune has the comb %v, not %v", s.Teeth, j.Teeth)
			}
		}
		if len(j.Teeth) > stock.Teeth || math.Abs(sum-j.Objective) > 1e-6 {
			t.Fatalf("%d teeth, %v together, %v one by one", len(j.Teeth), j.Objective, sum)
		}
	})
	t.Logf("%d of %d proven", proven, all)
}
