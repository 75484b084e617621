package bench

import (
	"fmt"
	"io"
	"testing"

	"pinwright/arrange/unit"
	"pinwright/pinmap/project"
)

// minute gives a turn of a minute on 18 teeth.
func minute(plucks int) *project.Result {
	r := result(compact(), 18, tuneful(18, plucks, 18))
	r.Cylinder.RevolutionMs = 60_000
	return r
}

func BenchmarkAudition(b *testing.B) {
	for _, plucks := range []int{0, 400} {
		b.Run(fmt.Sprintf("a minute, %d plucks", plucks), func(b *testing.B) {
			r := minute(plucks)
			b.ReportAllocs()
			for b.Loop() {
				if err := auditionWAV(io.Discard, Job{Result: r}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
	_ = unit.Hertz(0)
}
