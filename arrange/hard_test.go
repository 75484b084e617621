package arrange_test

import (
	"fmt"
	"math"
	"math/rand/v2"

	"pinwright/arrange"
	"pinwright/arrange/unit"
)

// hardness is a kind of problem, in one key, that an arranger may get wrong.
type hardness struct {
	name  string
	found []uint64 // seeds that once defeated proof
	make  func(d *draft)
}

var hardnesses = []hardness{
	{"trills at the limit", []uint64{751, 1416, 4954}, func(d *draft) {
		d.cut(1+d.IntN(8), 60, 84, 1+d.IntN(3))
		for range 1 + d.IntN(2) {
			low, up := d.pitch(), unit.Pitch(1+d.IntN(2))
			d.trill(low, 4+d.IntN(20), d.atLimit(low))
			if d.IntN(2) == 0 {
				d.trill(low+up, 4+d.IntN(20), d.atLimit(low+up))
			}
		}
	}},
	{"twins at the limit", nil, func(d *draft) {
		twins := 2 + d.IntN(3)
		d.cut(twins+d.IntN(3), 60, unit.Pitch(72+12*d.IntN(2)), twins)
		pitch := d.pitch()
		d.trill(pitch, 10+d.IntN(16), d.atLimit(pitch)/float64(twins-d.IntN(2)))
		d.scatter(d.IntN(8), 0, d.turn)
	}},
	{"chords wider than the comb", nil, func(d *draft) {
		d.cut(1+d.IntN(6), 60, 96, 1+d.IntN(2))
		for range 1 + d.IntN(5) {
			at := d.Float64() * d.turn
			for range 4 + d.IntN(8) {
				d.note(at+d.Float64()*10, d.pitch()+unit.Pitch(d.IntN(5)))
			}
		}
	}},
	{"plucks at the seam", nil, func(d *draft) {
		d.cut(1+d.IntN(5), 60, 84, 1+d.IntN(3))
		near := float64(d.RepeatMs[60]) * 1.5
		d.scatter(4+d.IntN(16), -near, near)
		pitch := d.pitch()
		limit := d.atLimit(pitch)
		d.note(-limit/2, pitch)
		d.note(limit/2, pitch)
	}},
	{"every note on two pitches", nil, func(d *draft) {
		d.cut(2+d.IntN(9), 60, 83, 1+d.IntN(2))
		d.scatter(10+d.IntN(30), 0, d.turn)
	}},
	{"fixed combs with odd sets", nil, func(d *draft) {
		d.given(2 + d.IntN(8))
		d.scatter(10+d.IntN(30), 0, d.turn)
	}},
	{"octaves locked, notes left out", nil, func(d *draft) {
		d.anyComb()
		d.scatter(10+d.IntN(25), 0, d.turn)
		d.lock(1+d.IntN(5), false)
	}},
	{"pitch, twin and time locked", nil, func(d *draft) {
		d.anyComb()
		d.scatter(10+d.IntN(20), 0, d.turn)
		d.lock(1+d.IntN(4), true)
	}},
	{"combs partly retuned", nil, func(d *draft) {
		d.retuned()
		d.scatter(10+d.IntN(25), 0, d.turn)
		if d.IntN(3) == 0 {
			d.lock(1+d.IntN(2), false)
		}
	}},
	{"turns of a few repeat times", []uint64{653, 1072, 1190, 2838, 3124, 4269, 4853}, func(d *draft) {
		d.turn = 500 + d.Float64()*1000
		d.RevolutionMs, d.RepeatMs = unit.Milliseconds(d.turn), repeats(d.turn)
		for i := range d.RepeatMs {
			d.RepeatMs[i] *= 1.5
		}
		d.anyComb()
		d.scatter(6+d.IntN(18), 0, d.turn)
	}},
	{"all of it", nil, func(d *draft) {
		d.anyComb()
		pitch := d.pitch()
		d.trill(pitch, 4+d.IntN(12), d.atLimit(pitch)/float64(1+d.IntN(3)))
		d.scatter(4+d.IntN(12), 0, d.turn)
		d.scatter(2+d.IntN(6), -200, 200)
		d.lock(d.IntN(3), false)
	}},
}

// pose gives the problem of a kind that a seed leads to.
func (h hardness) pose(seed uint64) *arrange.Problem {
	d := &draft{Rand: rand.New(rand.NewPCG(seed, 1959)), Problem: new(arrange.Problem)}
	d.turn = []float64{2500, 4000, 6000}[d.IntN(3)]
	d.RevolutionMs, d.RepeatMs = unit.Milliseconds(d.turn), repeats(d.turn)
	d.MinX = d.IntN(25) - 12
	d.MaxX = d.MinX
	h.make(d)
	d.compose()
	return d.Problem
}

// draft is a problem in the making.
type draft struct {
	*rand.Rand
	*arrange.Problem
	turn    float64
	sources []arrange.Source
}

// pitch gives one of few, so that notes meet.
func (d *draft) pitch() unit.Pitch { return unit.Pitch(55 + 12*d.IntN(4) + d.IntN(4)) }

