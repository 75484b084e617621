package main

import (
	"context"
	"net/http"

	"pinwright/arrange/phrase"
	"pinwright/arrange/tune"
	"pinwright/pinmap/project"
)

// compareTunes answers with which of several tunes suits a comb best, and with one comb for all of them; nothing is stored.
func (a *app) compareTunes(r *http.Request) (*reply, error) {
	first, others, err := readTunes(r, a.config.Limits, project.MostCompared)
	if err != nil {
		return nil, err
	}
	setup, err := project.ParseSetup(first.setup)
	if err != nil {
		return nil, err
	}
	var comparison *project.Comparison
	err = a.desk.timely(r.Context(), func(ctx context.Context) error {
		var tunes []project.Candidate
		for _, u := range append([]upload{first}, others...) {
			read, err := a.desk.read(u.tune, u.blank)
			if fault, ok := err.(*tune.Error); ok && len(others) > 0 {
				return &tune.Error{Fault: fault.Fault, Message: phrase.Join(": ", phrase.Text(u.fileName), fault.Message)}
			}
			if err != nil {
				return err
			}
			tunes = append(tunes, project.Candidate{FileName: u.fileName, Tune: read})
		}
		comparison, err = project.Compare(ctx, tunes, setup)
		return err
	})
	if err != nil {
		return nil, err
	}
	return jsonReply(http.StatusOK, comparison)
}
