package main

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"log/slog"
	"net/http"
	"runtime/debug"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"
)

// entry is what the log will say about a request.
type entry struct {
	number string
	fault  *fault
}

type entryKey struct{}

var errPanic = errors.New("a panic")

// journal gives every request a number and logs it once it is answered: by the pattern of its route, for its path may
// hold a token. What panics is answered as a fault of the server.
func (a *app) journal(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		began := time.Now()
		number := make([]byte, 6)
		rand.Read(number) // never fails, by its documentation
		e := &entry{number: hex.EncodeToString(number)}
		r = r.WithContext(context.WithValue(r.Context(), entryKey{}, e))
		seen := middleware.NewWrapResponseWriter(w, r.ProtoMajor)
		defer func() {
			if v := recover(); v != nil {
				if v == http.ErrAbortHandler {
					panic(v)
				}
				a.log.ErrorContext(r.Context(), "panic", slog.String("request", e.number), slog.Any("value", v), slog.String("stack", string(debug.Stack())))
				if seen.Status() == 0 {
					a.refuseByAddress(seen, r, faultOf(errPanic))
				}
			}
			a.write(r, e, seen, time.Since(began))
		}()
		next.ServeHTTP(seen, r)
	})
}

func (a *app) write(r *http.Request, e *entry, seen middleware.WrapResponseWriter, took time.Duration) {
	level, fields := slog.LevelInfo, []slog.Attr{
		slog.String("request", e.number),
		slog.String("method", r.Method),
		slog.String("route", chi.RouteContext(r.Context()).RoutePattern()),
		slog.Int("status", seen.Status()),
		slog.Int("bytes", seen.BytesWritten()),
		slog.Float64("ms", float64(took.Microseconds())/1000),
	}
	if e.fault != nil {
		fields = append(fields, slog.String("fault", e.fault.Error()))
		if e.fault.kind == broken {
			level = slog.LevelError
		}
	}
	a.log.LogAttrs(r.Context(), level, "request", fields...)
}

// noteFault makes a fault part of what the log will say about the request.
func noteFault(r *http.Request, f *fault) {
	if e, ok := r.Context().Value(entryKey{}).(*entry); ok {
		e.fault = f
	}
}

// requestNumber gives the number under which the log has the request.
func requestNumber(r *http.Request) string {
	if e, ok := r.Context().Value(entryKey{}).(*entry); ok {
		return e.number
	}
	return ""
}
