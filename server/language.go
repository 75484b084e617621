package main

import (
	"net/http"

	"golang.org/x/text/language"

	"pinwright/web"
)

// inLanguage has pages rendered in the one of all languages that the request's Accept-Language asks for most; the first is for whoever asks for
// none of them. Each has a tag that is BCP 47. Where there is one only, nothing is chosen.
func inLanguage(all []web.Language) func(http.Handler) http.Handler {
	tags := make([]language.Tag, len(all))
	for i, l := range all {
		tags[i] = language.MustParse(l.Tag)
	}
	matcher := language.NewMatcher(tags)
	return func(next http.Handler) http.Handler {
		if len(all) < 2 {
			return next
		}
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			w.Header().Add("Vary", "Accept-Language")
			// What cannot be read asks for nothing.
			wanted, _, _ := language.ParseAcceptLanguage(r.Header.Get("Accept-Language"))
			_, i, _ := matcher.Match(wanted...)
			next.ServeHTTP(w, r.WithContext(web.WithLanguage(r.Context(), all[i])))
		})
	}
}
