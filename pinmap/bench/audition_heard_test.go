package bench

import (
	"math"
	"math/cmplx"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pinwright/pinmap/project"
)

// heard are the results that the tests here listen to.
func heard(t *testing.T) map[string]*project.Result {
	return map[string]*project.Result{"demo": demo(t), "one pluck": result(compact(), 18, []strike{{10, 40}})}
}

// releases gives when, in seconds from the datum line, one tooth or several are released, and with which pins.
func releases(r *project.Result) []float64 {
	var times []float64
	for _, p := range r.Pins {
		times = append(times, float64(p.AngleDeg)/360*float64(r.Cylinder.RevolutionMs)/1000)
	}
	slices.Sort(times)
	return slices.CompactFunc(times, func(a, b float64) bool { return math.Abs(a-b) < 0.001 })
}

// touches gives when dampers touch, in this turn and the next.
func touches(r *project.Result) []float64 {
	var times []float64
	for _, p := range r.Pins {
		tooth, turn := r.Comb.Teeth[p.Tooth-1], float64(r.Cylinder.RevolutionMs)
		at := float64(p.AngleDeg)/360*turn - float64(tooth.ContactMs+tooth.DampMs)
		times = append(times, at/1000, (at+turn)/1000)
	}
	return times
}

// onsets gives where, in seconds, the spectrum of the sound suddenly grows. Nothing here knows when that should be.
func onsets(samples []int16) []float64 {
	const window, hop, threshold = 512, 128, 25
	var growth []float64
	var before [2][window / 2]float64
	x := make([]complex128, window)
	for at := 0; at+window <= len(samples); at += hop {
		var now [window / 2]float64
		if loudest(samples[at:at+window]) > 0 {
			for i := range x {
				x[i] = complex(float64(samples[at+i])*hann(i, window), 0)
			}
			for i, v := range fourier(x)[:window/2] {
				now[i] = math.Log1p(cmplx.Abs(v) / 3000)
			}
		}
		sum := 0.0
		for i, v := range before[0] {
			sum += max(0, now[i]-v)
		}
		before[0], before[1] = before[1], now
		growth = append(growth, sum)
	}
	var found []float64
	for i, g := range growth {
		if g > threshold && g == slices.Max(growth[max(0, i-10):min(len(growth), i+11)]) {
			found = append(found, (float64(i*hop)+window/2)/rate)
		}
	}
	return found
}

func hann(i, n int) float64 { return 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(n)) }

// fourier gives the discrete Fourier transform of x, whose length is a power of two.
func fourier(x []complex128) []complex128 {
	n := len(x)
	if n == 1 {
		return x
	}
	even, odd := make([]complex128, n/2), make([]complex128, n/2)
	for i := range even {
		even[i], odd[i] = x[2*i], x[2*i+1]
	}
	even, odd = fourier(even), fourier(odd)
	y := make([]complex128, n)
	turned, step := complex(1, 0), cmplx.Rect(1, -2*math.Pi/float64(n))
	for i := range even {
		y[i], y[i+n/2] = even[i]+turned*odd[i], even[i]-turned*odd[i]
		turned *= step
	}
	return y
}

// pitchNear gives the frequency, within 80 cents of hz, that is loudest in the first fifth of a second.
func pitchNear(samples []int16, hz float64) float64 {
	samples = samples[:min(len(samples), rate/5)]
	level := func(cents float64) float64 {
		step := cmplx.Rect(1, -2*math.Pi*hz*math.Pow(2, cents/1200)/rate)
		turned, sum := complex(1, 0), complex(0, 0)
		for i, v := range samples {
			sum += complex(float64(v)*hann(i, len(samples)), 0) * turned
			turned *= step
		}
		return cmplx.Abs(sum)
	}
	best := 0.0
	for _, span := range []float64{80, 8, 0.8} {
		at, most := best, 0.0
		for k := -10.0; k <= 10; k++ {
			if l := level(at + k*span/10); l > most {
				best, most = at+k*span/10, l
			}
		}
	}
	return hz * math.Pow(2, best/1200)
}

// TestListeners lets the two listeners hear tones that are not of this package's making.
func TestListeners(t *testing.T) {
	for _, cents := range []float64{-40, -6, 0, 6, 40} {
		tone := make([]int16, 2*rate)
		for i := range tone {
			if at := float64(i)/rate - 0.7; at > 0 {
				tone[i] = int16(9000 * math.Exp(-3*at) * math.Sin(2*math.Pi*523.25*math.Pow(2, cents/1200)*at))
			}
		}
		if got := 1200 * math.Log2(pitchNear(tone[rate:], 523.25)/523.25); math.Abs(got-cents) > 0.5 {
			t.Errorf("a tone %v cents from C5 is heard %.2f cents from it", cents, got)
		}
		if found := onsets(tone); len(found) != 1 || math.Abs(found[0]-0.7) > 0.005 {
			t.Errorf("a tone that starts at 0.7 s is heard at %.3f", found)
		}
	}
}

// TestOnsets looks for the releases in the sound alone: one within 10 ms of each, and no other.
func TestOnsets(t *testing.T) {
	for name, r := range heard(t) {
		t.Run(name, func(t *testing.T) {
			match(t, releases(r), onsets(wavSamples(t, file(t, "audition.wav", r))), nil)
		})
	}
}

