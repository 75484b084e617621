package main

import (
	_ "embed"
	"log/slog"
	"net/http"
	"runtime"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"

	"pinwright/server/store"
	"pinwright/static"
	"pinwright/web"
)

// app is what the handlers share.
type app struct {
	config Config
	store  store.Store
	desk   *desk
	log    *slog.Logger
	routes chi.Router
}

// newApp wires the routes. It fails where the configuration cannot be used.
func newApp(c Config, s store.Store, log *slog.Logger) (*app, error) {
	a := &app{config: c, store: s, desk: newDesk(s, c.Limits, runtime.GOMAXPROCS(0)), log: log, routes: chi.NewRouter()}
	sameOrigin, err := a.sameOrigin()
	if err != nil {
		return nil, err
	}
	languages, err := web.Languages()
	if err != nil {
		return nil, err
	}
	r := a.routes
	r.Use(a.journal, headers, middleware.GetHead)
	r.NotFound(a.nothingHere)
	r.MethodNotAllowed(a.wrongMethod)
	r.Get("/healthz", a.api(a.health))
	r.Get("/readyz", a.api(a.ready))
	r.Method(http.MethodGet, static.Prefix+"*", compressed(static.Handler()))
	r.Get(keeperPath, keeper)

	r.Group(func(r chi.Router) {
		r.Use(sameOrigin, a.limitRate(c.Rates.Requests), shownAsWanted, inLanguage(languages))
		r.Get("/", a.page(a.home))
		r.Get("/edit/{token}", a.page(a.editPage))
		r.Get("/edit/{token}/map", a.page(a.mapPage))
		r.Get("/view/{token}", a.page(a.viewPage))
		r.Get("/view/{token}/map", a.page(a.mapPage))
		r.Get("/edit/{token}/bench", a.page(a.benchPage))
		r.Get("/edit/{token}/drill", a.page(a.drillPage))
		r.Get("/view/{token}/drill", a.page(a.drillPage))
		r.Get("/edit/{token}/picture.png", a.page(a.picture))
		r.Get("/view/{token}/picture.png", a.page(a.picture))
		r.Get("/api/openapi.json", a.api(describe))
		r.Get("/api/projects/{token}", a.api(a.readProject))
		r.Get("/api/projects/{token}/files/{name}", a.api(a.readFile))
		r.Get("/api/projects/{token}/advice", a.api(a.readAdvice))
		r.Get("/api/projects/{token}/settlement", a.api(a.readSettlement))
		r.Get("/api/projects/{token}/drilled", a.api(a.readDrilled))
		r.Post(reportPath, a.api(a.report))
		r.Post("/shown", a.page(a.chooseShown))

		r.Group(func(r chi.Router) {
			r.Use(a.limitRate(c.Rates.Changes))
			r.Post("/tunes", a.handle(uploadLimit(c.Limits), a.uploadTune, a.uploadRefused))
			r.Post("/demo", a.page(a.openDemo))
			r.Post("/blank", a.handle(maxSetup, a.startBlank, a.uploadRefused))
			r.Post("/edit/{token}/decide", a.page(a.change))
			r.Post("/edit/{token}/beside", a.handle(maxSetup, a.putBeside, a.errorPage))
			r.Post("/edit/{token}/try", a.api(a.tryChange))
			r.Post("/view/{token}/copy", a.page(a.copyProject))
			r.Post("/api/arrange", a.handle(uploadLimit(c.Limits), a.arrangeTune, problemReply))
			r.Post("/api/compare", a.handle(uploadLimit(c.Limits), a.compareTunes, problemReply))
			r.Post("/api/advice", a.handle(uploadLimit(c.Limits), a.adviseUpload, problemReply))
			r.Post("/api/files/{name}", a.handle(uploadLimit(c.Limits), a.makeFile, problemReply))
			r.Post("/api/projects", a.handle(uploadLimit(c.Limits), a.createProject, problemReply))
			r.Post("/api/projects/{token}/decisions", a.api(a.addDecision))
			r.Post("/api/projects/{token}/drilled", a.handle(maxMarks, a.changeDrilled, problemReply))
			r.Post("/api/projects/{token}/spoiled", a.api(a.waysOut))
			r.Post("/api/tooth", a.api(a.tooth))
		})
	})
	return a, nil
}

// api makes an http.Handler that answers programs.
func (a *app) api(h handler) http.HandlerFunc { return a.handle(maxSetup, h, problemReply) }

// page makes an http.Handler that answers people.
func (a *app) page(h handler) http.HandlerFunc {
	return compressed(a.handle(maxSetup, h, a.errorPage)).ServeHTTP
}

// compressed makes what people's browsers get small; of the levels of gzip a quick one, since a page is made anew each time.
var compressed = middleware.Compress(3, "text/html", "text/css", "text/javascript", "image/svg+xml")

//go:embed openapi.json
var description []byte

// describe answers with the description of the API, OpenAPI 3.1.
func describe(*http.Request) (*reply, error) {
	return &reply{status: http.StatusOK, header: http.Header{"Content-Type": {"application/json"}}, body: description}, nil
}
