package main

import (
	"context"
	"net/http"

	"pinwright/arrange/comb"
)

// tooth answers with what one tooth sounds, or with the weight that it needs.
func (a *app) tooth(r *http.Request) (*reply, error) {
	body, err := readJSON(r)
	if err != nil {
		return nil, err
	}
	request, err := comb.ParseTooth(body)
	if err != nil {
		return nil, err
	}
	var answer comb.ToothAnswer
	err = a.desk.timely(r.Context(), func(ctx context.Context) error {
		answer, err = comb.Tooth(ctx, request)
		return err
	})
	if err != nil {
		return nil, err
	}
	return jsonReply(http.StatusOK, answer)
}
