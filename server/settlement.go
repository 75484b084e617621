package main

import (
	"context"
	"net/http"

	"github.com/go-chi/chi/v5"

	"pinwright/pinmap/project"
)

// A settlement's findings make it larger than advice, with a great many of them as large as a work.
const (
	keptSettlements = 64
	settlementBytes = 16 << 20
)

// SettlementAnswer is what settling everything would do to a stored project at one revision.
type SettlementAnswer struct {
	Revision int `json:"revision"`
	*project.Settlement
}

// readSettlement answers with what settling everything would do; nothing changes.
func (a *app) readSettlement(r *http.Request) (*reply, error) {
	ref, err := a.store.Find(r.Context(), chi.URLParam(r, "token"))
	if err != nil {
		return nil, err
	}
	w, err := a.desk.open(r.Context(), ref, none)
	if err != nil {
		return nil, err
	}
	settlement, err := a.desk.settlement(r.Context(), ref.ID, w)
	if err != nil {
		return nil, err
	}
	answer, err := jsonReply(http.StatusOK, SettlementAnswer{w.revision(), settlement})
	if err != nil {
		return nil, err
	}
	answer.header.Set("ETag", etag(w.revision()))
	return answer, nil
}

// settlement gives what settling everything would do to the work of a stored project.
func (d *desk) settlement(ctx context.Context, id int64, w *work) (settlement *project.Settlement, err error) {
	key := stand{id, w.revision()}
	if settlement, ok := d.settlements.get(key); ok {
		return settlement, nil
	}
	err = d.timely(ctx, func(ctx context.Context) error {
		settlement, err = project.Settle(ctx, w.tune, w.setup, w.log)
		return err
	})
	if err != nil {
		return nil, ours(err)
	}
	d.settlements.put(key, settlement, 1<<10*(1+len(settlement.Left)+len(settlement.Steps)))
	return settlement, nil
}
