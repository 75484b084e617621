package main

import (
	"encoding/json"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/httprate"
)

// policy allows a page nothing but what this server sends as files of its own.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; " +
	"form-action 'self'; base-uri 'none'; frame-ancestors 'none'; report-uri " + reportPath

// mapPolicy is for the drill map, one self-contained page with its style inside and without script.
const mapPolicy = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; form-action 'none'; base-uri 'none'; " +
	"frame-ancestors 'none'; report-uri " + reportPath

const reportPath = "/csp"

// headers sets what every answer carries. What has no policy of its own is never kept by a browser or a proxy: most
// addresses hold a token.
func headers(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Cache-Control", "no-store")
		next.ServeHTTP(w, r)
	})
}

// sameOrigin refuses what another site makes a browser send.
func (a *app) sameOrigin() (func(http.Handler) http.Handler, error) {
	protection := http.NewCrossOriginProtection()
	if a.config.BaseURL != "" {
		if err := protection.AddTrustedOrigin(a.config.BaseURL); err != nil {
			return nil, err
		}
	}
	protection.AddInsecureBypassPattern("POST " + reportPath) // the browser itself sends it
	protection.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		a.refuseByAddress(w, r, &fault{kind: forbidden, title: "Another site sent this request",
			detail: "A change is taken only from this server's own pages, or from a program that is not a browser. Open the project's link and make the change there."})
	}))
	return protection.Handler, nil
}

// limitRate bounds what one address may ask in a minute; 0 sets no bound.
func (a *app) limitRate(perMinute int) func(http.Handler) http.Handler {
	if perMinute == 0 {
		return func(next http.Handler) http.Handler { return next }
	}
	return httprate.LimitBy(perMinute, time.Minute, peer,
		httprate.WithResponseHeaders(httprate.ResponseHeaders{RetryAfter: "Retry-After"}),
		httprate.WithLimitHandler(func(w http.ResponseWriter, r *http.Request) {
			a.refuseByAddress(w, r, &fault{kind: tooMany, title: "Too many requests came from this address",
				detail: "Wait a minute, then go on. Whoever runs this server can lift the limit with PINWRIGHT_RATE=off."})
		}))
}

// peer names whom a rate is counted for: the address at the other end of the connection, since a header that names
// another can be made up. Behind a proxy, which is one address, the proxy limits rates and PINWRIGHT_RATE is off.
func peer(r *http.Request) (string, error) {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	return httprate.CanonicalizeIP(host), err
}

// report logs that a browser refused something by the policy: which rule, and what kind of thing, but no page's address.
func (a *app) report(r *http.Request) (*reply, error) {
	var body struct {
		Report struct {
			Directive string `json:"effective-directive"`
			Violated  string `json:"violated-directive"`
			Blocked   string `json:"blocked-uri"`
			Line      int    `json:"line-number"`
		} `json:"csp-report"`
	}
	if err := json.NewDecoder(r.Body).Decode(&body); err != nil {
		return nil, &fault{kind: unreadable, title: "The report cannot be read", detail: "It is a report of a browser, as JSON.", cause: err}
	}
	blocked := body.Report.Blocked
	if u, err := url.Parse(blocked); err != nil || u.Host != "" {
		blocked = "elsewhere"
		if err == nil {
			blocked = u.Scheme + "://" + u.Host
		}
	}
	a.log.WarnContext(r.Context(), "content security policy", slog.String("directive", or(body.Report.Directive, body.Report.Violated)),
		slog.String("blocked", blocked), slog.Int("line", body.Report.Line))
	return &reply{status: http.StatusNoContent}, nil
}

// wrongMethod refuses a method and names those that the address has.
func (a *app) wrongMethod(w http.ResponseWriter, r *http.Request) {
	for _, method := range []string{http.MethodGet, http.MethodPost} {
		if a.routes.Match(chi.NewRouteContext(), method, r.URL.Path) {
			w.Header().Add("Allow", method)
		}
	}
	a.refuseByAddress(w, r, &fault{kind: wrongMethod, title: "This address does not take " + r.Method,
		detail: "The header Allow names the methods that it takes."})
}

func (a *app) nothingHere(w http.ResponseWriter, r *http.Request) {
	a.refuseByAddress(w, r, &fault{kind: notFound, title: "There is nothing at this address",
		detail: "The first page is at /, the description of the API at /api/openapi.json."})
}
