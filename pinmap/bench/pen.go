package bench

import (
	"bufio"
	"html"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode"
)

// pen writes markup. Only raw goes out as it is; text is always escaped. The first error of the writer below is kept
// and comes back from flush.
type pen struct {
	w   *bufio.Writer
	buf []byte
}

func newPen(w io.Writer) *pen { return &pen{w: bufio.NewWriterSize(w, 32<<10)} }

func (p *pen) flush() error { return p.w.Flush() }

// raw writes markup of our own.
func (p *pen) raw(s string) *pen {
	_, _ = p.w.WriteString(s) // the bufio.Writer keeps the error for flush
	return p
}

// text writes words, escaped, without characters that would hide or reorder them.
func (p *pen) text(s string) *pen { return p.raw(html.EscapeString(printable(s))) }

// mm writes a coordinate on paper, to a ten-thousandth of a millimetre.
func (p *pen) mm(v float64) *pen {
	n := int64(math.Round(v * 1e4))
	b := p.buf[:0]
	if n < 0 {
		b, n = append(b, '-'), -n
	}
	b = strconv.AppendInt(b, n/1e4, 10)
	if n %= 1e4; n > 0 {
		b = append(b, '.')
		for unit := int64(1e3); n > 0; unit /= 10 {
			b = append(b, byte('0'+n/unit))
			n %= unit
		}
	}
	p.buf = b
	_, _ = p.w.Write(b)
	return p
}

func (p *pen) number(v float64, decimals int) *pen {
	if v == 0 {
		v = 0 // a negative zero would print its sign
	}
	p.buf = strconv.AppendFloat(p.buf[:0], v, 'f', decimals, 64)
	_, _ = p.w.Write(p.buf)
	return p
}

func (p *pen) int(v int) *pen {
	p.buf = strconv.AppendInt(p.buf[:0], int64(v), 10)
	_, _ = p.w.Write(p.buf)
	return p
}

// printable gives s as valid UTF-8 with control characters, line breaks and marks that change the direction of
// reading turned into spaces, so that a title can neither break an XML file nor be read as something else.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.IsControl(r), r == '\u2028', r == '\u2029', r == '\u200e', r == '\u200f',
			r >= '\u202a' && r <= '\u202e', r >= '\u2066' && r <= '\u2069':
			return ' '
		case r == '\ufffe' || r == '\uffff':
			return unicode.ReplacementChar
		}
		return r
	}, strings.ToValidUTF8(s, string(unicode.ReplacementChar)))
}

// shorten cuts s to at most n characters, the last of them an ellipsis where something was cut.
func shorten(s string, n int) string {
	runes := []rune(s)
	if len(runes) <= n {
		return s
	}
	return string(runes[:n-1]) + "…"
}

// trim formats v with at most three decimals and no trailing zeros, for beats.
func trim(v float64) string { return strconv.FormatFloat(math.Round(v*1000)/1000, 'f', -1, 64) }
