package arrange

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange/comb"
	"pinwright/arrange/unit"
)

// anySharing draws plucks of one pitch on a turn of 1000 ms, some of them locked to a twin.
func anySharing(t *rapid.T, n int, locks bool) *sharing {
	plucks := make([]Placed, rapid.IntRange(1, 7).Draw(t, "plucks"))
	twins := make([]int, len(plucks))
	for i := range plucks {
		plucks[i] = Placed{Note: i, TimeMs: unit.Milliseconds(rapid.IntRange(0, 999).Draw(t, "ms"))}
		if locks && rapid.IntRange(0, 3).Draw(t, "lock") == 0 {
			plucks[i].Locked, twins[i] = true, rapid.IntRange(0, n).Draw(t, "twin")
		}
	}
	return newSharing(plucks, twins, 1000, unit.Milliseconds(rapid.IntRange(20, 600).Draw(t, "repeat")), turnTables{})
}

// every tries each way of giving the plucks to n teeth that keeps the locks, and calls f with the least distance of two on one tooth.
func (s *sharing) every(n int, f func(tooth []int, least unit.Milliseconds)) {
	tooth := make([]int, len(s.plucks))
	var give func(i int)
	give = func(i int) {
		if i < len(tooth) {
			for t := range n {
				if s.twins[i] == 0 || s.twins[i] == t+1 {
					tooth[i] = t
					give(i + 1)
				}
			}
			return
		}
		least := s.turn
		for a := range tooth {
			for b := range a {
				if tooth[a] == tooth[b] {
					least = min(least, comb.RoundTheCircle(s.plucks[a].TimeMs, s.plucks[b].TimeMs, s.turn))
				}
			}
		}
		f(tooth, least)
	}
	give(0)
}

// TestSharing: where some way has no clash, the way that is found has none, and keeps the locks; without locks no way lets the teeth
// ring longer, but for what could be gained across the widest pause.
func TestSharing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 3).Draw(t, "teeth")
		locks := rapid.Bool().Draw(t, "locks")
		s := anySharing(t, n, locks)
		best := unit.Milliseconds(-1)
		s.every(n, func(_ []int, least unit.Milliseconds) { best = max(best, least) })
		tooth := s.among(n)
		least := s.turn
		for a := range tooth {
			if want := s.twins[a]; want > 0 && tooth[a] != want-1 {
				t.Fatalf("pluck %d is on tooth %d, locked to %d", a, tooth[a], want-1)
			}
			if tooth[a] < 0 && (s.plucks[a].Locked || best >= s.repeat-comb.Slack) {
				t.Fatalf("pluck %d has no tooth of %v", a, tooth)
			}
			for b := range a {
				if tooth[a] < 0 || tooth[a] != tooth[b] {
					continue
				}
				least = min(least, s.apart(a, b))
				if s.clash(a, b) && !(s.plucks[a].Locked && s.plucks[b].Locked) {
					t.Fatalf("plucks %d and %d clash on tooth %d of %v", a, b, tooth[a], tooth)
				}
			}
		}
		if best >= s.repeat-comb.Slack && least < s.repeat-comb.Slack {
			t.Fatalf("%v clashes, though a way leaves %v ms", tooth, best)
		}
		pause := s.ahead(s.order[len(s.order)-1], s.order[0])
		if len(s.order) == 1 {
			pause = s.turn
		}
		if !locks && best >= s.repeat-comb.Slack && least < min(best, pause)-1e-9 {
			t.Fatalf("%v leaves %v ms between two plucks of a tooth; %v can be had", tooth, least, best)
		}
	})
}

// TestMoments: the nearest moment round the circle is that of all of them tried one by one.
func TestMoments(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var m moments
		times := rapid.SliceOfN(rapid.Float64Range(0, 999.999), 0, 12).Draw(t, "moments")
		now := unit.Milliseconds(rapid.Float64Range(0, 999.999).Draw(t, "now"))
		want := unit.Milliseconds(1000)
		for _, at := range times {
			m.add(unit.Milliseconds(at))
			want = min(want, comb.RoundTheCircle(now, unit.Milliseconds(at), 1000))
		}
		if got := m.nearest(now, 1000); got != want {
			t.Fatalf("%v, want %v", got, want)
		}
	})
}

