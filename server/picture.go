package main

import (
	"bytes"
	"context"
	"net/http"

	"github.com/go-chi/chi/v5"

	"pinwright/server/store"
	"pinwright/web"
	"pinwright/web/picture"
)

// picture answers with the picture for those who preview the link, under either token. A browser may keep it and asks
// whether it still holds.
func (a *app) picture(r *http.Request) (*reply, error) {
	ref, err := a.store.Find(r.Context(), chi.URLParam(r, "token"))
	if err != nil {
		return nil, err
	}
	header := func(revision int) http.Header {
		return http.Header{"Etag": {etag(revision)}, "Cache-Control": {"private, no-cache"}}
	}
	if had := r.Header.Get("If-None-Match"); had != "" && matches(had, ref.Revision) {
		return &reply{status: http.StatusNotModified, header: header(ref.Revision)}, nil
	}
	body, revision, err := a.desk.picture(r.Context(), ref)
	if err != nil {
		return nil, err
	}
	answer := &reply{status: http.StatusOK, header: http.Header{"Content-Type": {"image/png"}}, body: body}
	return answer.with(header(revision)), nil
}

// picture draws the picture of a stored project, or gives the one drawn before, and the revision that it shows.
func (d *desk) picture(ctx context.Context, ref store.Ref) (body []byte, revision int, err error) {
	at := stand{ref.ID, ref.Revision}
	if body, ok := d.pictures.get(at); ok {
		return body, ref.Revision, nil
	}
	w, err := d.open(ctx, ref, none)
	if err != nil {
		return nil, 0, err
	}
	var drawn bytes.Buffer
	if err := d.timely(ctx, func(context.Context) error { return picture.Write(&drawn, w.result, web.Facts(w.result)) }); err != nil {
		return nil, 0, err
	}
	d.pictures.put(stand{ref.ID, w.revision()}, drawn.Bytes(), drawn.Len())
	return drawn.Bytes(), w.revision(), nil
}
