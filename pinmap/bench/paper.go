package bench

import (
	"strconv"
	"strings"

	"pinwright/arrange/phrase"
)

// Paper is a size of paper that a drill map is printed on.
type Paper string

// The papers.
const (
	A4     Paper = "a4"
	A3     Paper = "a3"
	Letter Paper = "letter"
)

// papers holds the short and the long side in mm and the way round that is usual: A4 stands, larger sheets lie
// (A4 and A3: ISO 216, ISO 5457; Letter: ANSI/ASME Y14.1 size A).
var papers = map[Paper]struct {
	name        string
	short, long float64
	lies        bool
}{
	A4:     {"A4", 210, 297, false},
	A3:     {"A3", 297, 420, true},
	Letter: {"Letter", 215.9, 279.4, false},
}

// ParsePaper reads the name of a paper, "a4", "a3" or "letter"; an empty name is A4.
func ParsePaper(s string) (Paper, error) {
	p := Paper(strings.ToLower(strings.TrimSpace(s)))
	if p == "" {
		return A4, nil
	}
	if _, ok := papers[p]; !ok {
		return "", phrase.Error{Phrase: phrase.Of("{1} is not a paper that the map can be laid out on; give a4, a3 or letter", strconv.Quote(s))}
	}
	return p, nil
}

// String gives the name as it is printed, such as "A4".
func (p Paper) String() string { return papers[p].name }

// size gives width and height in mm, lying or standing.
func (p Paper) size(lies bool) (w, h float64) {
	if s := papers[p]; lies {
		return s.long, s.short
	} else {
		return s.short, s.long
	}
}

// frame gives the drawing space: on the A series after ISO 5457, 20 mm from the left edge, where the sheet is filed, and
// 10 mm from the others; Letter, for which there is no such rule, keeps 10 mm all round.
func (p Paper) frame(lies bool) rect {
	w, h := p.size(lies)
	left := edge
	if p != Letter {
		left = filing
	}
	return rect{left, edge, w - left - edge, h - 2*edge}
}