// match holds onsets that were found to those that should be, within 10 ms; more may be found at the times given.
func match(t *testing.T, want, found, also []float64) {
	t.Helper()
	near := func(at float64) func(float64) bool {
		return func(other float64) bool { return math.Abs(other-at) <= 0.010 }
	}
	for _, at := range want {
		if !slices.ContainsFunc(found, near(at)) {
			t.Errorf("nothing is heard at %.3f s, when a tooth is released", at)
		}
	}
	for _, at := range found {
		if !slices.ContainsFunc(want, near(at)) && !slices.ContainsFunc(also, near(at)) {
			t.Errorf("something is heard at %.3f s, when no tooth is released", at)
		}
	}
}

// TestFundamentals finds the pitch of each pluck within 5 cents of equal temperament, A4 = 440 Hz (ISO 16), in Fourier's way.
func TestFundamentals(t *testing.T) {
	for name, r := range heard(t) {
		t.Run(name, func(t *testing.T) {
			samples := wavSamples(t, file(t, "audition.wav", r))
			for _, p := range r.Pins {
				tooth := r.Comb.Teeth[p.Tooth-1]
				want := 440 * math.Pow(2, float64(tooth.Pitch-69)/12)
				start := int(float64(p.AngleDeg) / 360 * float64(r.Cylinder.RevolutionMs) / 1000 * rate)
				if off := 1200 * math.Log2(pitchNear(samples[start+rate/200:], want)/want); !(math.Abs(off) <= 5) {
					t.Errorf("pin %d sounds %.2f cents from %s", p.Pin, off, tooth.Note)
				}
			}
		})
	}
}

// ask runs a judge on a file.
func ask(t *testing.T, name string, arguments ...string) string {
	t.Helper()
	said, err := exec.Command(name, arguments...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", name, err, said)
	}
	return string(said)
}

// column gives the numbers in a column of what a judge said.
func column(said string, number int) (values []float64) {
	for line := range strings.Lines(said) {
		if fields := strings.Fields(line); len(fields) > number {
			if v, err := strconv.ParseFloat(fields[number], 64); err == nil {
				values = append(values, v)
			}
		}
	}
	return values
}

// TestAuditionByOthers asks programs that nobody here wrote: SoX for format, length and peak, aubio for the releases
// (10 ms; it hears the dampers of low teeth too) and for the pitch of a single pluck (5 cents, from 0.3 s on, when the second
// partial, which it mistakes for a part of the first, is gone).
func TestAuditionByOthers(t *testing.T) {
	for _, tool := range []string{"sox", "soxi", "aubioonset", "aubiopitch"} {
		if _, err := exec.LookPath(tool); err != nil {
			if os.Getenv("CI") == "true" {
				t.Fatalf("%s is needed to judge audition.wav; install sox and aubio-tools: %v", tool, err)
			}
			t.Skipf("SKIPPED: nobody judges audition.wav from outside, since %s is missing; install sox and aubio-tools", tool)
		}
	}
	peak := regexp.MustCompile(`Pk lev dB\s+(\S+)`)
	for name, r := range heard(t) {
		t.Run(name, func(t *testing.T) {
			data := file(t, "audition.wav", r)
			at := filepath.Join(t.TempDir(), "audition.wav")
			if err := os.WriteFile(at, data, 0o600); err != nil {
				t.Fatal(err)
			}
			for _, question := range []struct{ flag, want string }{{"-t", "wav"}, {"-r", "44100"}, {"-c", "1"}, {"-b", "16"}, {"-e", "Signed Integer PCM"}, {"-s", strconv.Itoa(len(data)/2 - 22)}} {
				if got := strings.TrimSpace(ask(t, "soxi", question.flag, at)); got != question.want {
					t.Errorf("soxi %s says %q, want %q", question.flag, got, question.want)
				}
			}
			if seconds := column(ask(t, "soxi", "-D", at), 0); len(seconds) != 1 || seconds[0] < float64(r.Cylinder.RevolutionMs)/1000-0.001 {
				t.Errorf("it lasts %v s, want a turn of %.3f s", seconds, r.Cylinder.RevolutionMs/1000)
			}
			if m := peak.FindStringSubmatch(ask(t, "sox", at, "-n", "stats")); m == nil || m[1] != "-1.00" {
				t.Errorf("the peak lies at %v dBFS, want -1.00", m)
			}
			match(t, releases(r), column(ask(t, "aubioonset", "-B", "512", "-H", "128", "-i", at), 0), touches(r))
			if len(r.Pins) > 1 {
				return
			}
			said := ask(t, "aubiopitch", "-B", "4096", "-H", "512", "-i", at)
			times, pitches := column(said, 0), column(said, 1)
			start, want, count := releases(r)[0], 440*math.Pow(2, float64(r.Comb.Teeth[r.Pins[0].Tooth-1].Pitch-69)/12), 0
			for i, hz := range pitches {
				if times[i] < start+0.3 || times[i] > start+1 {
					continue
				}
				count++
				if off := 1200 * math.Log2(hz/want); !(math.Abs(off) <= 5) {
					t.Errorf("aubio hears %.2f Hz at %.3f s, %.1f cents off", hz, times[i], off)
				}
			}
			if count == 0 {
				t.Errorf("aubio hears no pitch: %q", said)
			}
		})
	}
}