// note adds a note, at a time round the circle.
func (d *draft) note(at float64, pitch unit.Pitch) {
	at = math.Mod(at+d.turn, d.turn)
	if at >= d.turn-0.001 {
		at = 0
	}
	d.sources = append(d.sources, arrange.Source{ID: fmt.Sprint("n", len(d.sources)), AtMs: unit.Milliseconds(at), Pitch: pitch, Part: "t1c1"})
}

// scatter adds notes between two times, half the time on a grid.
func (d *draft) scatter(n int, from, to float64) {
	step := 20 + d.Float64()*100
	grid := d.IntN(2) == 0
	for range n {
		at := from + d.Float64()*(to-from)
		if grid {
			at = step * math.Floor(at/step)
		}
		d.note(at, d.pitch())
	}
}

// trill repeats a pitch.
func (d *draft) trill(pitch unit.Pitch, times int, step float64) {
	at := d.Float64() * d.turn
	for i := range min(times, int(d.turn/step)) {
		d.note(at+step*float64(i), pitch)
	}
}

// atLimit gives the repeat time of a note where it is not moved, or a time that differs in what still counts: two plucks are far
// enough apart 0.01 ms below the repeat time, and a millionth less is rounding.
func (d *draft) atLimit(pitch unit.Pitch) float64 {
	from := []float64{0, 0.01, -0.01 + 1e-6, -0.01 - 1e-6, -0.02}
	return float64(d.RepeatMs[pitch+unit.Pitch(d.MinX)]) + from[d.IntN(len(from))]
}

func (d *draft) cut(teeth int, low, high unit.Pitch, twins int) {
	d.Comb = arrange.Stock{Teeth: teeth, Low: low, High: high, MaxTwins: twins}
}

func (d *draft) given(teeth int) {
	d.Comb = arrange.Stock{Fixed: map[unit.Pitch]int{}, MaxTwins: 4}
	for range teeth {
		d.Comb.Fixed[d.pitch()+unit.Pitch(d.MinX+12*(d.IntN(3)-1)+d.IntN(2))]++
	}
}

func (d *draft) retuned() {
	teeth := 2 + d.IntN(8)
	d.given(teeth)
	d.Comb.Teeth, d.Comb.Retuned = teeth+d.IntN(2), 1+d.IntN(3)
	d.Comb.Low, d.Comb.High, d.Comb.MaxTwins = unit.Pitch(48+d.IntN(20)), unit.Pitch(72+d.IntN(25)), 1+d.IntN(3)
}

func (d *draft) anyComb() {
	switch d.IntN(4) {
	case 0:
		d.given(2 + d.IntN(8))
	case 1:
		d.retuned()
	default:
		d.cut(1+d.IntN(9), 60, unit.Pitch(72+d.IntN(25)), 1+d.IntN(3))
	}
}

// compose merges the notes that are new.
func (d *draft) compose() {
	if d.Locks == nil {
		d.Notes = arrange.Compose(d.sources)
		d.Locks = make([]arrange.Lock, len(d.Notes))
	}
}

// lock locks some of the notes, never two nearer than a tooth allows: whoever does so is told, and there is no best.
func (d *draft) lock(n int, all bool) {
	d.compose()
	at := map[unit.Pitch][]unit.Milliseconds{}
	for range n {
		i, octaves := d.IntN(len(d.Notes)), d.IntN(5)-2
		lock, note := arrange.Lock{Octaves: &octaves}, d.Notes[i]
		pitch := note.Pitch + unit.Pitch(d.MinX+12*octaves)
		if d.Comb.Fixed[pitch] == 0 && (pitch < d.Comb.Low || pitch > d.Comb.High) || d.Locks[i] != (arrange.Lock{}) {
			continue
		}
		if all {
			if lock.ShiftMs = unit.Milliseconds(d.IntN(51) - 25); note.OnsetMs+lock.ShiftMs < 0 || note.OnsetMs+lock.ShiftMs >= d.RevolutionMs {
				lock.ShiftMs = 0
			}
			lock.Twin = d.IntN(3)
			if d.IntN(2) == 0 {
				lock.Octaves, lock.Pitch = nil, &pitch
			}
		} else if d.IntN(3) == 0 {
			d.Locks[i] = arrange.Lock{LeaveOut: true}
			continue
		}
		clash := false
		for _, other := range at[pitch] {
			clash = clash || roundTheCircle(other, note.OnsetMs+lock.ShiftMs, d.RevolutionMs) < float64(d.RepeatMs[pitch])
		}
		if !clash {
			d.Locks[i], at[pitch] = lock, append(at[pitch], note.OnsetMs+lock.ShiftMs)
		}
	}
}

func roundTheCircle(a, b, turn unit.Milliseconds) float64 {
	apart := math.Abs(float64(a - b))
	return min(apart, float64(turn)-apart)
}

// repeats fills the repeat times of a default compact movement that turns once in turn ms, from the formulas.
func repeats(turn float64) (all [128]unit.Milliseconds) {
	for p := range all {
		all[p] = unit.Milliseconds(turn*0.009684 + 15_000/float64(unit.Pitch(p).Frequency()) + 60)
	}
	return all
}
