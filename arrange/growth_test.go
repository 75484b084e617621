package arrange_test

import (
	"fmt"
	"runtime"
	"runtime/debug"
	"runtime/metrics"
	"testing"

	"pinwright/arrange"
)

// atFixedDensity gives a tune of n notes for a large cylinder with 144 teeth: seven notes a second however long it is, and no limit of work.
func atFixedDensity(n int) *arrange.Problem {
	p := tuneLike(n, 145.4545*float64(n))
	p.RepeatMs = repeats(14545)
	p.Comb.Teeth, p.Comb.Low, p.Comb.High = 144, 36, 108
	p.Work = 1 << 40
	return p
}

// BenchmarkGrowth: how time and memory grow with the tune, all 49 keys; the table of the package documentation.
func BenchmarkGrowth(b *testing.B) {
	for n := 100; n <= 100_000; n *= 10 {
		p := atFixedDensity(n)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				solved(b, p)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/note")
		})
	}
}

// spent is what was allocated.
type spent struct{ TotalAlloc, Mallocs uint64 }

func allocated(f func()) spent {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	f()
	runtime.ReadMemStats(&after)
	return spent{after.TotalAlloc - before.TotalAlloc, after.Mallocs - before.Mallocs}
}

// TestAllocations keeps what a default solve of all 49 keys allocates within ceilings, half as much again as was measured.
func TestAllocations(t *testing.T) {
	for _, c := range []struct {
		notes            int
		mallocs, mostMiB float64
	}{
		{100, 20_000, 3},
		{400, 150_000, 40},
	} {
		p := tuneLike(c.notes, 14545.454545)
		mallocs := testing.AllocsPerRun(1, func() { solved(t, p) })
		mib := float64(allocated(func() { solved(t, p) }).TotalAlloc) / (1 << 20)
		t.Logf("%d notes: %.0f allocations, %.1f MiB", c.notes, mallocs, mib)
		if mallocs > c.mallocs || mib > c.mostMiB {
			t.Errorf("%d notes: %.0f allocations, %.1f MiB; no more than %.0f, %.0f MiB are allowed", c.notes, mallocs, mib, c.mallocs, c.mostMiB)
		}
	}
}

// TestMemory: solving 20 000 notes never holds more than 32 MiB beyond the notes.
func TestMemory(t *testing.T) {
	p := atFixedDensity(20_000)
	defer debug.SetGCPercent(debug.SetGCPercent(5)) // so that what is live is known at nearly all times
	live := []metrics.Sample{{Name: "/gc/heap/live:bytes"}, {Name: "/gc/cycles/total:gc-cycles"}}
	runtime.GC()
	metrics.Read(live)
	before, cycles := live[0].Value.Uint64(), live[1].Value.Uint64()
	done, highest := make(chan struct{}), make(chan uint64)
	go func() {
		most := uint64(0)
		for running := true; running; {
			select {
			case <-done:
				running = false
			default:
				runtime.Gosched()
			}
			metrics.Read(live)
			most = max(most, live[0].Value.Uint64())
		}
		highest <- most
	}()
	s := solved(t, p)
	close(done)
	peak := float64(<-highest-before) / (1 << 20)
	t.Logf("%.1f MiB at most, %d collections", peak, live[1].Value.Uint64()-cycles)
	if peak > 32 {
		t.Errorf("%.1f MiB live at most, 32 are allowed", peak)
	}
	runtime.KeepAlive(p)
	runtime.KeepAlive(s)
}
