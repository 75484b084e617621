package bench

import (
	"io"
	"testing"
)

// BenchmarkFiles makes each file of the demo and of a cylinder of 20 000 pins.
func BenchmarkFiles(b *testing.B) {
	wide := compact()
	wide.DiameterMm = 400
	for _, row := range []struct {
		name string
		job  Job
	}{
		{"demo", demoJob(b)},
		{"20000 pins", Job{Result: result(wide, 144, tuneful(144, 20_000, 18)), Tune: []byte("MThd")}},
	} {
		for _, name := range Names() {
			maker, _ := File(name)
			b.Run(row.name+"/"+name, func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					if err := maker.Write(io.Discard, row.job); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
