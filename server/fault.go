package main

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"time"

	"pinwright/arrange/comb"
	"pinwright/arrange/phrase"
	"pinwright/arrange/tune"
	"pinwright/pinmap/project"
	"pinwright/server/store"
	"pinwright/web"
)

// kind says which way a request failed.
type kind int

const (
	unreadable    kind = iota + 1 // the body breaks off or breaks its own format
	forbidden                     // the token or the origin may not do this
	notFound                      // nothing is at the address
	wrongMethod                   // something is, but not for this method
	overtaken                     // someone else was first
	tooLarge                      // over a limit
	wrongType                     // not a media type that is read here
	unusable                      // readable but not usable
	unconditional                 // If-Match is missing
	tooMany                       // over the rate limit
	busy                          // no room to work now
	broken                        // the fault is ours
)

// statuses is the one table from kind to HTTP status.
var statuses = map[kind]int{
	unreadable:    http.StatusBadRequest,
	forbidden:     http.StatusForbidden,
	notFound:      http.StatusNotFound,
	wrongMethod:   http.StatusMethodNotAllowed,
	overtaken:     http.StatusPreconditionFailed,
	tooLarge:      http.StatusRequestEntityTooLarge,
	wrongType:     http.StatusUnsupportedMediaType,
	unusable:      http.StatusUnprocessableEntity,
	unconditional: http.StatusPreconditionRequired,
	tooMany:       http.StatusTooManyRequests,
	busy:          http.StatusServiceUnavailable,
	broken:        http.StatusInternalServerError,
}

// fault is an error with words for the user and a cause for the log.
type fault struct {
	kind     kind
	title    string        // what is
	detail   string        // what would mend it
	said     phrase.Phrase // detail, where it can be said in the reader's language
	pointer  string        // JSON pointer of a bad field
	revision *int          // that the project has, where someone else was first
	cause    error
}

func (f *fault) Error() string {
	if f.cause != nil {
		return f.title + ": " + f.cause.Error()
	}
	return f.title + ": " + f.detail
}

func (f *fault) Unwrap() error { return f.cause }

func (f *fault) status() int { return statuses[f.kind] }

// told gives the detail as a page says it.
func (f *fault) told(ctx context.Context) string {
	if f.said.Empty() {
		return f.detail
	}
	return web.ShownIn(ctx).Say(f.said)
}

// retryAfter is how long a client is asked to wait where there is no room.
const retryAfter = 5 * time.Second

// faultOf gives the fault that an error stands for. What it does not know is broken.
func faultOf(err error) *fault {
	var (
		known    *fault
		conflict *store.ConflictError
		badTune  *tune.Error
		badField *project.FieldError
		badForm  *web.FieldError
		badTooth *comb.FieldError
		bytes    *http.MaxBytesError
	)
	switch {
	case errors.As(err, &known):
		return known
	case errors.Is(err, store.ErrNotFound):
		return &fault{kind: notFound, title: "There is no project at this address", cause: err,
			detail: "Check that the whole link was copied; it ends in 32 letters, digits, - or _."}
	case errors.As(err, &conflict):
		return &fault{kind: overtaken, title: "Someone else changed the project first", revision: &conflict.Revision, cause: err,
			detail: fmt.Sprintf("The project is at revision %d. Read it again, then repeat the change if it is still wanted.", conflict.Revision)}
	case errors.As(err, &badTune) && badTune.Fault == tune.TooLarge:
		return &fault{kind: tooLarge, title: "The tune is too large", detail: badTune.Message.String(), cause: err}
	case errors.As(err, &badTune):
		return &fault{kind: unusable, title: "The tune cannot be used", detail: badTune.Message.String(), cause: err}
	case errors.As(err, &badField):
		return &fault{kind: unusable, title: "A value cannot be used", detail: badField.Message.String(), pointer: badField.Pointer, cause: err}
	case errors.As(err, &badForm):
		return &fault{kind: unusable, title: "A value cannot be used", detail: badForm.Error(), said: badForm.Message, pointer: badForm.Pointer(), cause: err}
	case errors.As(err, &badTooth):
		return &fault{kind: unusable, title: "A value cannot be used", detail: badTooth.Message.String(), pointer: badTooth.Pointer, cause: err}
	case errors.As(err, &bytes):
		return &fault{kind: tooLarge, title: "The request is too large", cause: err,
			detail: fmt.Sprintf("This address takes at most %s.", amountOfBytes(bytes.Limit))}
	case errors.Is(err, context.Canceled):
		return &fault{kind: busy, title: "The request was broken off", detail: "Send it again.", cause: err}
	case errors.Is(err, context.DeadlineExceeded):
		return &fault{kind: busy, title: "This took too long", cause: err,
			detail: "The work was stopped. Try again in a few seconds, or choose a shorter excerpt."}
	}
	return &fault{kind: broken, title: "The server could not do this", cause: err,
		detail: "Nothing was stored. Try again; if it stays so, give the operator the number of this request."}
}

// amountOfBytes writes a number of bytes in words: "8 MiB", "64 KiB", "700 bytes".
func amountOfBytes(n int64) string {
	switch {
	case n >= 1<<20 && n%(1<<20) == 0:
		return fmt.Sprintf("%d MiB", n>>20)
	case n >= 1<<20:
		return fmt.Sprintf("%.2f MiB", float64(n)/(1<<20))
	case n >= 1<<10 && n%(1<<10) == 0:
		return fmt.Sprintf("%d KiB", n>>10)
	}
	return fmt.Sprintf("%d bytes", n)
}
