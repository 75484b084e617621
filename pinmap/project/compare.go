package project

import (
	"cmp"
	"context"
	"slices"

	"pinwright/arrange"
	"pinwright/arrange/phrase"
	"pinwright/arrange/tune"
	"pinwright/arrange/unit"
)

// ComparisonSchema names the version of Comparison.
const ComparisonSchema = "pinwright/comparison/1"

// MostCompared is how many tunes one comparison takes.
const MostCompared = 12

// Candidate is one tune of a comparison.
type Candidate struct {
	FileName string
	Tune     *tune.Tune
}

// Comparison says which of several tunes suits a comb best, and what one comb for all of them would be.
type Comparison struct {
	Schema   string        `json:"schema"`
	Mode     string        `json:"mode"`     // "fixed": all on the given comb; "cut": each on the best comb of its own
	Tunes    []TuneWorth   `json:"tunes"`    // the one that keeps most first
	Together *TogetherView `json:"together"` // null for a single tune
}

// TuneWorth is what a comb keeps of one tune.
type TuneWorth struct {
	File       int     `json:"file"` // place in the upload, from 1
	FileName   string  `json:"fileName"`
	Title      string  `json:"title"`
	Kept       float64 `json:"kept"` // share of the tune's value, 0 to 1
	Objective  float64 `json:"objective"`
	TotalValue float64 `json:"totalValue"`
	Proven     bool    `json:"proven"`
	Transpose  int     `json:"transpose"`
	Notes      int     `json:"notes"`
	Played     int     `json:"played"`
	Moved      int     `json:"moved"` // of the played, by octaves
}

// TogetherView is one comb cut for all tunes, so that the sum of their values is greatest.
type TogetherView struct {
	Pitches   []unit.NoteName `json:"pitches"`
	Spare     int             `json:"spare"` // teeth that nothing would gain from
	Objective float64         `json:"objective"`
	Bound     float64         `json:"bound"`
	Proven    bool            `json:"proven"`
	Tunes     []TuneWorth     `json:"tunes"` // in the order of the upload
}

// Compare puts several tunes on one comb each way. The setup holds for all of them; what it says of parts must hold for each file.
// Errors of the setup are of type *FieldError and name the file.
func Compare(ctx context.Context, tunes []Candidate, setup Setup) (*Comparison, error) {
	c := &Comparison{Schema: ComparisonSchema, Mode: setup.Comb.Mode}
	setup.Beside = nil // each tune by itself
	var all []*derivation
	for i, t := range tunes {
		d, err := derive(ctx, t.Tune, setup, nil, arrange.NewExact(), nil)
		if fault, ok := err.(*FieldError); ok {
			return nil, fieldError(fault.Pointer, phrase.Join(": ", phrase.Text(short([]byte(t.FileName))), fault.Message))
		}
		if err != nil {
			return nil, err
		}
		all = append(all, d)
		c.Tunes = append(c.Tunes, d.worth(i, t, d.solution))
	}
	if len(all) > 1 {
		together, err := onOneComb(ctx, tunes, all)
		if err != nil {
			return nil, err
		}
		c.Together = together
	}
	slices.SortStableFunc(c.Tunes, func(a, b TuneWorth) int { return cmp.Compare(b.Kept, a.Kept) })
	return c, nil
}

// worth says what a solution keeps of a tune.
func (d *derivation) worth(i int, t Candidate, s *arrange.Solution) TuneWorth {
	w := TuneWorth{File: i + 1, FileName: t.FileName, Title: d.result.Title, Objective: unit.Round(s.Objective), TotalValue: d.result.Arrangement.TotalValue,
		Proven: s.Proven, Transpose: s.Transpose, Notes: len(d.notes), Played: len(s.Plucks)}
	for _, p := range s.Plucks {
		if p.Octaves != 0 {
			w.Moved++
		}
	}
	if w.TotalValue > 0 {
		w.Kept = min(unit.Round(w.Objective/w.TotalValue), 1)
	}
	return w
}

// onOneComb cuts one comb for all tunes: of the size that the setup has, or the given comb has.
func onOneComb(ctx context.Context, tunes []Candidate, all []*derivation) (*TogetherView, error) {
	problems := make([]*arrange.Problem, len(all))
	for i, d := range all {
		p := *d.problem
		if p.Comb.Fixed != nil {
			c := &counsel{derivation: d}
			p.Comb = arrange.Stock{Teeth: len(d.solution.Teeth), MaxTwins: d.setup.Comb.MaxTwins}
			p.Comb.Low, p.Comb.High = c.reach()
		}
		problems[i] = &p
	}
	j, err := arrange.NewExact().Together(ctx, problems)
	if err != nil {
		return nil, err
	}
	v := &TogetherView{Pitches: make([]unit.NoteName, len(j.Teeth)), Spare: problems[0].Comb.Teeth - len(j.Teeth),
		Objective: unit.Round(j.Objective), Bound: unit.Round(j.Bound), Proven: j.Proven}
	for i, p := range j.Teeth {
		v.Pitches[i] = unit.NoteName(p)
	}
	for i, d := range all {
		v.Tunes = append(v.Tunes, d.worth(i, tunes[i], j.Solutions[i]))
	}
	return v, nil
}
