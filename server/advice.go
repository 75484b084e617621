package main

import (
	"context"
	"net/http"

	"github.com/go-chi/chi/v5"

	"pinwright/pinmap/project"
)

// stand names a stored project at one revision.
type stand struct {
	id       int64
	revision int
}

// Advice is small beside a work: seventy-two points and as many teeth.
const (
	keptAdvice  = 256
	adviceBytes = 40 << 10 // of one, about
)

// AdviceAnswer is advice about a stored project at one revision.
type AdviceAnswer struct {
	Revision int `json:"revision"`
	*project.Advice
}

// adviseUpload answers with advice about an upload.
func (a *app) adviseUpload(r *http.Request) (*reply, error) {
	u, err := readUpload(r, a.config.Limits)
	if err != nil {
		return nil, err
	}
	advice, err := a.desk.adviseFresh(r.Context(), u)
	if err != nil {
		return nil, err
	}
	return jsonReply(http.StatusOK, advice)
}

// readAdvice answers with advice about a stored project as it stands.
func (a *app) readAdvice(r *http.Request) (*reply, error) {
	ref, err := a.store.Find(r.Context(), chi.URLParam(r, "token"))
	if err != nil {
		return nil, err
	}
	w, err := a.desk.open(r.Context(), ref, none)
	if err != nil {
		return nil, err
	}
	advice, err := a.desk.advise(r.Context(), ref.ID, w)
	if err != nil {
		return nil, err
	}
	answer, err := jsonReply(http.StatusOK, AdviceAnswer{w.revision(), advice})
	if err != nil {
		return nil, err
	}
	answer.header.Set("ETag", etag(w.revision()))
	return answer, nil
}

// adviseFresh gives advice about an upload; nothing is stored.
func (d *desk) adviseFresh(ctx context.Context, u upload) (advice *project.Advice, err error) {
	setup, err := project.ParseSetup(u.setup)
	if err != nil {
		return nil, err
	}
	err = d.timely(ctx, func(ctx context.Context) error {
		read, err := d.read(u.tune, u.blank)
		if err != nil {
			return err
		}
		advice, err = project.Advise(ctx, read, setup, nil)
		return err
	})
	return advice, err
}

// advise gives advice about the work of a stored project.
func (d *desk) advise(ctx context.Context, id int64, w *work) (advice *project.Advice, err error) {
	key := stand{id, w.revision()}
	if advice, ok := d.advice.get(key); ok {
		return advice, nil
	}
	err = d.timely(ctx, func(ctx context.Context) error {
		advice, err = project.Advise(ctx, w.tune, w.setup, w.log)
		return err
	})
	if err != nil {
		return nil, ours(err)
	}
	d.advice.put(key, advice, adviceBytes)
	return advice, nil
}
