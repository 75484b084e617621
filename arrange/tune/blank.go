package tune

import (
	"math"

	"gitlab.com/gomidi/midi/v2/smf"
)

// Blank is a tune to be written by hand from nothing: so many bars of one meter at one tempo, without a note.
type Blank struct {
	Bars  int     `json:"bars"`  // 1 to 200
	Beats int     `json:"beats"` // in a bar, 1 to 16
	Unit  int     `json:"unit"`  // of a beat: 2, 4, 8 or 16
	BPM   float64 `json:"bpm"`   // quarter notes a minute, 20 to 400
}

// DefaultBlank is eight bars of 4/4 at 96 quarter notes a minute.
var DefaultBlank = Blank{Bars: 8, Beats: 4, Unit: 4, BPM: 96}

// blankTicks is the division of a blank: a 16th is 240 ticks.
const blankTicks = 960

// File writes the blank, whose fields must lie within their bounds, as a Standard MIDI File of format 0 (RP-001): meter, tempo, and the end of the track at
// the end of the last bar. The same blank always gives the same bytes. Read takes it with Limits.Silent.
func (b Blank) File() []byte {
	var track smf.Track
	track.Add(0, smf.MetaMeter(uint8(b.Beats), uint8(b.Unit)))
	track.Add(0, smf.MetaTempo(60e6/math.Round(60e6/b.BPM)))
	track.Close(uint32(b.Bars * b.Beats * 4 * blankTicks / b.Unit))
	file := smf.New()
	file.TimeFormat = smf.MetricTicks(blankTicks)
	if err := file.Add(track); err != nil {
		panic("tune: a blank is not written: " + err.Error()) // a track that was closed is always taken
	}
	data, err := file.Bytes()
	if err != nil {
		panic("tune: a blank is not written: " + err.Error()) // nothing is written to but memory
	}
	return data
}
