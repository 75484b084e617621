package bench

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"runtime"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange/comb"
	"pinwright/arrange/tune"
	"pinwright/arrange/unit"
	"pinwright/fixtures"
	"pinwright/pinmap/project"
)

const rate = 44_100

// minute gives a turn of a minute on 18 teeth.
func minute(plucks int) *project.Result {
	r := result(compact(), 18, tuneful(18, plucks, 18))
	r.Cylinder.RevolutionMs = 60_000
	return r
}

// demo derives the demo.
func demo(t testing.TB) *project.Result {
	t.Helper()
	read, err := tune.Read(fixtures.DemoTune, tune.DefaultLimits)
	if err != nil {
		t.Fatal(err)
	}
	setup, err := project.ParseSetup(fixtures.DemoSetup)
	if err != nil {
		t.Fatal(err)
	}
	r, err := project.Derive(context.Background(), read, setup, nil, project.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// wavSamples takes a file of 16-bit sound in one channel apart (the format: Microsoft and IBM, Multimedia Programming Interface and Data
// Specifications 1.0, 1991, from memory).
func wavSamples(t fataler, data []byte) []int16 {
	t.Helper()
	if len(data) < 44 || string(data[:4]) != "RIFF" || string(data[8:16]) != "WAVEfmt " || string(data[36:40]) != "data" {
		t.Fatalf("no WAV file of the plain kind: %q", data[:min(len(data), 44)])
	}
	le := binary.LittleEndian
	if size := le.Uint32(data[4:]); int(size) != len(data)-8 {
		t.Fatalf("the file says that %d bytes follow, and %d do", size, len(data)-8)
	}
	if size := le.Uint32(data[40:]); int(size) != len(data)-44 {
		t.Fatalf("the file says that %d bytes of sound follow, and %d do", size, len(data)-44)
	}
	want := append(le.AppendUint32(nil, 16), 1, 0, 1, 0) // bytes, PCM, channels
	want = le.AppendUint32(le.AppendUint32(want, rate), 2*rate)
	if want = append(want, 2, 0, 16, 0); !bytes.Equal(data[16:36], want) {
		t.Fatalf("format % x, want % x", data[16:36], want)
	}
	samples := make([]int16, (len(data)-44)/2)
	for i := range samples {
		samples[i] = int16(le.Uint16(data[44+2*i:]))
	}
	return samples
}

func loudest(samples []int16) (peak int) {
	for _, v := range samples {
		peak = max(peak, int(v), -int(v))
	}
	return peak
}

// TestAuditionLaws: the same bytes each time, one turn and at most ten seconds, silence before the first release, and
// the peak where it should be.
func TestAuditionLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyResult(t)
		r.Cylinder.RevolutionMs = unit.Milliseconds(rapid.Float64Range(200, 1500).Draw(t, "revolutionMs"))
		r.Setup.Comb.QualityFactor = rapid.SampledFrom([]float64{50, 100, 300}).Draw(t, "q")
		damp := unit.Milliseconds(rapid.SampledFrom([]float64{0, 0.001, 1, 40}).Draw(t, "dampMs"))
		contact := unit.Milliseconds(rapid.SampledFrom([]float64{0.1, 10, 141}).Draw(t, "contactMs"))
		first := math.Inf(1)
		for i := range r.Comb.Teeth {
			r.Comb.Teeth[i].DampMs, r.Comb.Teeth[i].ContactMs = damp, contact
		}
		for _, p := range r.Pins {
			first = min(first, float64(p.AngleDeg)/360*float64(r.Cylinder.RevolutionMs))
		}
		data := file(t, "audition.wav", r)
		if !bytes.Equal(data, file(t, "audition.wav", r)) {
			t.Fatal("the same result gives other bytes")
		}
		samples := wavSamples(t, data)
		turn := int(math.Round(float64(r.Cylinder.RevolutionMs) * rate / 1000))
		if len(samples) < turn || len(samples) > turn+10*rate {
			t.Fatalf("%d samples of a turn of %d", len(samples), turn)
		}
		before := samples[:min(turn, int(min(first, 1e6)*rate/1000))]
		if p := loudest(before); p != 0 {
			t.Fatalf("%d is heard before the first release", p)
		}
		want := 0
		if len(r.Pins) > 0 {
			want = 29204 // 32768·10^(−1/20) = 29204.5
		}
		if p := loudest(samples); p < want || p > want+1 {
			t.Fatalf("the peak is %d, want %d", p, want)
		}
	})
}

