// Package tolerance gives how likely a cylinder still plays when its holes are set and drilled as well as a maker can: each hole's error along the
// arc is independent and normally distributed, with a standard deviation σ, about the place that the method of indexing reaches.
package tolerance

import (
	"cmp"
	"math"
	"slices"

	"pinwright/arrange/comb"
	"pinwright/arrange/unit"
	"pinwright/pinmap"
	"pinwright/pinmap/indexing"
)

// Usual gives the usual standard deviation of setting and drilling a hole along the arc with a method, on top of its rounding: common practice, no
// published source; measure your own.
func Usual(m pinmap.Method) unit.Millimetres {
	switch m {
	case pinmap.Wrap:
		return 0.1 // pricked through paper and drilled by hand
	case pinmap.Vernier:
		return 0.06 // marked out and centre-punched
	case pinmap.Degrees, pinmap.Sixties, pinmap.Wheel:
		return 0.03
	}
	return 0.02
}

// Sigma gives the standard deviation that a bench asks for: its own, or the usual one for its method.
func Sigma(b pinmap.Bench) unit.Millimetres {
	if b.SigmaMm > 0 {
		return b.SigmaMm
	}
	return Usual(b.Method)
}

// Report is what may be expected of the holes of a cylinder. Repeats that fail as computed are not counted: they are clashes, whoever drills.
type Report struct {
	SigmaMm  unit.Millimetres
	JitterMs unit.Milliseconds // σ in time: the root mean square of how far a release comes too early or too late
	// Risk is the chance that some repeat fails, and RiskMost a bound that it does not exceed. They differ by more than 1e-7 only where one tooth
	// is at risk between all of its plucks round the circle.
	Risk, RiskMost float64
	Failing        float64 // number of repeats that fail, on average
	Repeats        []RepeatRisk
	Pins           []PinRisk
	Intervals      int     // from onset to onset within the tune
	Heard          float64 // share of them, on average, whose error an ear can tell
}

// RepeatRisk is a repeat with the chance that it fails; a Report has those of 1e-12 and more, most first.
type RepeatRisk struct {
	indexing.Repeat
	Chance float64
}

// PinRisk is a pin with the chance that one of its two repeats fails, p + q − pq, which is too low by no more than pq. Pin is its index.
type PinRisk struct {
	Pin    int
	Chance float64
}

const (
	least   = 1e-12 // chance that is told
	vacant  = 1e-13 // chance that is taken for none
	none    = -40   // logarithm of a chance that is taken for none
	product = 1e-5  // chance up to which repeats in a row are taken for independent; it is then right to half of its square
)

// Of gives the report for pins whose holes are set as rows say. A repeat holds where the reached distance, and the difference of the two holes'
// errors, N(0, 2σ²), leave the tooth its time:
//
//	P(fails) = Φ((repeatMs − 0.01 − reachedMs)/(σ√2)), σ in ms = σ·T/(πD)
//
// Plucks that follow each other share a hole, so that their repeats depend on each other. Those of one tooth form a chain, whose chance is an
// integral over one hole after the other, done numerically to 1e-8 (see chain). A tooth at risk all the way round is cut at its least likely
// failure, of chance p: the differences are correlated by −½ or not at all, so that by Slepian's inequality (D. Slepian, Bell System Technical
// Journal 41 (1962) 463, from memory) all hold with a chance of at most (1 − p) times that of the rest, and by Bonferroni's of at least that less p.
//
// Cost: n log n, and some microseconds for each repeat that is at risk together with its neighbour.
func Of(b pinmap.Bench, c pinmap.Cylinder, turnMs unit.Milliseconds, pins []pinmap.Pin, rows []indexing.Row, need func(tooth int) unit.Milliseconds) Report {
	r := Report{SigmaMm: Sigma(b)}
	r.JitterMs = turnMs * unit.Milliseconds(r.SigmaMm/c.CircumferenceMm())
	sigma := float64(r.JitterMs)
	repeats := indexing.Repeats(rows, pins, turnMs, need)
	short, fails := make([]float64, len(repeats)), make([]float64, len(repeats))
	byPin := make([]float64, len(pins))
	var most, low float64 // logarithms of the chance that all hold
	var k *chains
	for from := 0; from < len(repeats); {
		to := from
		for ; to < len(repeats) && repeats[to].Tooth == repeats[from].Tooth; to++ {
			p := repeats[to]
			short[to], fails[to] = failing(p, sigma)
			r.Failing += fails[to]
			byPin[p.A] = 1 - (1-byPin[p.A])*(1-fails[to])
			byPin[p.B] = 1 - (1-byPin[p.B])*(1-fails[to])
			if fails[to] >= least {
				r.Repeats = append(r.Repeats, RepeatRisk{p, fails[to]})
			}
		}
		if k == nil {
			k = newChains()
		}
		m, l := k.tooth(short[from:to], fails[from:to], most < none)
		most, low = most+m, low+l
		from = to
	}
	r.Risk, r.RiskMost = -math.Expm1(most), -math.Expm1(low)
	slices.SortStableFunc(r.Repeats, func(a, b RepeatRisk) int { return cmp.Compare(b.Chance, a.Chance) })
	for i, chance := range byPin {
		if chance >= least {
			r.Pins = append(r.Pins, PinRisk{i, chance})
		}
	}
	slices.SortStableFunc(r.Pins, func(a, b PinRisk) int { return cmp.Compare(b.Chance, a.Chance) })
	r.Intervals, r.Heard = heard(pins, rows, turnMs, sigma)
	return r
}