// TestLeximin: no other way of sharing has a longer shortest ring, or the same and a longer next one, and so on.
func TestLeximin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 4).Draw(t, "teeth")
		s := anySharing(t, n, false)
		s.repeat = 20
		var best []unit.Milliseconds
		var by []int
		s.every(n, func(tooth []int, least unit.Milliseconds) {
			if rings := s.rings(tooth); best == nil || slices.Compare(rings, best) > 0 {
				best, by = rings, slices.Clone(tooth)
			}
		})
		if best[0] < s.repeat {
			return
		}
		tooth := s.among(n)
		if got := s.rings(tooth); slices.Compare(got, best) != 0 {
			t.Fatalf("%v leaves %v; %v leaves %v", tooth, got, by, best)
		}
	})
}

// TestWaiting: letting teeth wait for two plucks more than the search does brings no longer ring, and no better walk.
func TestWaiting(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 3).Draw(t, "teeth")
		s := anySharing(t, n, false)
		for range rapid.IntRange(0, 20).Draw(t, "more") {
			at := unit.Milliseconds(rapid.IntRange(0, int(s.turn)-1).Draw(t, "at"))
			s.plucks, s.twins = append(s.plucks, Placed{TimeMs: at}), append(s.twins, 0)
		}
		s = newSharing(s.plucks, s.twins, s.turn, 1, turnTables{})
		m := len(s.order)
		if m <= n || m%n == 0 {
			return
		}
		best := func(waiting int) (least unit.Milliseconds, rings []unit.Milliseconds) {
			g, work := &turns{s, newTurnStates(n, waiting)}, 1<<40
			least, begins := g.longest(0)
			for i, begin := range g.begins {
				if begins>>i&1 == 1 {
					if with := s.rings(g.walk(begin, least, &work)); slices.Compare(with, rings) > 0 {
						rings = with
					}
				}
			}
			return least, rings
		}
		waiting := max(2, (m+m/n-1)/(m/n)-n+1)
		least, rings := best(waiting)
		if least < 10 {
			return // nor would any tooth recover
		}
		longer, more := best(waiting + 2)
		if longer > least || slices.Compare(more, rings) > 0 {
			t.Fatalf("%v becomes %v", rings, more)
		}
	})
}

// TestLengthen: spare teeth go where the rings grow most in all, as trying every way shows, and none goes where it brings nothing.
func TestLengthen(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spare := rapid.IntRange(0, 5).Draw(t, "spare")
		rings := make([][]unit.Milliseconds, rapid.IntRange(0, 4).Draw(t, "pitches"))
		most := make([]int, len(rings))
		for i := range rings {
			most[i] = rapid.IntRange(0, 3).Draw(t, "most")
			r := unit.Milliseconds(0)
			for range most[i] + 1 {
				r += unit.Milliseconds(rapid.IntRange(0, 9).Draw(t, "longer"))
				rings[i] = append(rings[i], r)
			}
		}
		worth := func(use []int) (sum unit.Milliseconds, teeth int) {
			for i, n := range use {
				sum, teeth = sum+rings[i][n], teeth+n
			}
			return sum, teeth
		}
		use := lengthen(spare, most, func(i, more int) unit.Milliseconds { return rings[i][more] })
		got, teeth := worth(use)
		try := make([]int, len(rings))
		var each func(i int)
		each = func(i int) {
			if i < len(try) {
				for try[i] = 0; try[i] <= most[i]; try[i]++ {
					each(i + 1)
				}
				try[i] = 0
				return
			}
			if v, n := worth(try); n <= spare && (v > got || v == got && n < teeth) {
				t.Fatalf("%v brings %v with %d teeth; %v brings %v with %d", use, got, teeth, try, v, n)
			}
		}
		if each(0); teeth > spare {
			t.Fatalf("%d teeth of %d", teeth, spare)
		}
	})
}
