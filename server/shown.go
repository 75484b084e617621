package main

import (
	"net/http"
	"strings"

	"github.com/go-chi/chi/v5"

	"pinwright/web"
)

// shownCookie holds how a browser wants figures shown. Pages that depend on it are made anew each time and never kept (headers), and none has an
// ETag, so that no copy of a page as it was shown before can come back; what is kept at hand or by browsers, such as pictures, holds no such figure.
const shownCookie = "pinwright-shown"

// shownSeconds is for how long a browser keeps the choice.
const shownSeconds = 365 * 24 * 60 * 60

// shownAsWanted has pages rendered as the browser's cookie asks.
func shownAsWanted(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if c, err := r.Cookie(shownCookie); err == nil {
			r = r.WithContext(web.WithShown(r.Context(), web.ParseShown(c.Value)))
		}
		next.ServeHTTP(w, r)
	})
}

// chooseShown keeps a choice in the browser and leads back to the page on which it was made. Scripts need no cookie, since the page tells them.
func (a *app) chooseShown(r *http.Request) (*reply, error) {
	form, err := readForm(r)
	if err != nil {
		return nil, err
	}
	shown, err := web.ShownFromForm(form)
	if err != nil {
		return nil, err
	}
	back := form.Get("back")
	if !a.isPage(back) {
		return nil, &fault{kind: unusable, title: "The form does not say which page it stands on", pointer: "/back",
			detail: "Load the page again and repeat the choice."}
	}
	cookie := http.Cookie{Name: shownCookie, Value: shown.String(), Path: "/", MaxAge: shownSeconds, HttpOnly: true, SameSite: http.SameSiteLaxMode,
		Secure: strings.HasPrefix(a.link(r, "/", ""), "https:")}
	if shown == (web.Shown{}) {
		cookie.MaxAge = -1 // nothing needs to be kept
	}
	return seeOther(back).with(http.Header{"Set-Cookie": {cookie.String()}}), nil
}

// isPage reports whether a text is the path of a page of this server, with nothing before or behind it. A redirect goes nowhere else.
func (a *app) isPage(path string) bool {
	const plain = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_/"
	if strings.Trim(path, plain) != "" || strings.HasPrefix(path, "//") || len(path) > 200 {
		return false
	}
	matched := chi.NewRouteContext()
	return a.routes.Match(matched, http.MethodGet, path) && !strings.HasPrefix(path, "/api/")
}
