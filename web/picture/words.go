package picture

import (
	"image"
	"image/color"
	"strings"
	"sync"
	"unicode"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/text/unicode/norm"
)

// The Go fonts hold Latin, Greek and Cyrillic.
var (
	bold    = sync.OnceValues(func() (*sfnt.Font, error) { return opentype.Parse(gobold.TTF) })
	regular = sync.OnceValues(func() (*sfnt.Font, error) { return opentype.Parse(goregular.TTF) })
)

const (
	longestRead = 400 // characters of a title that are looked at; more never fit
	unset       = "…" // stands for what the font has no sign for
	withoutSign = "A pinned cylinder"
)

// words writes the name of the program, the title in at most two lines, as large as fits, and the facts in one line.
func (c *canvas) words(title, facts string) error {
	strong, err := bold()
	if err != nil {
		return err
	}
	plain, err := regular()
	if err != nil {
		return err
	}
	const room = Width - 2*margin
	title = settable(strong, title)
	if strings.Trim(title, unset+" ") == "" {
		title = withoutSign
	}
	if err := c.line(strong, 20, brass, "Pinwright", 58); err != nil {
		return err
	}
	for _, try := range []struct {
		size  float64
		lines int
	}{{68, 1}, {58, 1}, {48, 1}, {46, 2}, {38, 2}} {
		face, err := faceOf(strong, try.size)
		if err != nil {
			return err
		}
		lines, all := wrap(face, title, room, try.lines)
		if !all && try.size > 38 {
			continue
		}
		base := 132.0
		if try.lines == 2 {
			base = 108
		}
		for i, text := range lines {
			if err := c.line(strong, try.size, ink, text, base+float64(i)*1.08*try.size); err != nil {
				return err
			}
		}
		break
	}
	facts = settable(plain, facts)
	size := 26.0
	for ; size > 20; size-- {
		face, err := faceOf(plain, size)
		if err != nil {
			return err
		}
		if font.MeasureString(face, facts).Ceil() <= room {
			break
		}
	}
	face, err := faceOf(plain, size)
	if err != nil {
		return err
	}
	return c.line(plain, size, muted, cut(face, facts, room), 200)
}

func faceOf(f *sfnt.Font, size float64) (font.Face, error) {
	return opentype.NewFace(f, &opentype.FaceOptions{Size: size, DPI: 72, Hinting: font.HintingNone})
}

// line writes one line from the left margin, its baseline at y.
func (c *canvas) line(f *sfnt.Font, size float64, colour color.RGBA, text string, y float64) error {
	face, err := faceOf(f, size)
	if err != nil {
		return err
	}
	d := font.Drawer{Dst: c.RGBA, Src: image.NewUniform(colour), Face: face, Dot: fixed.P(margin, int(y))}
	d.DrawString(text)
	return nil
}

// settable gives a text as the font can set it: letters with marks that it lacks without their marks, blanks and breaks
// as one space, what is not to be seen left out, and a run of signs that it does not have as an ellipsis.
func settable(f *sfnt.Font, text string) string {
	var buffer sfnt.Buffer
	has := func(r rune) bool {
		i, err := f.GlyphIndex(&buffer, r)
		return err == nil && i != 0
	}
	runes := []rune(strings.ToValidUTF8(text, "\ufffd"))
	text = norm.NFC.String(string(runes[:min(longestRead, len(runes))]))
	var b strings.Builder
	missing, space := false, false
	put := func(r rune) {
		if space && b.Len() > 0 {
			b.WriteByte(' ')
		}
		b.WriteRune(r)
		missing, space = false, false
	}
	for _, r := range text {
		switch {
		case unicode.IsSpace(r), unicode.IsControl(r):
			space = true
		case unicode.In(r, unicode.Cf, unicode.Mn, unicode.Variation_Selector):
			// directions, joiners and marks whose letter stands without them
		case has(r):
			put(r)
		default:
			plain := false
			for _, part := range norm.NFKD.String(string(r)) {
				if part != r && has(part) && !unicode.Is(unicode.Mn, part) {
					put(part)
					plain = true
				}
			}
			if !plain && !missing {
				put('…')
				missing = true
			}
		}
	}
	return b.String()
}

// wrap breaks a text into at most that many lines of the width given, at spaces where it can. It reports whether all of
// the text is on them; else the last ends in an ellipsis.
func wrap(face font.Face, text string, room, most int) (lines []string, all bool) {
	for len(lines) < most-1 {
		if font.MeasureString(face, text).Ceil() <= room {
			return append(lines, text), true
		}
		end := fitting(face, text, room)
		if at := strings.LastIndexByte(text[:end], ' '); at > 0 {
			end = at
		}
		lines, text = append(lines, strings.TrimSpace(text[:end])), strings.TrimSpace(text[end:])
	}
	last := cut(face, text, room)
	return append(lines, last), last == text
}

// cut shortens a text to a width; where it did, the text ends in an ellipsis.
func cut(face font.Face, text string, room int) string {
	if font.MeasureString(face, text).Ceil() <= room {
		return text
	}
	return strings.TrimRight(text[:fitting(face, text, room-font.MeasureString(face, unset).Ceil())], " ,·") + unset
}

// fitting gives how many bytes of a text fit a width, one character at least.
func fitting(face font.Face, text string, room int) int {
	wide, before := fixed.I(0), rune(-1)
	for at, r := range text {
		if before >= 0 {
			wide += face.Kern(before, r)
		}
		advance, _ := face.GlyphAdvance(r)
		if wide += advance; at > 0 && wide.Ceil() > room {
			return at
		}
		before = r
	}
	return len(text)
}
