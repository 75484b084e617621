package arrange

import (
	"cmp"
	"maps"
	"slices"

	"pinwright/arrange/unit"
)

// assemble turns the best key into plucks on numbered teeth.
func (p *Problem) assemble(k *key, ways [12]way, bound int) *Solution {
	s := &Solution{Transpose: k.x, Unmet: k.unmet}
	type row struct {
		teeth  int
		plucks []Placed
		twins  []int
	}
	rows := map[unit.Pitch]*row{}
	if !p.Comb.open() {
		for pitch, n := range p.Comb.Fixed {
			rows[pitch] = &row{teeth: n}
		}
	}
	for i, c := range k.classes {
		for r, pitch := range c.pitches {
			if rows[pitch] == nil && ways[i].teeth[r] > 0 {
				rows[pitch] = &row{teeth: ways[i].teeth[r]}
			}
		}
		for n, o := range ways[i].choice {
			if o < 0 {
				continue
			}
			note := &c.notes[n]
			opt := note.options[o]
			at := p.Notes[note.note].OnsetMs + p.Locks[note.note].ShiftMs
			r := rows[c.pitches[opt.row]]
			r.plucks = append(r.plucks, Placed{Note: note.note, Pitch: c.pitches[opt.row], Octaves: opt.octaves, TimeMs: at,
				Value: float64(opt.value) / 100, Locked: note.locked})
			r.twins = append(r.twins, note.twin)
		}
	}
	total, value := 0, 0
	shared, tables := map[unit.Pitch]*sharing{}, turnTables{}
	pitches := make([]unit.Pitch, 0, len(rows))
	for pitch, r := range rows {
		pitches = append(pitches, pitch)
		total += r.teeth
		shared[pitch] = newSharing(r.plucks, r.twins, p.RevolutionMs, p.RepeatMs[pitch], tables)
	}
	slices.Sort(pitches)
	for _, pitch := range slices.Sorted(maps.Keys(p.Comb.Fixed)) { // given teeth stay where there is room
		if keep := min(p.Comb.Fixed[pitch], p.Comb.Teeth-total); p.Comb.open() && keep > 0 {
			if rows[pitch] == nil {
				rows[pitch], shared[pitch] = &row{}, newSharing(nil, nil, p.RevolutionMs, p.RepeatMs[pitch], tables)
				pitches = append(pitches, pitch)
			}
			if more := min(p.Comb.Fixed[pitch]-rows[pitch].teeth, p.Comb.Teeth-total); more > 0 {
				rows[pitch].teeth += more
				total += more
			}
		}
	}
	slices.Sort(pitches)
	if p.Comb.Fixed == nil {
		s.Spare = p.Comb.Teeth - total
		var most []int
		for _, pitch := range pitches {
			most = append(most, p.Comb.MaxTwins-rows[pitch].teeth)
		}
		for i, more := range lengthen(s.Spare, most, func(i, more int) unit.Milliseconds {
			return shared[pitches[i]].nearest(rows[pitches[i]].teeth + more)
		}) {
			rows[pitches[i]].teeth += more
			s.Spare -= more
		}
	}
	for _, pitch := range pitches {
		first := len(s.Teeth)
		r := rows[pitch]
		tooth := shared[pitch].among(r.teeth)
		for range r.teeth {
			s.Teeth = append(s.Teeth, pitch)
		}
		for i, placed := range r.plucks {
			if tooth[i] < 0 {
				continue
			}
			placed.Tooth = first + tooth[i] + 1
			s.Plucks = append(s.Plucks, placed)
			value += hundredths(p.Notes[placed.Note].Role, placed.Octaves)
		}
	}
	slices.SortFunc(s.Plucks, func(a, b Placed) int { return cmp.Compare(a.Note, b.Note) })
	s.Objective, s.Bound = float64(value)/100, float64(max(bound, value))/100
	s.Proven = value >= bound
	return s
}
