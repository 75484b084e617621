package bench

import (
	"cmp"
	"io"
	"math"
	"slices"
	"strconv"

	"github.com/go-audio/wav"

	"pinwright/arrange/comb"
	"pinwright/arrange/phrase"
	"pinwright/arrange/unit"
	"pinwright/pinmap/project"
)

// Of audition.wav: the longest turn and the longest ring-out that it holds (55 MB together), its peak under full scale, where a partial is left
// out under its start, and the samples that are made at a time.
const (
	longestHeardMs = 600_000.0
	longestRingMs  = 10_000.0
	peakDb         = -1.0
	faintDb        = -80.0
	blockSamples   = 4096
	sampleBits     = 16
	headerBytes    = 44
)

// auditionWAV writes one turn from the datum line, and after it the ring-out, as 16-bit sound in one channel, 44 100
// samples a second. Each tooth sounds as comb.Partials, comb.Silence and comb.Damping have it, from the nearest sample on,
// with the noises of release and damper; a tooth that is plucked again starts anew. It begins in silence, as the first turn
// does. After the turn the cylinder goes on, so dampers touch, but plucks no more; the file ends when all teeth have
// fallen by 60 dB, after 10 s at most, and the last tenth of that fades to nothing. The peak lies at −1 dBFS.
//
// A turn of more than ten minutes is refused with a *project.FieldError. Memory does not grow with the turn: what is
// written is computed twice, first for its peak. If w is a buffer that can grow, as bytes.Buffer, it does so once.
//
// Same result, same bytes: no product is fused with a sum, and what sine, exponential and powers give, whose last bits
// differ between processor architectures, is rounded before it is used. So two architectures differ only where such a
// value lies on the edge between two roundings, about once in some thousand files, and then by the lowest bit of a sample.
func auditionWAV(w io.Writer, j Job) error {
	r := j.Result
	turn := float64(r.Cylinder.RevolutionMs)
	if !(turn <= longestHeardMs) {
		return &project.FieldError{Pointer: "/tempo/revolutionMs", Message: phrase.Of("one turn takes {1} s, and audition.wav "+
			"holds turns of up to {2} s; set a shorter turn to hear it, or take arrangement.mid", strconv.FormatFloat(turn/1000, 'g', 6, 64), longestHeardMs/1000)}
	}
	s := newScore(r)
	out := &onePass{w: w, bytes: headerBytes + s.samples*sampleBits/8}
	if g, ok := w.(interface{ Grow(int) }); ok {
		g.Grow(out.bytes)
	}
	peak := 0.0
	err := s.play(func(block []float64) error {
		for _, v := range block {
			peak = max(peak, math.Abs(v))
		}
		return nil
	})
	if err != nil {
		return err
	}
	gain := 0.0
	if peak > 0 {
		gain = steady(comb.Gain(peakDb)) * (1 << (sampleBits - 1)) / peak
	}
	encoder := wav.NewEncoder(out, int(comb.SampleRateHz), sampleBits, 1, 1)
	whole := make([]int16, blockSamples)
	err = s.play(func(block []float64) error {
		for i, v := range block {
			whole[i] = int16(math.RoundToEven(v * gain))
		}
		// A block goes as one frame, since Write would allocate for each sample; what the encoder counts by it is not used.
		return encoder.WriteFrame(whole[:len(block)])
	})
	if err == nil {
		err = encoder.Close()
	}
	return cmp.Or(out.err, err)
}

// onePass lets the encoder, which goes back to write the two sizes in its header, write to what cannot go back: the
// sizes are known and are put where they belong at once, and what the encoder writes when it has gone back is dropped.
type onePass struct {
	w     io.Writer
	bytes int // of the whole file
	at    int
	done  bool  // reports whether the encoder has gone back
	err   error // of w, whose kind the encoder loses
}

func (o *onePass) Write(p []byte) (int, error) {
	if o.done {
		return len(p), nil
	}
	size := -1
	switch o.at {
	case 4:
		size = o.bytes - 8
	case headerBytes - 4:
		size = o.bytes - headerBytes
	}
	if size >= 0 && len(p) == 4 {
		p = []byte{byte(size), byte(size >> 8), byte(size >> 16), byte(size >> 24)}
	}
	n, err := o.w.Write(p)
	o.at, o.err = o.at+n, cmp.Or(o.err, err)
	return n, err
}

func (o *onePass) Seek(int64, int) (int64, error) {
	o.done = true
	return int64(o.at), nil
}

