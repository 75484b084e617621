// Package phrase holds what is told to a reader as words with places for values, so that it can be said in another language than it was written in.
package phrase

import (
	"fmt"
	"strconv"
	"strings"
)

// Phrase is something told: English words, in which {1}, {2} … are the places of values. A value may be a phrase itself. The zero value is nothing.
// In JSON it is its English text; what was read from there has no values any more and is said as it was written.
type Phrase struct {
	words  string
	values []any
	joined bool // words is what stands between the values
}

// Of gives the phrase of words, which are its key in a catalogue, and values, of any type that fmt prints.
func Of(words string, values ...any) Phrase { return Phrase{words: words, values: values} }

// Text gives a phrase that is said in every language as it stands, such as a name.
func Text(s string) Phrase {
	if s == "" {
		return Phrase{}
	}
	return Phrase{words: "{1}", values: []any{s}}
}

// Join gives phrases one after the other with a separator between.
func Join(separator string, parts ...Phrase) Phrase {
	p := Phrase{words: separator, values: make([]any, len(parts)), joined: true}
	for i, part := range parts {
		p.values[i] = part
	}
	return p
}

// Plural gives one where n is 1, else many.
func Plural(n int, one, many Phrase) Phrase {
	if n == 1 {
		return one
	}
	return many
}

// Empty reports whether nothing is said.
func (p Phrase) Empty() bool { return p.words == "" && len(p.values) == 0 }

// String gives the phrase in English.
func (p Phrase) String() string { return p.In(func(words string) string { return words }) }

// In gives the phrase in another language, of which said gives the words for English ones. A value is not searched for places of values, and a place
// that has no value stands as it is.
func (p Phrase) In(said func(words string) string) string {
	value := func(i int) string {
		if inner, ok := p.values[i].(Phrase); ok {
			return inner.In(said)
		}
		return fmt.Sprint(p.values[i])
	}
	if p.joined {
		parts := make([]string, len(p.values))
		for i := range parts {
			parts[i] = value(i)
		}
		return strings.Join(parts, p.words)
	}
	words := said(p.words)
	if len(p.values) == 0 {
		return words
	}
	var b strings.Builder
	for {
		before, after, _ := strings.Cut(words, "{")
		number, rest, closed := strings.Cut(after, "}")
		if !closed {
			b.WriteString(words)
			return b.String()
		}
		b.WriteString(before)
		if n, err := strconv.Atoi(number); err == nil && n >= 1 && n <= len(p.values) {
			b.WriteString(value(n - 1))
		} else {
			b.WriteString("{" + number + "}")
		}
		words = rest
	}
}

// MarshalText writes the English text, in JSON too.
func (p Phrase) MarshalText() ([]byte, error) { return []byte(p.String()), nil }

// UnmarshalText reads what MarshalText wrote.
func (p *Phrase) UnmarshalText(text []byte) error {
	*p = Text(string(text))
	return nil
}

// Error is an error that is told in words.
type Error struct{ Phrase }

// Error gives the phrase in English.
func (e Error) Error() string { return e.String() }