// failing gives by how many σ a repeat is too short, and its chance to fail; none where it fails as computed.
func failing(p indexing.Repeat, sigma float64) (short, chance float64) {
	if p.ComputedMs < p.NeedMs-comb.Slack {
		return math.Inf(-1), 0
	}
	short = float64(p.NeedMs-comb.Slack-p.HaveMs) / sigma
	return short, normal(short / math.Sqrt2)
}

// Exceeds reports whether RiskMost of Of's report is above a limit. Mostly the chances of the single repeats tell: by Slepian's inequality the
// risk is at least that of as many independent repeats, by Bonferroni's at most their sum.
func Exceeds(limit float64, b pinmap.Bench, c pinmap.Cylinder, turnMs unit.Milliseconds, pins []pinmap.Pin, rows []indexing.Row, need func(tooth int) unit.Milliseconds) bool {
	sigma := float64(turnMs) * float64(Sigma(b)/c.CircumferenceMm())
	sum, hold := 0.0, 1.0
	for _, p := range indexing.Repeats(rows, pins, turnMs, need) {
		_, chance := failing(p, sigma)
		sum += chance
		hold *= 1 - chance
	}
	const slack = 1e-7
	switch {
	case sum <= limit-slack:
		return false
	case 1-hold > limit+slack:
		return true
	}
	return Of(b, c, turnMs, pins, rows, need).RiskMost > limit
}

// tooth gives the logarithm of the chance that all repeats of one tooth hold, at most and at least; lost reports whether what holds is nothing
// already, so that it need not be known well.
func (k *chains) tooth(short, fails []float64, lost bool) (most, low float64) {
	n := len(fails)
	cut := 0
	for i, p := range fails {
		if p < fails[cut] {
			cut = i
		}
	}
	p := fails[cut]
	if n == 2 { // each is the other the other way round: both cannot fail
		both := math.Log1p(-min(fails[0]+fails[1], 1))
		return both, both
	}
	row := func(of []float64) []float64 { return append(slices.Clone(of[cut+1:]), of[:cut]...) }
	short, fails = row(short), row(fails)
	for from := 0; from < len(fails); {
		to, sum := from, 0.0
		for ; to < len(fails) && fails[to] >= vacant; to++ {
			sum += fails[to]
		}
		switch {
		case to-from > 1 && sum > product && !lost:
			most += math.Log(k.chance(short[from:to]))
		default:
			for _, p := range fails[from:to] {
				most += math.Log1p(-p)
			}
		}
		from = to + 1
	}
	if p < vacant {
		return most, most
	}
	return most + math.Log1p(-p), math.Log(max(math.Exp(most)-p, 0))
}