// TestAuditionBytes holds a file to its checksum, which was the same on amd64, with fused products and without, 386,
// arm64, ppc64le, riscv64 and s390x. It changes with the model, and with nothing else.
func TestAuditionBytes(t *testing.T) {
	const want = "d22df7c538c09da4f2998fdb45b69c3cf2b07c72ea86ec47fc6109a22e73579b"
	r := result(compact(), 18, tuneful(18, 110, 18))
	if got := fmt.Sprintf("%x", sha256.Sum256(file(t, "audition.wav", r))); got != want {
		t.Errorf("on %s the checksum is %s, want %s", runtime.GOARCH, got, want)
	}
}

func TestAuditionOfNothingIsSilent(t *testing.T) {
	samples := wavSamples(t, file(t, "audition.wav", result(compact(), 18, nil)))
	if len(samples) != 641455 { // 14.545454545 s
		t.Errorf("%d samples, want 641455", len(samples))
	}
	if p := loudest(samples); p != 0 {
		t.Errorf("the peak is %d", p)
	}
}

// TestAuditionEnds: the ring-out lasts until the ring has fallen by 60 dB or the next pin holds the tooth, ten seconds at most, and ends in
// silence. C4 is released 9°, 363.6 ms, before the turn ends. Tolerance 1 ms.
func TestAuditionEnds(t *testing.T) {
	for _, row := range []struct {
		name    string
		q, last float64 // ms after the turn
		also    []strike
	}{
		{name: "it falls by 60 dB in 7564.14 ms", q: 900, last: 7200.50},
		{name: "it would ring for 84 s", q: 10_000, last: 10_000},
		{name: "the next pin, at 9°, holds it 141 ms before its release", q: 900, last: 222.64, also: []strike{{1, 9}}},
		{name: "it does not reach the end of the turn", q: 20, last: 0},
	} {
		t.Run(row.name, func(t *testing.T) {
			r := result(compact(), 1, append(row.also, strike{1, 351}))
			r.Setup.Comb.QualityFactor = row.q
			samples := wavSamples(t, file(t, "audition.wav", r))
			if got := float64(len(samples))/rate*1000 - 14545.454545; math.Abs(got-row.last) > 1 {
				t.Errorf("the ring-out lasts %.2f ms, want %.2f", got, row.last)
			}
			if p := loudest(samples[len(samples)-2:]); p > 20 {
				t.Errorf("the file ends at %d", p)
			}
		})
	}
}

// TestAuditionRefusesALongTurn before anything is written.
func TestAuditionRefusesALongTurn(t *testing.T) {
	for _, ms := range []float64{600_001, 86_400_000, math.Inf(1), math.NaN()} {
		r := result(compact(), 18, tuneful(18, 10, 18))
		r.Cylinder.RevolutionMs = unit.Milliseconds(ms)
		var b bytes.Buffer
		var field *project.FieldError
		if err := auditionWAV(&b, Job{Result: r}); !errors.As(err, &field) || field.Pointer != "/tempo/revolutionMs" || !strings.Contains(field.Message.String(), "up to 600 s") {
			t.Errorf("a turn of %v ms: %v", ms, err)
		}
		if b.Len() > 0 {
			t.Errorf("%d bytes are written of a turn of %v ms", b.Len(), ms)
		}
	}
}

