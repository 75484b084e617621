package bench

import (
	"fmt"
	"io"
	"strconv"

	"pinwright/arrange/unit"
	"pinwright/pinmap/project"
)

// several says how the tunes of a cylinder lie on it; nil of one tune. Tunes go by letters: a is the project's own.
type several struct {
	tune   []int   // of each pin
	own    int     // teeth of the project's own comb
	tracks []track // of the other tunes
}

// track is a ring of the cylinder that passes one tooth.
type track struct {
	axial unit.Millimetres
	tooth int
	name  string // of the tooth's note; empty where another track says it
}

// allTunes makes a file of all tunes on the cylinder: the result that write gets has the pins of all, in one numbering, and the teeth of both combs.
func allTunes(write func(io.Writer, Job) error) func(io.Writer, Job) error {
	return func(w io.Writer, j Job) error { return write(w, j.joined()) }
}

func (j Job) joined() Job {
	if len(j.Result.Beside) == 0 {
		return j
	}
	r := *j.Result
	j.several = &several{own: len(r.Comb.Teeth)}
	r.Pins = nil
	for _, h := range j.Result.Holes() {
		r.Pins = append(r.Pins, h.Pin)
		j.several.tune = append(j.several.tune, h.Tune)
	}
	r.Comb.Teeth = append([]project.ToothView(nil), r.Comb.Teeth...)
	for _, b := range r.Beside {
		teeth, named := j.Result.Comb.Teeth, false
		if b.Comb != nil {
			teeth, named = b.Comb.Teeth, true
			for range r.Comb.Spare { // they have numbers, and no note
				r.Comb.Teeth = append(r.Comb.Teeth, project.ToothView{Tooth: len(r.Comb.Teeth) + 1, Note: "spare", Twins: 1})
			}
			r.Comb.Teeth = append(r.Comb.Teeth, teeth...)
		}
		for k, tooth := range teeth {
			t := track{axial: r.Cylinder.AxialMm(k+1) + b.OffsetMm, tooth: tooth.Tooth}
			if named {
				t.name = tooth.Note
			}
			j.several.tracks = append(j.several.tracks, t)
		}
	}
	j.Result = &r
	return j
}

// tracks gives the tracks of all tunes, those of the project's own comb first.
func (j Job) tracks() (all []track) {
	own, others := j.Result.Comb.Teeth, []track(nil)
	if j.several != nil {
		own, others = own[:j.several.own], j.several.tracks
	}
	for _, t := range own {
		all = append(all, track{j.Result.Cylinder.AxialMm(t.Tooth), t.Tooth, t.Note})
	}
	return append(all, others...)
}

// letter gives the letter of a pin's tune where there are several.
func (j Job) letter(pin int) string {
	if j.several == nil {
		return ""
	}
	return project.TuneLetter(j.several.tune[pin])
}

// tuneNotes says how the tunes lie on the cylinder; nothing of one tune.
func (j Job) tuneNotes() []string {
	if j.several == nil {
		return nil
	}
	how := "The letter after a number is the tune; between tunes the cylinder is moved along its axis, in the silent gap."
	if j.Result.Beside[0].Comb != nil {
		how = "The letter after a number is the comb: a at the bass end, b beyond it."
	}
	words := how + " a: " + shorten(j.Result.Title, 60)
	for i, b := range j.Result.Beside {
		words += fmt.Sprintf("; %s: %s, %s mm farther from the bass-end face", project.TuneLetter(i+1), shorten(printable(b.Title), 60), trim(float64(b.OffsetMm)))
	}
	return []string{words + "."}
}

// holeNumber gives what stands beside a hole: its number, and the letter of its tune.
func (j Job) holeNumber(pin, number int) string { return strconv.Itoa(number) + j.letter(pin) }

// tuneOf gives the letter of a pin's tune, a for the project's own.
func (j Job) tuneOf(pin int) string {
	if j.several == nil {
		return project.TuneLetter(0)
	}
	return j.letter(pin)
}
