package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"net/http"
	"strings"

	"pinwright/pinmap/bench"
	"pinwright/pinmap/project"
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

// fileKey is a digest of all that a file is made from: the same gives the same bytes.
type fileKey [sha256.Size]byte

// keyOf gives the key of texts, told apart by their lengths.
func keyOf(texts ...[]byte) (key fileKey) {
	h := sha256.New()
	for _, text := range texts {
		_ = binary.Write(h, binary.LittleEndian, int64(len(text)))
		h.Write(text)
	}
	h.Sum(key[:0])
	return key
}

// key gives the key of a file of an upload.
func (u upload) key(name string, paper bench.Paper) fileKey {
	texts := [][]byte{[]byte("upload"), []byte(name), []byte(paper), []byte(u.fileName), u.tune, u.setup}
	if u.blank {
		texts = append(texts, []byte("blank"))
	}
	if u.project != nil {
		texts = append(texts, []byte("project"), project.Encode(*u.project))
	}
	return keyOf(texts...)
}

// fileReply gives a file to be saved under its name, the one that is at hand or one that is made now. It waits for room, since sound takes as long as a
// derivation.
func (a *app) fileReply(ctx context.Context, name string, maker bench.Maker, key fileKey, job func() (bench.Job, error)) (*reply, error) {
	body, ok := a.desk.files.get(key)
	if !ok {
		j, err := job()
		if err != nil {
			return nil, err
		}
		var made bytes.Buffer
		if err := a.desk.timely(ctx, func(context.Context) error { return maker.Write(&made, j) }); err != nil {
			return nil, fmt.Errorf("write %s: %w", name, err)
		}
		body = made.Bytes()
		a.desk.files.put(key, body, len(body))
	}
	return &reply{status: http.StatusOK, body: body, header: http.Header{
		"Content-Type":        {maker.MediaType},
		"Content-Disposition": {`attachment; filename="` + name + `"`},
	}}, nil
}

// storedFile gives a file of a stored project as it stands; viewLink shows the project and changes nothing.
func (a *app) storedFile(ctx context.Context, name string, maker bench.Maker, paper bench.Paper, ref store.Ref, w *work, viewLink string) (*reply, error) {
	files := givenFiles(ref, w)
	key := keyOf([]byte("project"), []byte(name), []byte(paper), fmt.Append(nil, ref.ID, " ", w.revision()), []byte(viewLink), []byte(strings.Join(files, " ")))
	return a.fileReply(ctx, name, maker, key, func() (bench.Job, error) {
		job := w.jobOf(paper, viewLink)
		job.Files = files
		return job, nil
	})
}
