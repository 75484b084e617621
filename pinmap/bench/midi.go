package bench

import (
	"io"
	"math"
	"sort"

	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"

	"pinwright/arrange/unit"
	"pinwright/pinmap/project"
)

// Of arrangement.mid: ticks a quarter note, the longest that a tooth is written to ring, and the strength of a pluck.
const (
	ticksPerQuarter = 24_000
	ringMs          = 2000.0
	velocity        = 96
	musicBox        = 10 // General MIDI program 11, counted from 0
)

// arrangementMID writes one turn from the datum line as a Standard MIDI File of format 0: each pluck where its pin
// releases the tooth, held until a pin touches a tooth of that pitch again, 2 s at most. The tempo is the played one where
// a tick of it is fine enough (20 bpm or more), else 120.
func arrangementMID(w io.Writer, j Job) error {
	r := j.Result
	bpm := float64(r.Tune.PlayedBPM)
	if bpm < 20 || bpm > 1000 || math.IsNaN(bpm) {
		bpm = 120
	}
	microseconds := math.Round(60e6 / bpm) // a quarter note, whole in the file
	ticks := func(ms float64) int64 { return int64(math.Round(ms * 1000 / microseconds * ticksPerQuarter)) }

	type event struct {
		tick int64
		on   bool
		key  uint8
	}
	var events []event
	end := ticks(float64(r.Cylinder.RevolutionMs))
	for _, k := range sounding(r) {
		on := ticks(k.startMs)
		off := max(on+1, ticks(k.endMs))
		events = append(events, event{on, true, k.key}, event{off, false, k.key})
		end = max(end, off)
	}
	sort.SliceStable(events, func(a, b int) bool {
		if events[a].tick != events[b].tick {
			return events[a].tick < events[b].tick
		}
		return !events[a].on && events[b].on
	})

	var track smf.Track
	track.Add(0, smf.MetaTrackSequenceName(shorten(printable(r.Title), 200)))
	track.Add(0, smf.MetaTempo(60e6/microseconds))
	track.Add(0, midi.ProgramChange(0, musicBox))
	var now int64
	for _, e := range events {
		message := midi.NoteOff(0, e.key)
		if e.on {
			message = midi.NoteOn(0, e.key, velocity)
		}
		track.Add(uint32(e.tick-now), message)
		now = e.tick
	}
	track.Close(uint32(end - now))
	file := smf.New()
	file.TimeFormat = smf.MetricTicks(ticksPerQuarter)
	if err := file.Add(track); err != nil {
		return err
	}
	data, err := file.Bytes() // the library hides an error of the writer below
	if err != nil {
		return err
	}
	_, err = w.Write(data)
	return err
}

// ringing is one pluck as it sounds.
type ringing struct {
	startMs, endMs float64
	key            uint8
}

// sounding gives when each pin's tooth rings within the turn, in the order of pins.
func sounding(r *project.Result) []ringing {
	turn := float64(r.Cylinder.RevolutionMs)
	all := make([]ringing, 0, len(r.Pins))
	next := map[unit.Pitch]float64{} // when a tooth of the pitch is touched next
	for i := len(r.Pins) - 1; i >= 0; i-- {
		pin := r.Pins[i]
		tooth := r.Comb.Teeth[pin.Tooth-1]
		start := float64(pin.AngleDeg) / 360 * turn
		end := start + ringMs
		if touched, ok := next[tooth.Pitch]; ok {
			end = math.Min(end, touched)
		}
		next[tooth.Pitch] = math.Max(0, start-float64(tooth.ContactMs))
		all = append(all, ringing{start, end, uint8(tooth.Pitch)})
	}
	for a, b := 0, len(all)-1; a < b; a, b = a+1, b-1 {
		all[a], all[b] = all[b], all[a]
	}
	return all
}
