package web

import (
	"context"
	"math"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/a-h/templ"

	"pinwright/arrange/phrase"
	"pinwright/arrange/unit"
)

// Shown is how a reader has figures shown. It belongs to the browser and not to the project: what is stored, sent to programs and made for the
// bench stays in mm, decimal degrees and English names. The zero value is that too.
type Shown struct {
	Lengths Lengths
	Angles  Angles
	Notes   Naming

	language *Language // what is said with them is said in it; nil is English. ShownIn gives it
}

// Lengths is the unit of lengths.
type Lengths int

// Angles is how angles are written.
type Angles int

// Naming is the language of note names. The number of the octave is that of scientific pitch notation in each.
type Naming int

const (
	Millimetres Lengths = iota
	Inches
)

const (
	Decimal Angles = iota // 12.34°
	Sixties               // 12° 20′ 24″
)

const (
	English Naming = iota
	German         // A#4 is B4, B4 is H4
	Solfege        // C4 is Do4
)

// The words of the choices, in the order of their numbers: values of the form's fields, parts of the cookie, data for the scripts.
var (
	lengthWords = []option{{"mm", "mm"}, {"inch", "inch"}}
	angleWords  = []option{{"decimal", "decimal degrees, 12.34°"}, {"dms", "degrees, minutes and seconds, 12° 20′ 24″"}}
	namingWords = []option{{"english", "English: C4, A#4, B4"}, {"german", "German: C4, B4, H4"}, {"solfege", "solfège: Do4, La#4, Si4"}}
)

// The names of an octave's notes. The English ones are those of arrange/unit.
var (
	english = []string{"C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"}
	german  = []string{"C", "Cis", "D", "Dis", "E", "F", "Fis", "G", "Gis", "A", "B", "H"}
	solfege = []string{"Do", "Do#", "Re", "Re#", "Mi", "Fa", "Fa#", "Sol", "Sol#", "La", "La#", "Si"}
)

// ShownFromForm reads the choices of the form: `lengths`, `angles` and `notes`. Errors are *FieldError.
func ShownFromForm(form url.Values) (Shown, error) {
	var s Shown
	var ok bool
	if s.Lengths, ok = chosen[Lengths](lengthWords, form.Get("lengths")); !ok {
		return Shown{}, &FieldError{"lengths", phrase.Of("Lengths are shown in mm or in inch. Choose one of them.")}
	}
	if s.Angles, ok = chosen[Angles](angleWords, form.Get("angles")); !ok {
		return Shown{}, &FieldError{"angles", phrase.Of("Angles are shown as decimal or as dms, degrees, minutes and seconds. Choose one of them.")}
	}
	if s.Notes, ok = chosen[Naming](namingWords, form.Get("notes")); !ok {
		return Shown{}, &FieldError{"notes", phrase.Of("Notes are named as english, german or solfege. Choose one of them.")}
	}
	return s, nil
}

// ParseShown reads what String wrote. What it does not know is as by default.
func ParseShown(text string) (s Shown) {
	parts := append(strings.SplitN(text, ".", 3), "", "", "")
	s.Lengths, _ = chosen[Lengths](lengthWords, parts[0])
	s.Angles, _ = chosen[Angles](angleWords, parts[1])
	s.Notes, _ = chosen[Naming](namingWords, parts[2])
	return s
}

// String writes the choices as a cookie holds them: "inch.dms.german".
func (s Shown) String() string {
	return lengthWords[s.Lengths].Value + "." + angleWords[s.Angles].Value + "." + namingWords[s.Notes].Value
}

// chosen gives the choice of that value, or the default and false.
func chosen[T ~int](words []option, value string) (T, bool) {
	i := slices.IndexFunc(words, func(o option) bool { return o.Value == value })
	return T(max(i, 0)), i >= 0
}

type shownKey struct{}

// WithShown gives a context in which pages are rendered as a reader wants them.
func WithShown(ctx context.Context, s Shown) context.Context {
	return context.WithValue(ctx, shownKey{}, s)
}

// ShownIn gives what WithShown put there, else the default, in the language of the context.
func ShownIn(ctx context.Context) Shown {
	s, _ := ctx.Value(shownKey{}).(Shown)
	if l := languageIn(ctx); l.Tag != "en" {
		s.language = &l
	}
	return s
}

// data gives what is not as by default to the scripts, as attributes of the page or of a fragment of it.
func (s Shown) data() templ.Attributes {
	attributes := templ.Attributes{}
	if s.Lengths != Millimetres {
		attributes["data-lengths"] = lengthWords[s.Lengths].Value
	}
	if s.Angles != Decimal {
		attributes["data-angles"] = angleWords[s.Angles].Value
	}
	if s.Notes != English {
		attributes["data-notes"] = namingWords[s.Notes].Value
	}
	return attributes
}

// lengthUnit is the unit of lengths, as a table's head and a text name it.
func (s Shown) lengthUnit() string { return s.say(lengthWords[s.Lengths].Words) }

// angleUnit is the unit of angles, as a table's head names it.
func (s Shown) angleUnit() string {
	if s.Angles == Sixties {
		return "° ′ ″"
	}
	return "°"
}

// mmPerInch is exact, by definition.
const mmPerInch = 25.4

// inchDecimals gives the decimals of a length in inch that has so many in mm. A ten-thousandth of an inch is 2.54 µm: it holds a hundredth of a
// mm. It would lose a thousandth, so lengths with three decimals of a mm, and more, have five, the hundred-thousandth being 0.254 µm.
func inchDecimals(decimals int) int {
	if decimals >= 3 {
		return 5
	}
	return 4
}

