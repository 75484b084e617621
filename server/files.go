package main

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"strings"

	"pinwright/pinmap/bench"
	"pinwright/server/store"
)

// fileWanted reads which file a request asks for and on which paper, before any work is done for it.
func fileWanted(r *http.Request, name string) (bench.Maker, bench.Paper, error) {
	maker, ok := bench.File(name)
	if !ok {
		return bench.Maker{}, "", &fault{kind: notFound, title: "There is no such file",
			detail: fmt.Sprintf("This version does not make %q. The files are: %s.", shorten(name, 40), strings.Join(bench.Names(), ", "))}
	}
	paper, err := bench.ParsePaper(r.URL.Query().Get("paper"))
	if err != nil {
		return bench.Maker{}, "", &fault{kind: unusable, title: "The paper is not known", detail: err.Error() + ".", cause: err}
	}
	return maker, paper, nil
}

// given reports, as an error, that a token that can only look does not give a file. The edit token gives all.
func given(ref store.Ref, w *work, name string) error {
	share := w.result.Setup.Share
	if ref.CanEdit || share.Allows(name) {
		return nil
	}
	var shared []string
	for _, name := range bench.Names() {
		if share.Allows(name) {
			shared = append(shared, name)
		}
	}
	detail := "It gives no file at all."
	if len(shared) > 0 {
		detail = "The files that it gives: " + strings.Join(shared, ", ") + "."
	}
	return &fault{kind: forbidden, title: "This link does not give " + name,
		detail: detail + " Whoever holds the edit link chooses which files the view link gives; ask there for this one."}
}

// givenFiles lists the files that a token gives.
func givenFiles(ref store.Ref, w *work) (names []string) {
	for _, name := range bench.Names() {
		if given(ref, w, name) == nil {
			names = append(names, name)
		}
	}
	return names
}

// fileReply makes a file of a work, to be saved under its name. It waits for room, since sound takes as long as a derivation.
func (a *app) fileReply(ctx context.Context, name string, maker bench.Maker, job bench.Job) (*reply, error) {
	var body bytes.Buffer
	if err := a.desk.timely(ctx, func(context.Context) error { return maker.Write(&body, job) }); err != nil {
		return nil, fmt.Errorf("write %s: %w", name, err)
	}
	return &reply{status: http.StatusOK, body: body.Bytes(), header: http.Header{
		"Content-Type":        {maker.MediaType},
		"Content-Disposition": {`attachment; filename="` + name + `"`},
	}}, nil
}
