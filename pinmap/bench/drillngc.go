package bench

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"pinwright/arrange/unit"
	"pinwright/pinmap/indexing"
	"pinwright/pinmap/project"
)

const (
	approachDeg  = 5   // from how far below a hole's angle A comes to the first hole of a track
	retractMm    = 0.5 // height over the bare surface to which the drill comes out between pecks
	spinUpSec    = 3
	pointLong    = 0.3 // of a drill's diameter, the point of 118 degrees: 1/(2·tan 59°)
	commentWidth = 76  // characters of a comment's text; the language takes lines of 256
)

// drillNGC writes the drilling program in RS274/NGC: A is the angle in degrees, X the distance from the bass-end face, Z the height over the bare
// surface, all in mm, absolute. Track by track from the bass end; on each A only grows, and comes to its first hole from below, so that backlash is
// always taken up on the same side. A and X move in blocks of their own, at the clear height. Source of the rules of a cycle: NISTIR 6556, 3.5.16.
func drillNGC(w io.Writer, j Job) error { return writeProgram(w, j, false) }

// drillDryNGC writes the same moves, lifted so far that the drill goes no lower than the clear height, with the spindle off.
func drillDryNGC(w io.Writer, j Job) error { return writeProgram(w, j, true) }

func writeProgram(w io.Writer, j Job, dry bool) error {
	r := j.Result
	c, b := r.Cylinder, r.Setup.Bench
	cut := NewCutting(b, c.PinDiameterMm, c.HoleDepthMm)
	clear, depth := float64(b.ClearMm), float64(c.HoleDepthMm)
	lift := 0.0
	if dry {
		lift = clear + depth
	}
	p := program{newPen(w)}
	p.head(j, cut, lift, dry)

	p.raw("G21 G90 G17 G40 G49 G54 G61 G80 G94\nM5 M9\nG0 Z").mm(clear + lift).raw("\nG0 Y0\n")
	if v := judge(r); !v.clear {
		p.raw("(MSG, ").raw(commentText(v.headline)).raw(")\n")
	}
	if dry {
		p.raw("(MSG, Dry run: check the zeros and that the spindle is off, then go on)\nM0\n")
	} else {
		p.raw("(MSG, Check the drill, its guard, the clamping and the zeros, then go on)\nM0\nS").number(float64(cut.SpindleRpm), -1)
		p.raw(" M3\nG4 P").int(spinUpSec).raw("\n")
	}

	cycle := "G98 G83 X"
	if cut.PeckMm >= c.HoleDepthMm {
		cycle = "G98 G81 X"
	}
	order := indexing.Order(r.Pins)
	along, at := math.Inf(-1), math.Inf(1) // X and A are not known at first
	for i, k := range order {
		pin := r.Pins[k]
		x, a := float64(pin.AxialMm), float64(pin.AngleDeg)
		if x != along {
			along = x
			name := "Tooth " + strconv.Itoa(pin.Tooth) + ", " + toothNote(r, pin.Tooth)
			if letter := j.letter(k); letter != "" {
				name += ", tune " + letter
			}
			p.comment(name)
			p.raw("G0 X").mm(x).raw("\n")
		}
		p.raw("(Hole ").int(i+1).raw(" of ").int(len(order)).raw(", pin ").int(pin.Pin).raw(": bar ").int(pin.Bar).raw(", beat ").number(math.Round(pin.Beat*1000)/1000, -1).raw(")\n")
		if a < at {
			p.raw("G0 A").mm(a - approachDeg).raw("\n")
		}
		at = a
		p.raw("G0 A").mm(a).raw("\n").raw(cycle).mm(x).raw(" Z").mm(lift - depth).raw(" R").mm(lift + math.Min(retractMm, clear))
		if cut.PeckMm < c.HoleDepthMm {
			p.raw(" Q").mm(float64(cut.PeckMm))
		}
		p.raw(" F").mm(cut.FeedMmPerMin).raw("\nG80\n")
	}
	p.raw("G0 Z").mm(clear + lift).raw("\nM5 M9\nG0 A-").int(approachDeg).raw("\nG0 A0\n")
	p.raw("(MSG, All holes visited. The datum line must lie under the drill again)\nM30\n")
	return p.flush()
}

// program writes blocks and comments.
type program struct{ *pen }