// normal is the distribution function of the standard normal distribution, Φ.
func normal(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// The grid of a chain, in σ: beyond its ends lie 1e-15 of all errors.
const (
	reach  = 8
	within = 32 // steps of one σ
	points = 2*reach*within + 1
)

// chains integrates over rows of repeats.
type chains struct {
	phi [points]float64 // density of the normal distribution
	f   [points]float64 // of the last error of the row, those before it being as they must
	sum [points]float64 // its integral
}

func newChains() *chains {
	k := &chains{}
	for i := range k.phi {
		x := float64(i)/within - reach
		k.phi[i] = math.Exp(-x*x/2) / math.Sqrt(2*math.Pi)
	}
	return k
}

// chance gives the chance that each of a row of independent standard normal errors x₀, x₁ … lies at least h above the one before, h[i] from xᵢ to
// xᵢ₊₁, to about 1e-8:
//
//	f₀ = φ, fᵢ₊₁(y) = φ(y)·∫ fᵢ(x) dx over x ≤ y − h[i], the chance is the integral of the last
//
// The integrals are cumulative sums of the fourth order on an even grid, read between its points by cubic Hermite interpolation.
func (k *chains) chance(h []float64) float64 {
	k.f = k.phi
	k.integrate()
	for _, h := range h {
		shift := max(min(-h*within, points), -points) // grid steps from y to y − h
		by := int(math.Floor(shift))
		t := shift - float64(by)
		a, b := (1+2*t)*(1-t)*(1-t), t*t*(3-2*t)
		c, d := t*(1-t)*(1-t)/within, t*t*(t-1)/within
		first, last := min(max(-by, 0), points), min(max(points-1-by, 0), points) // between them y − h lies on the grid
		var next [points]float64
		for i := first; i < last; i++ {
			at := i + by
			next[i] = k.phi[i] * (a*k.sum[at] + b*k.sum[at+1] + c*k.f[at] + d*k.f[at+1])
		}
		for i := last; i < points; i++ {
			next[i] = k.phi[i] * k.sum[points-1]
		}
		k.f = next
		k.integrate()
	}
	return max(k.sum[points-1], 0)
}

func (k *chains) integrate() {
	f, sum := &k.f, 0.0
	for i := 1; i < points-2; i++ { // the ends hold nothing that counts
		sum += (13*(f[i]+f[i+1]) - f[i-1] - f[i+2]) / (24 * within)
		k.sum[i+1] = sum
	}
	k.sum[0], k.sum[1], k.sum[points-1] = 0, 0, sum
}

// together is how near two releases are one onset.
const together unit.Milliseconds = 10

// Noticed gives by how much one tone in an even sequence must come too early or too late before an ear can tell: 6 ms below intervals of
// 240 ms, 2.5 % above; averages over listeners, for intervals of 100 to 1 000 ms. A. Friberg, J. Sundberg, Journal of the Acoustical Society of
// America 98 (1995) 2524, abstract.
func Noticed(interval unit.Milliseconds) unit.Milliseconds { return max(6, 0.025*interval) }

// heard gives the number of intervals from onset to onset, that across the datum line left out, and the share of them whose error is one that
// an ear can tell, on average. The highest tooth speaks for an onset.
func heard(pins []pinmap.Pin, rows []indexing.Row, turnMs unit.Milliseconds, sigma float64) (intervals int, share float64) {
	order := make([]int, len(pins))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Or(cmp.Compare(pins[a].AngleDeg, pins[b].AngleDeg), cmp.Compare(a, b)) })
	at := func(i int) unit.Milliseconds { return unit.Milliseconds(pins[i].AngleDeg/360) * turnMs }
	last := -1 // pin that spoke for the onset before
	for from := 0; from < len(order); {
		to, speaks := from, order[from]
		for ; to < len(order) && at(order[to])-at(order[from]) <= together; to++ {
			if pins[order[to]].Tooth > pins[speaks].Tooth {
				speaks = order[to]
			}
		}
		from = to
		if last >= 0 {
			off := float64(rows[speaks].ErrorMs - rows[last].ErrorMs)
			limit, spread := float64(Noticed(at(speaks)-at(last))), sigma*math.Sqrt2
			share += normal((off-limit)/spread) + normal((-off-limit)/spread)
			intervals++
		}
		last = speaks
	}
	return intervals, share / float64(max(intervals, 1))
}
