package arrange_test

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange"
	"pinwright/arrange/comb"
	"pinwright/arrange/unit"
)

// small draws a problem that can be tried out whole: few notes, often all within one repeat time or round the circle.
func small(t *rapid.T) *arrange.Problem {
	turn := rapid.IntRange(300, 2000).Draw(t, "turn")
	p := &arrange.Problem{RevolutionMs: unit.Milliseconds(turn), MinX: rapid.IntRange(-2, 0).Draw(t, "min x")}
	p.MaxX = p.MinX + rapid.IntRange(0, 2).Draw(t, "keys")
	for pitch := range p.RepeatMs {
		p.RepeatMs[pitch] = unit.Milliseconds(rapid.SampledFrom([]int{20, 60, 150, 400, 900}).Draw(t, "repeat"))
	}
	var sources []arrange.Source
	for i := range rapid.IntRange(1, 6).Draw(t, "notes") {
		sources = append(sources, arrange.Source{ID: fmt.Sprint("n", i), AtMs: unit.Milliseconds(rapid.IntRange(0, turn-1).Draw(t, "ms")),
			Pitch: unit.Pitch(60 + 12*rapid.IntRange(-1, 2).Draw(t, "octave") + rapid.IntRange(0, 1).Draw(t, "step")),
			Role:  rapid.SampledFrom([]arrange.Role{"lead", "bass", "fill"}).Draw(t, "role")})
	}
	p.Notes = arrange.Compose(sources)
	p.Locks = make([]arrange.Lock, len(p.Notes))
	if rapid.Bool().Draw(t, "leave one out") {
		p.Locks[rapid.IntRange(0, len(p.Notes)-1).Draw(t, "note")].LeaveOut = true
	}
	if i := rapid.IntRange(0, len(p.Notes)-1).Draw(t, "shifted"); rapid.Bool().Draw(t, "shift one") {
		by := unit.Milliseconds(rapid.IntRange(-150, 150).Draw(t, "shift"))
		if at := p.Notes[i].OnsetMs + by; at >= 0 && at < p.RevolutionMs {
			p.Locks[i].ShiftMs = by
		}
	}
	kind := rapid.SampledFrom([]string{"cut", "given", "partly retuned"}).Draw(t, "comb")
	if kind != "cut" {
		p.Comb.Fixed = map[unit.Pitch]int{}
		for range rapid.IntRange(1, 5).Draw(t, "teeth") {
			p.Comb.Teeth++
			p.Comb.Fixed[unit.Pitch(46+rapid.IntRange(0, 41).Draw(t, "tooth"))]++
		}
	}
	switch kind {
	case "given":
		return p
	case "cut":
		p.Comb.Teeth = rapid.IntRange(0, 4).Draw(t, "teeth")
	case "partly retuned":
		p.Comb.Retuned = rapid.IntRange(1, 3).Draw(t, "retuned")
		p.Comb.Teeth += rapid.IntRange(0, 1).Draw(t, "added")
	}
	p.Comb.Low, p.Comb.High = unit.Pitch(rapid.IntRange(46, 60).Draw(t, "low")), unit.Pitch(rapid.IntRange(60, 90).Draw(t, "high"))
	p.Comb.MaxTwins = rapid.IntRange(1, 3).Draw(t, "twins")
	return p
}

// tried gives the greatest value by trying every choice.
func tried(p *arrange.Problem) (best float64) {
	chord := map[int]int{} // of each note as it is plucked, by the first of them
	order := make([]int, len(p.Notes))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int { return cmp.Compare(at(p, i), at(p, j)) })
	first := 0
	for _, i := range order {
		if at(p, i)-at(p, order[first]) > arrange.Together {
			for first = 0; order[first] != i; first++ {
			}
		}
		chord[i] = first
	}
	on := map[unit.Pitch][]int{}
	var try func(i, x int, value float64)
	try = func(i, x int, value float64) {
		if i == len(p.Notes) {
			if value <= best {
				return
			}
			teeth, fresh := 0, 0
			for pitch, notes := range on {
				k := 0
				for !shareable(p, pitch, notes, k) {
					k++
				}
				more := max(k-p.Comb.Fixed[pitch], 0)
				if more > 0 && (pitch < p.Comb.Low || pitch > p.Comb.High || k > p.Comb.MaxTwins) {
					return
				}
				teeth, fresh = teeth+k, fresh+more
			}
			if (p.Comb.Fixed == nil || p.Comb.Retuned > 0) && teeth > p.Comb.Teeth || p.Comb.Fixed != nil && fresh > p.Comb.Retuned {
				return
			}
			best = value
			return
		}
		try(i+1, x, value)
		if p.Locks[i].LeaveOut {
			return
		}
	octaves:
		for o := -arrange.Reach; o <= arrange.Reach; o++ {
			pitch := p.Notes[i].Pitch + unit.Pitch(x+12*o)
			if pitch < 46 || pitch > 96 {
				continue
			}
			for _, n := range on[pitch] {
				if chord[n] == chord[i] {
					continue octaves
				}
			}
			before := on[pitch]
			on[pitch] = append(before[:len(before):len(before)], i)
			try(i+1, x, value+p.Notes[i].Role.Value()*arrange.ShiftFactor(o))
			on[pitch] = before
		}
	}
	for x := p.MinX; x <= p.MaxX; x++ {
		try(0, x, 0)
	}
	return best
}