// head writes what the maker must know before the first move.
func (p program) head(j Job, cut Cutting, lift float64, dry bool) {
	r := j.Result
	c, b := r.Cylinder, r.Setup.Bench
	turning := "counter-clockwise"
	if !axialUp(c.Cylinder) {
		turning = "clockwise"
	}
	if dry {
		p.comment("DRY RUN: every hole is visited " + trim(lift) + " mm too high, with the spindle off.")
		p.comment("Run it before drill.ngc, with no drill in the spindle or one that stays clear.")
	} else {
		p.comment("DRILLING. Run drill-dry.ngc first.")
	}
	p.comment("Title: " + r.Title)
	if j.FileName != "" {
		p.comment("Tune: " + j.FileName)
	}
	p.comment("Revision: " + strconv.Itoa(j.Revision) + ", date of the setup: " + date(r.Setup.Date))
	p.comment(judge(r).headline)
	p.words("Units: mm, degrees, mm a minute, absolute. Language: RS274/NGC.")
	p.words("X 0: bass-end face. X grows towards the treble end.")
	p.words("Y 0: the spindle stands over the axis of the cylinder. Y does not move.")
	p.words("Z 0: bare surface. Diameter " + trim(float64(c.DiameterMm)) + " mm, so the axis lies at Z -" + trim(float64(c.DiameterMm)/2) + ".")
	p.words("A 0: the datum line lies under the drill. While A grows the cylinder must turn " + turning + ", seen from the bass end, as it does when " +
		"it plays. Check it in the dry run: turned the other way the cylinder is spoiled.")
	p.words("Tool length and zeros are those of G54. No other offset is used.")
	p.words("Holding: true in the chuck or on an arbor, the other end on a centre, axis along X. It must not slip on the A axis: mark it, and look at the " +
		"datum line at the end.")
	p.words(fmt.Sprintf("Holes: %d, on %d tracks, %s mm deep at the drill's point, which is about %s mm long.", len(r.Pins), tracksUsed(r),
		trim(float64(c.HoleDepthMm)), trim(pointLong*float64(c.PinDiameterMm))))
	p.words("Drill: " + drillWords(c.PinDiameterMm) + ". Hole and pin must fit: drill one in scrap first.")
	p.words("A thin drill wanders on a round surface: use a short one, or spot the holes first.")
	p.words(fmt.Sprintf("Material: %s. Spindle: %s rev/min. A drill of high-speed steel would bear about %s.", b.Material, trim(float64(cut.SpindleRpm)), trim(float64(cut.BearsRpm))))
	peck := "no pecks"
	if cut.PeckMm < c.HoleDepthMm {
		peck = "pecks of " + trim(float64(cut.PeckMm)) + " mm"
	}
	p.words(fmt.Sprintf("Feed: %s mm a minute, %s. Clear height: %s mm.", trim(cut.FeedMmPerMin), peck, trim(float64(b.ClearMm))))
	p.words("Coolant is off: dry in brass and plastic, a drop of oil in aluminium and steel.")
	p.words("Speeds, feeds and pecks are starting points. Stop and clear the drill when chips pack.")
	p.words(cautions[0])
	p.words(cautions[1])
}

// tracksUsed counts the tracks that have a hole.
func tracksUsed(r *project.Result) int {
	used := map[unit.Millimetres]bool{}
	for _, p := range r.Pins {
		used[p.AxialMm] = true
	}
	return len(used)
}

// words writes comments of our own, broken between words into as many lines as they need.
func (p program) words(s string) {
	line := ""
	for _, word := range strings.Fields(s) {
		if line != "" && len(line)+1+len(word) > commentWidth {
			p.comment(line)
			line = " "
		}
		line = strings.TrimLeft(line+" "+word, " ")
	}
	p.comment(line)
}

// comment writes one line of a comment, cut to its width.
func (p program) comment(s string) { p.raw("(").raw(commentText(s)).raw(")\n") }

// commentText gives s as a comment can hold it. Letters lose their accents; a sign that could end the comment, begin another or a message, or that a
// controller takes as an order wherever it stands, such as ! and ~, becomes an underscore.
func commentText(s string) string {
	var b strings.Builder
	// Marks that a letter is built with count only once it is taken apart, so that more than the width is looked at.
	for _, r := range norm.NFKD.String(shorten(printable(s), 4*commentWidth)) {
		switch {
		case b.Len() == commentWidth:
			return b.String()[:commentWidth-2] + ".."
		case unicode.Is(unicode.Mn, r):
		case r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || strings.ContainsRune(" .,:+-=/'&#", r):
			b.WriteRune(r)
		case r == ';':
			b.WriteByte(',')
		default:
			b.WriteByte('_')
		}
	}
	return b.String()
}