// figure writes a length without its unit, for a column; decimals are those in mm.
func (s Shown) figure(mm unit.Millimetres, decimals int) string {
	if s.Lengths == Inches {
		return fixed(mm/mmPerInch, inchDecimals(decimals))
	}
	return fixed(mm, decimals)
}

// length writes a length with its unit; decimals are those in mm.
func (s Shown) length(mm unit.Millimetres, decimals int) string {
	return s.figure(mm, decimals) + " " + s.lengthUnit()
}

// roundLength writes a length with its unit, without trailing zeros; decimals are those in mm.
func (s Shown) roundLength(mm unit.Millimetres, decimals int) string {
	if s.Lengths == Inches {
		return short(mm/mmPerInch, inchDecimals(decimals)) + " " + s.lengthUnit()
	}
	return short(mm, decimals) + " " + s.lengthUnit()
}

// angle writes an angle with its sign; decimals are those of a decimal degree.
func (s Shown) angle(deg unit.Degrees, decimals int) string {
	if s.Angles == Sixties {
		return sixties(float64(deg), decimals)
	}
	return fixed(deg, decimals) + "°"
}

// angleFigure writes an angle for a column whose head has the unit.
func (s Shown) angleFigure(deg unit.Degrees, decimals int) string {
	return strings.TrimSuffix(s.angle(deg, decimals), "°")
}

// sixties writes an angle in degrees, minutes and seconds, as finely as so many decimals of a degree are: a tenth is 6 minutes, a hundredth 36
// seconds, so that nothing of either is lost. Rounding is done once, in the last unit, and carried. The spaces do not break.
func sixties(deg float64, decimals int) string {
	parts := []int64{1, 60, 3600}[max(0, min(decimals, 2))] // in a degree
	n := int64(math.Round(math.Abs(deg) * float64(parts)))
	sign := ""
	if deg < 0 && n > 0 {
		sign = "−"
	}
	text := sign + strconv.FormatInt(n/parts, 10) + "°"
	if parts >= 60 {
		text += "\u00a0" + twoFigures(n%parts*60/parts) + "′"
	}
	if parts == 3600 {
		text += "\u00a0" + twoFigures(n%60) + "″"
	}
	return text
}

func twoFigures(n int64) string { return strconv.FormatInt(100+n, 10)[1:] }

// pitch names a pitch.
func (s Shown) pitch(p unit.Pitch) string { return s.note(p.String()) }

// note gives a name in English as the reader wants it; what is no such name stays.
func (s Shown) note(name string) string {
	letters := strings.TrimRight(name, "-0123456789")
	i := slices.Index(english, letters)
	if i < 0 || letters == name {
		return name
	}
	switch s.Notes {
	case German:
		letters = german[i]
	case Solfege:
		letters = solfege[i]
	}
	return letters + name[len(english[i]):]
}

// figures finds what Text rewrites: what stands between quotation marks, which it leaves; a note's name; a length; an angle.
var figures = regexp.MustCompile(`"(?:[^"\\]|\\.)*(?:"|$)` + `|\b[A-G]#?(?:-1|[0-9])\b` + `|[-−]?[0-9][0-9\x{202f}]*(?:\.[0-9]+)?(?: mm\b|°)`)

// Text rewrites note names, lengths such as "12.34 mm" and angles such as "12.34°" in a text that the program itself made in English, mm and
// decimal degrees, as the reader wants them. It takes a text once: German B4 is another note than English B4. A figure keeps its precision. What
// stands between quotation marks was written by a user and stays; any other text of users, and sizes of paper, are not to be given to it.
func (s Shown) Text(text string) string {
	if s == (Shown{}) {
		return text
	}
	return figures.ReplaceAllStringFunc(text, func(found string) string {
		switch {
		case found[0] == '"':
			return found
		case strings.HasSuffix(found, " mm"):
			if v, decimals, ok := readFigure(strings.TrimSuffix(found, " mm")); ok && s.Lengths == Inches {
				if decimals == 0 { // may be exact: a diameter of 13 mm
					return s.roundLength(unit.Millimetres(v), decimals)
				}
				return s.length(unit.Millimetres(v), decimals)
			}
			return found
		case strings.HasSuffix(found, "°"):
			if v, decimals, ok := readFigure(strings.TrimSuffix(found, "°")); ok && s.Angles == Sixties {
				return sixties(v, decimals)
			}
			return found
		}
		return s.note(found)
	})
}

// readFigure reads what fixed wrote, and how many decimals it has.
func readFigure(text string) (v float64, decimals int, ok bool) {
	plain := strings.NewReplacer("\u202f", "", "−", "-").Replace(text)
	_, fraction, _ := strings.Cut(plain, ".")
	v, err := strconv.ParseFloat(plain, 64)
	return v, len(fraction), err == nil
}

// fieldsTakeMeasures says what fields of lengths and angles take, where something else is shown; else it is empty.
func (s Shown) fieldsTakeMeasures() string {
	switch {
	case s.Lengths != Millimetres && s.Angles != Decimal:
		return "These fields take mm and decimal degrees."
	case s.Lengths != Millimetres:
		return "These fields take mm."
	case s.Angles != Decimal:
		return "These fields take decimal degrees."
	}
	return ""
}

// fieldsTakeNames says what fields of notes take, where something else is shown; else it is empty.
func (s Shown) fieldsTakeNames() string {
	if s.Notes == English {
		return ""
	}
	return "Notes are typed here by their English names, such as C5 or F#5."
}
