package tune

import (
	"math"
	"strconv"

	"pinwright/arrange/phrase"
	"pinwright/arrange/unit"
)

func noNotes(tracks int, rs *remarks) error {
	broken, ok := rs.broken()
	switch {
	case rs.hits[remarkShortFile].count > 0:
		return &Error{Unusable, phrase.Of("The file is cut off before its first note. Get the whole file. {1}", broken)}
	case ok:
		return &Error{Unusable, phrase.Of("No note can be read from this file; export it again. {1}", broken)}
	case tracks == 0:
		return &Error{Unusable, phrase.Of("The file has a MIDI header and no track, so there is nothing to play. Get the whole file.")}
	}
	return &Error{Unusable, phrase.Of("The file holds no notes, so there is nothing to play. Choose a file with a melody.")}
}

func tooManyEvents(l Limits) error {
	return &Error{TooLarge, phrase.Of("The file holds more than {1} events, the most that can be read. Leave out tracks or controller data, or cut the tune into shorter files.", l.Events)}
}

func tooManyTracks(tracks int, l Limits) error {
	return &Error{TooLarge, phrase.Plural(tracks, phrase.Of("The file declares or holds 1 track; at most {1} can be read. Leave out the tracks that are not played.", l.Tracks),
		phrase.Of("The file declares or holds {1} tracks; at most {2} can be read. Leave out the tracks that are not played.", tracks, l.Tracks))}
}

func tooManyBars() error {
	return &Error{TooLarge, phrase.Of("The tune has more than {1} bars, the most that can be read. Check its time signatures, or cut it into shorter files.", maxBars)}
}

func tooLong(lasts phrase.Phrase, l Limits) error {
	return &Error{TooLarge, phrase.Of("The music lasts {1}; at most {2} can be read. Check its tempo, or cut it into shorter files.", lasts, hours(l.MusicMs))}
}

// hours gives a time in hours, rounded up so that what is over a limit never reads like the limit.
func hours(ms unit.Milliseconds) phrase.Phrase {
	return phrase.Of("{1} hours", strconv.FormatFloat(math.Ceil(float64(ms)/360)/1e4, 'f', -1, 64))
}