// score is when what sounds, in samples from the datum line.
type score struct {
	voices  []voice // of the teeth
	plucks  []pluck // in the order of their starts
	samples int     // of turn and ring-out
	fade    int     // samples at the end that fade
}

// voice is how one tooth sounds.
type voice struct {
	partials []resonator
	ends     []int // samples until each partial is too faint to hear
	rings    int   // samples until the tooth has fallen by 60 dB
	loud     float64
	damping  float64 // what the damper leaves after one sample
}

// pluck is what one pin makes of its tooth.
type pluck struct {
	tooth, pin             int
	release, touch, silent int
}

func newScore(r *project.Result) score {
	s := score{voices: make([]voice, len(r.Comb.Teeth)), plucks: make([]pluck, 0, len(r.Pins))}
	q := r.Setup.Comb.QualityFactor
	for i, t := range r.Comb.Teeth {
		v := voice{rings: samples(float64(comb.RingMs(t.FrequencyHz, q))),
			// A damper that takes less than a sample is done before the next.
			damping: max(1e-3, steady(comb.Damping(1000/unit.Milliseconds(comb.SampleRateHz), t.DampMs)))}
		for _, p := range comb.Partials(t.FrequencyHz, q) {
			v.partials = append(v.partials, newResonator(p))
			v.ends = append(v.ends, samples(-faintDb/20*math.Ln10*float64(p.DecayMs)))
			v.loud += steady(p.Amplitude)
		}
		s.voices[i] = v
	}
	turn, next := float64(r.Cylinder.RevolutionMs), make([]float64, len(r.Comb.Teeth))
	release := func(i int) float64 { return float64(r.Pins[i].AngleDeg) / 360 * turn }
	for i := len(r.Pins) - 1; i >= 0; i-- {
		next[r.Pins[i].Tooth-1] = release(i) + turn // the tooth's first pin, round the circle
	}
	s.samples = samples(turn)
	end := s.samples
	for i := len(r.Pins) - 1; i >= 0; i-- {
		k := r.Pins[i].Tooth - 1
		t := r.Comb.Teeth[k]
		touch, silent := comb.Silence(unit.Milliseconds(release(i)), unit.Milliseconds(next[k]), t.ContactMs, t.DampMs)
		p := pluck{tooth: k, pin: r.Pins[i].Pin, release: samples(release(i)), touch: samples(float64(touch)), silent: samples(float64(silent))}
		next[k] = release(i)
		s.plucks = append(s.plucks, p)
		end = max(end, p.release+noiseSamples, min(p.silent, p.release+s.voices[k].rings))
	}
	slices.SortFunc(s.plucks, func(a, b pluck) int { return cmp.Or(cmp.Compare(a.release, b.release), cmp.Compare(a.pin, b.pin)) })
	ringOut := min(end-s.samples, samples(longestRingMs))
	s.samples += ringOut
	s.fade = ringOut / 10
	return s
}

// samples gives a time in whole samples.
func samples(ms float64) int {
	return int(math.Round(unit.Round(ms) * float64(comb.SampleRateHz) / 1000))
}

// steady rounds v to 2⁻³², so that the last bits of functions that processors compute differently do not show.
func steady(v float64) float64 { return math.Round(v*(1<<32)) / (1 << 32) }

// play makes the sound, a block at a time. Every product is converted before it is added, which keeps it from being fused
// with the sum, as some processors would.
func (s score) play(hear func(block []float64) error) error {
	mix := make([]float64, blockSamples)
	line := make([]float64, stretch+blockSamples)
	var ringing []*ring
	waiting := s.plucks
	for from := 0; from < s.samples; from += blockSamples {
		block := mix[:min(blockSamples, s.samples-from)]
		clear(block)
		to := from + len(block)
		for ; len(waiting) > 0 && waiting[0].release < to; waiting = waiting[1:] {
			ringing = append(ringing, s.voices[waiting[0].tooth].ring(waiting[0]))
		}
		ringing = slices.DeleteFunc(ringing, func(g *ring) bool { return !g.sound(block, from, line) })
		for i := max(from, s.samples-s.fade); i < to; i++ {
			block[i-from] *= float64(s.samples-i) / float64(s.fade)
		}
		if err := hear(block); err != nil {
			return err
		}
	}
	return nil
}

// ring is a pluck as it sounds.
type ring struct {
	*voice
	pluck
	resonators [3]resonator
	damped     bool
	noises     [2]noise
}

