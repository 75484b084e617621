package web

import (
	"context"
	"strconv"

	"pinwright/arrange/phrase"
)

// Language is a language of the interface. The zero value is English.
type Language struct {
	Tag     string            // BCP 47, such as "de"; empty is "en"
	Phrases map[string]string // by the English phrase; what it lacks stays English
	scripts map[string]string // those of them that the page's scripts say
}

type languageKey struct{}

// WithLanguage gives a context in which pages are rendered in that language.
func WithLanguage(ctx context.Context, l Language) context.Context {
	return context.WithValue(ctx, languageKey{}, l)
}

// languageIn gives what WithLanguage put there, else English.
func languageIn(ctx context.Context) Language {
	l, _ := ctx.Value(languageKey{}).(Language)
	if l.Tag == "" {
		l.Tag = "en"
	}
	return l
}

// say gives a phrase in the language of the context. It is written in English, which is its key too; {1}, {2} … stand for the values, and are
// not looked for in the values themselves.
func say(ctx context.Context, words string, values ...any) string {
	return phrase.Of(words, values...).In(languageIn(ctx).word)
}

// Say gives a phrase in the reader's language.
func (s Shown) Say(p phrase.Phrase) string {
	if s.language == nil {
		return p.String()
	}
	return p.In(s.language.word)
}

// tell is Say of what the core tells, with its figures as the reader has them shown.
func (s Shown) tell(p phrase.Phrase) string { return s.Text(s.Say(p)) }

// say is Say of a phrase as say takes it.
func (s Shown) say(words string, values ...any) string { return s.Say(phrase.Of(words, values...)) }

// numerals are said in place of a small number.
var numerals = [...]string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"}

// number writes how many there are, in words where they are few.
func (s Shown) number(n int) string {
	if n >= 0 && n < len(numerals) {
		return s.say(numerals[n])
	}
	return strconv.Itoa(n)
}

// count says a phrase of n things: "no notes", "one note", "13 notes". In many {1} is their number; the phrase for one has it in words of its own,
// since many languages bend it to the thing. Further values are {2} … in both.
func (s Shown) count(n int, one, many string, values ...any) string {
	if n == 1 {
		return s.say(one, append([]any{n}, values...)...)
	}
	return s.say(many, append([]any{s.number(n)}, values...)...)
}

// word gives the words for English ones.
func (l Language) word(english string) string {
	if there := l.Phrases[english]; there != "" {
		return there
	}
	return english
}