// at gives the time of a note, with its shift.
func at(p *arrange.Problem, note int) unit.Milliseconds {
	return p.Notes[note].OnsetMs + p.Locks[note].ShiftMs
}

// shareable reports whether k teeth can share the plucks of a pitch.
func shareable(p *arrange.Problem, pitch unit.Pitch, notes []int, k int) bool {
	tooth := make([]int, len(notes))
	var give func(i int) bool
	give = func(i int) bool {
		if i == len(notes) {
			return true
		}
	teeth:
		for t := range k {
			for j := range i {
				if tooth[j] == t && comb.RoundTheCircle(at(p, notes[i]), at(p, notes[j]), p.RevolutionMs) < p.RepeatMs[pitch]-comb.Slack {
					continue teeth
				}
			}
			tooth[i] = t
			if give(i + 1) {
				return true
			}
		}
		return false
	}
	return give(0)
}

// TestTried: what is proven is the best of all choices; what is not has a bound that holds.
func TestTried(t *testing.T) {
	proven, all := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		p := small(t)
		s, err := arrange.NewExact().Solve(context.Background(), p)
		if err != nil {
			t.Fatal(err)
		}
		best := tried(p)
		if s.Objective > best+1e-6 || s.Bound < best-1e-6 || s.Proven && s.Objective < best-1e-6 {
			t.Fatalf("%v, bound %v, proven %v; the best is %v", s.Objective, s.Bound, s.Proven, best)
		}
		if all++; s.Proven {
			proven++
		}
	})
	t.Logf("%d of %d proven", proven, all)
}

// TestCrowdedTurn: notes so near that nearly all of them reach each other round the circle, with more ways to stand than are kept.
func TestCrowdedTurn(t *testing.T) {
	p := &arrange.Problem{RevolutionMs: 600, MinX: 20, MaxX: 20, Comb: arrange.Stock{Teeth: 18, Low: 60, High: 96, MaxTwins: 1}}
	for pitch, repeat := range map[unit.Pitch]unit.Milliseconds{60: 282.749, 72: 208.215, 84: 170.948, 96: 152.315} {
		p.RepeatMs[pitch] = repeat
	}
	for i, n := range []struct {
		at    unit.Milliseconds
		pitch unit.Pitch
	}{{0, 40}, {200, 40}, {212.5, 40}, {325, 64}, {375, 40}, {575, 40}} {
		p.Notes = append(p.Notes, arrange.Note{ID: fmt.Sprint("n", i), OnsetMs: n.at, Pitch: n.pitch, Role: arrange.Lead, Value: arrange.Lead.Value()})
	}
	p.Locks = make([]arrange.Lock, len(p.Notes))
	s, err := arrange.NewExact().Solve(context.Background(), p)
	if err != nil {
		t.Fatal(err)
	}
	if best := tried(p); !s.Proven || s.Objective != best {
		t.Errorf("%v, proven %v; the best is %v", s.Objective, s.Proven, best)
	}
}

// TestLockedTogether: two notes that are locked to one pitch at one onset take nothing from what bounds the many other notes there.
func TestLockedTogether(t *testing.T) {
	none, down := 0, -1
	p := &arrange.Problem{RevolutionMs: 20_000, Comb: arrange.Stock{Teeth: 2, Low: 60, High: 61, MaxTwins: 2}}
	for pitch := range p.RepeatMs {
		p.RepeatMs[pitch] = 200
	}
	add := func(at unit.Milliseconds, pitch unit.Pitch, role arrange.Role, lock arrange.Lock) {
		p.Notes = append(p.Notes, arrange.Note{ID: fmt.Sprint("n", len(p.Notes)), OnsetMs: at, Pitch: pitch, Role: role, Value: role.Value()})
		p.Locks = append(p.Locks, lock)
	}
	add(100, 60, arrange.Lead, arrange.Lock{Octaves: &none})
	add(100, 72, arrange.Lead, arrange.Lock{Octaves: &down})
	for i := unit.Milliseconds(0); i < 16; i++ { // six of them with one so near that it takes a second tooth
		add(1000+500*i, 60, arrange.Lead, arrange.Lock{})
		if i < 6 {
			add(1050+500*i, 60, arrange.Lead, arrange.Lock{})
		}
	}
	add(15_000, 61, arrange.Fill, arrange.Lock{})
	s, err := arrange.NewExact().Solve(context.Background(), p)
	if err != nil {
		t.Fatal(err)
	}
	if want := 10 + 6 + 22*10.0; !s.Proven || s.Objective != want {
		t.Errorf("%v, proven %v; want %v", s.Objective, s.Proven, want)
	}
}