func (v *voice) ring(p pluck) *ring {
	g := &ring{voice: v, pluck: p}
	copy(g.resonators[:], v.partials)
	g.noises[0] = noise{at: p.release, level: steady(comb.Gain(comb.ReleaseDb) * v.loud), state: seed(2 * p.pin)}
	g.noises[1] = noise{at: p.touch, level: steady(comb.Gain(comb.TouchDb) * v.loud), state: seed(2*p.pin + 1)}
	if p.touch == p.silent || p.touch-p.release >= v.rings {
		g.noises[1].played = noiseSamples // no ring is left for the damper to end
	}
	return g
}

// sound adds the ring's share to a block and reports whether it goes on after it.
func (g *ring) sound(block []float64, from int, line []float64) (goesOn bool) {
	to := from + len(block)
	for i := range g.noises {
		goesOn = g.noises[i].sound(block, from) || goesOn
	}
	g.span(block, from, g.release, g.touch, line)
	if !g.damped && g.touch < to {
		g.damped = true
		for i := range g.partials {
			g.resonators[i].damp(g.damping)
		}
	}
	g.span(block, from, g.touch, g.silent, line)
	return goesOn || min(g.silent, g.release+g.ends[0]) > to
}

// span adds what the ring brings to a block from start up to end.
func (g *ring) span(block []float64, from, start, end int, line []float64) {
	start = max(start, from)
	for i := range g.partials {
		if last := min(end, g.release+g.ends[i], from+len(block)); start < last {
			g.resonators[i].add(block[start-from:last-from], line)
		}
	}
}

// stretch is how many samples back a resonator reaches. It makes each sample from the fourth and the eighth before it, not
// from the last two, so that a processor can work on four at once.
const stretch = 8

// resonator goes on with a vibration a·r^n·sin(ωn) by y(n) = 2r⁴cos(4ω)·y(n−4) − r⁸·y(n−8).
type resonator struct {
	turn, shrink float64          // 2r⁴cos(4ω) and r⁸
	last         [stretch]float64 // samples before the next
}

// newResonator gives a partial from its release on.
func newResonator(p comb.Partial) resonator {
	step := 2 * math.Pi * float64(p.FrequencyHz/comb.SampleRateHz)
	decay := func(n float64) float64 {
		return math.Exp(-n * 1000 / (float64(p.DecayMs) * float64(comb.SampleRateHz)))
	}
	g := resonator{turn: steady(2 * decay(4) * math.Cos(4*step)), shrink: steady(decay(8))}
	for i := range g.last {
		n := float64(i - stretch)
		g.last[i] = steady(p.Amplitude * decay(n) * math.Sin(step*n))
	}
	return g
}

// damp lets the vibration fall by a further factor with each sample.
func (g *resonator) damp(factor float64) {
	back := 1.0
	for i := stretch - 1; i >= 0; i-- {
		back /= factor
		g.last[i] *= back
	}
	fourth := factor * factor * factor * factor
	g.turn *= fourth
	g.shrink *= fourth * fourth
}

// add adds the next samples to out. The line holds at least stretch more.
func (g *resonator) add(out, line []float64) {
	copy(line, g.last[:])
	line = line[:stretch+len(out)]
	for i := range out {
		v := float64(g.turn*line[i+stretch-4]) - float64(g.shrink*line[i])
		line[i+stretch] = v
		out[i] += v
	}
	copy(g.last[:], line[len(out):])
}

var noiseSamples = samples(float64(comb.NoiseMs))

// noisePass is how much of what comes in a noise's low-pass takes up with each sample, which leaves what lies under about 2.5 kHz.
const noisePass = 0.3

// noise is a short low-passed noise that fades evenly.
type noise struct {
	at, played int
	level      float64
	state      uint32 // of a xorshift generator: G. Marsaglia, Xorshift RNGs, Journal of Statistical Software 8 (2003) 14 (from memory)
	smooth     float64
}

// seed spreads small numbers over the generator's states, none of which is 0.
func seed(n int) uint32 { return uint32(n)*2654435769 | 1 }

// sound adds the noise's share to a block and reports whether it goes on after it.
func (n *noise) sound(block []float64, from int) (goesOn bool) {
	for ; n.played < noiseSamples && n.at+n.played < from+len(block); n.played++ {
		n.state ^= n.state << 13
		n.state ^= n.state >> 17
		n.state ^= n.state << 5
		n.smooth += float64(noisePass * (float64(int32(n.state))/(1<<31) - n.smooth))
		fading := float64(noiseSamples-n.played) / float64(noiseSamples)
		block[n.at+n.played-from] += float64(n.level * n.smooth * fading)
	}
	return n.played < noiseSamples
}
