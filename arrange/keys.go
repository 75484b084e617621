package arrange

import (
	"cmp"
	"context"
	"math"
	"slices"
)

// KeyValue is the best that one transposition allows.
type KeyValue struct {
	Transpose        int
	Objective, Bound float64
	Proven           bool
}

// Keys gives the best keys of a problem, at most count, in the order in which Solve would take them. Keys that cannot be
// among them are not solved.
func (e *Exact) Keys(ctx context.Context, p *Problem, count int) ([]KeyValue, error) {
	kinds, chord := p.kinds(), p.chords()
	var outlines []*key
	for x := p.MinX; x <= p.MaxX; x++ {
		outlines = append(outlines, p.outline(x, kinds, nil, allClasses))
	}
	slices.SortFunc(outlines, func(a, b *key) int {
		return cmp.Or(cmp.Compare(len(a.unmet), len(b.unmet)), cmp.Compare(b.ceiling, a.ceiling), nearer(a, b))
	})
	type solved struct {
		*key
		value, bound int
	}
	var best []solved
	for _, k := range outlines {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if len(k.unmet) > len(outlines[0].unmet) || len(best) == count && k.ceiling < best[count-1].value {
			break
		}
		p.state(k, chord, allClasses)
		e.spent, e.most = 0, p.work()
		found := e.begin(p, k, nil)
		if err := e.pursue(ctx, p, found, -1); err != nil {
			return nil, err
		}
		s := p.assemble(k, found.best, found.bound)
		k.classes = [12]*class{}
		best = append(best, solved{k, int(math.Round(100 * s.Objective)), int(math.Round(100 * s.Bound))})
		slices.SortFunc(best, func(a, b solved) int { return cmp.Or(cmp.Compare(b.value, a.value), nearer(a.key, b.key)) })
		best = best[:min(len(best), count)]
	}
	values := make([]KeyValue, len(best))
	for i, b := range best {
		values[i] = KeyValue{b.x, float64(b.value) / 100, float64(b.bound) / 100, b.value >= b.bound}
	}
	return values, nil
}
