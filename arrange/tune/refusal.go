package tune

import (
	"fmt"
	"math"
	"strconv"

	"pinwright/arrange/unit"
)

func noNotes(tracks int, rs *remarks) error {
	broken, ok := rs.broken()
	switch {
	case rs.hits[remarkShortFile].count > 0:
		return &Error{Unusable, "The file is cut off before its first note. Get the whole file. " + broken}
	case ok:
		return &Error{Unusable, "No note can be read from this file; export it again. " + broken}
	case tracks == 0:
		return &Error{Unusable, "The file has a MIDI header and no track, so there is nothing to play. Get the whole file."}
	}
	return &Error{Unusable, "The file holds no notes, so there is nothing to play. Choose a file with a melody."}
}

func tooManyEvents(l Limits) error {
	return &Error{TooLarge, fmt.Sprintf("The file holds more than %d events, the most that can be read. Leave out tracks or controller data, or cut the tune into shorter files.", l.Events)}
}

func tooManyTracks(tracks int, l Limits) error {
	return &Error{TooLarge, fmt.Sprintf("The file declares or holds %s; at most %d can be read. Leave out the tracks that are not played.", counted(tracks, "track"), l.Tracks)}
}

func tooManyBars() error {
	return &Error{TooLarge, fmt.Sprintf("The tune has more than %d bars, the most that can be read. Check its time signatures, or cut it into shorter files.", maxBars)}
}

func tooLong(lasts string, l Limits) error {
	return &Error{TooLarge, fmt.Sprintf("The music lasts %s; at most %s can be read. Check its tempo, or cut it into shorter files.", lasts, hours(l.MusicMs))}
}

// hours gives a time in hours, rounded up so that what is over a limit never reads like the limit.
func hours(ms unit.Milliseconds) string {
	return strconv.FormatFloat(math.Ceil(float64(ms)/360)/1e4, 'f', -1, 64) + " hours"
}
