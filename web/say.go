package web

import (
	"context"

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

// tell gives what the core says in the language of the context.
func tell(ctx context.Context, p phrase.Phrase) string { return p.In(languageIn(ctx).word) }

// word gives the words for English ones.
func (l Language) word(english string) string {
	if there := l.Phrases[english]; there != "" {
		return there
	}
	return english
}