// TestResonator holds the recursion to a·e^(−t/τ)·sin(2πft), and to the same times 10^(−3u/dampMs) from a damper's touch
// on, in blocks of many lengths. Tolerance 2e-4 of the full amplitude, −74 dB, over the whole ring or 5 s.
func TestResonator(t *testing.T) {
	for _, pitch := range []unit.Pitch{24, 43, 60, 72, 96, 127} {
		for _, q := range []float64{50, 900, 20_000} {
			for i, p := range comb.Partials(pitch.Frequency(), q) {
				count := min(5*rate, int(7*float64(p.DecayMs)*rate/1000))
				g, factor, touch := newResonator(p), comb.Damping(1000.0/rate, 30), count/3
				line, block := make([]float64, stretch+blockSamples), make([]float64, blockSamples)
				worst := 0.0
				for from, n := 0, 1; from < count; from += n {
					if n = 1 + n*7%997; from < touch {
						n = min(n, touch-from)
					}
					if from == touch {
						g.damp(factor)
					}
					clear(block[:n])
					g.add(block[:n], line)
					for k := 0; k < n; k += 5 {
						at := float64(from+k) / rate
						want := p.Amplitude * math.Exp(-1000*at/float64(p.DecayMs)) * math.Sin(2*math.Pi*float64(p.FrequencyHz)*at)
						if from >= touch {
							want *= math.Pow(factor, float64(from+k-touch))
						}
						worst = max(worst, math.Abs(block[k]-want))
					}
				}
				if !(worst <= 2e-4) {
					t.Errorf("%v, Q %v, partial %d is off by %g", pitch, q, i+1, worst)
				}
			}
		}
	}
}

// TestNoise: every noise lasts 4 ms, stays under its level and reaches a tenth of it, and no two pins have the same.
func TestNoise(t *testing.T) {
	seen := map[float64]bool{}
	for pin := range 1000 {
		n := noise{at: 100, level: 2, state: seed(pin)}
		block := make([]float64, 400)
		if n.sound(block[:200], 0) != true || n.sound(block[200:], 200) != false {
			t.Fatal("it does not end in the second block")
		}
		peak := 0.0
		for i, v := range block {
			if (i < 100 || i >= 100+4*rate/1000) && v != 0 {
				t.Fatalf("noise %d sounds at sample %d", pin, i)
			}
			peak = max(peak, math.Abs(v))
		}
		if peak > 2 || peak < 0.2 || seen[peak] {
			t.Errorf("the peak of noise %d is %v", pin, peak)
		}
		seen[peak] = true
	}
}

// TestAuditionMemory: what is allocated grows with the plucks, not with the turn. The encoder has a buffer of 5 MiB.
func TestAuditionMemory(t *testing.T) {
	for _, row := range []struct {
		name   string
		turnMs unit.Milliseconds
		plucks int
	}{{"a second", 1000, 40}, {"a minute", 60_000, 400}, {"a minute without a pluck", 60_000, 0}} {
		r := result(compact(), 18, tuneful(18, row.plucks, 18))
		r.Cylinder.RevolutionMs, r.Setup.Comb.QualityFactor = row.turnMs, 200
		blocks := int(row.turnMs) * rate / 1000 / blockSamples
		allocations := testing.AllocsPerRun(1, func() {
			if err := auditionWAV(io.Discard, Job{Result: r}); err != nil {
				t.Fatal(err)
			}
		})
		// Twice one for each pluck, and a few small ones for each block that is encoded, which do not last.
		if most := float64(2*row.plucks + 5*blocks + 400); allocations > most {
			t.Errorf("%s: %v allocations, want %v at most", row.name, allocations, most)
		}
	}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	if err := auditionWAV(io.Discard, Job{Result: minute(400)}); err != nil {
		t.Fatal(err)
	}
	runtime.ReadMemStats(&after)
	if got := after.TotalAlloc - before.TotalAlloc; got > 16<<20 {
		t.Errorf("a minute allocates %d bytes, want 16 MiB at most", got)
	}
}

// TestAuditionGrowsABufferOnce, so that a server does not hold a file twice.
func TestAuditionGrowsABufferOnce(t *testing.T) {
	var b bytes.Buffer
	if err := auditionWAV(&b, Job{Result: minute(10)}); err != nil {
		t.Fatal(err)
	}
	if b.Cap() > b.Len()+b.Len()/8 {
		t.Errorf("%d bytes take %d", b.Len(), b.Cap())
	}
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
}
