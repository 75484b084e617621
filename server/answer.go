package main

import (
	"bytes"
	"encoding/json"
	"io"
	"log/slog"
	"maps"
	"net/http"
	"strconv"
	"strings"

	"github.com/a-h/templ"

	"pinwright/web"
)

// reply is a whole answer, rendered before anything is sent.
type reply struct {
	status int
	header http.Header
	body   []byte
}

// with adds headers.
func (a *reply) with(more http.Header) *reply {
	maps.Copy(a.header, more)
	return a
}

// handler answers a request or gives the error that stands in the way; it writes nothing itself.
type handler func(r *http.Request) (*reply, error)

// onError makes the answer to a request that failed. Where it fails itself, the plain answer is given.
type onError func(r *http.Request, f *fault) (*reply, error)

// handle makes an http.Handler of h, which may read a body of at most limit bytes.
func (a *app) handle(limit int64, h handler, failed onError) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		whole := r.Body
		r.Body = http.MaxBytesReader(w, whole, limit)
		answer, err := h(r)
		if err == nil {
			send(w, answer)
			return
		}
		f := faultOf(err)
		// Many clients send all of a body before they read the answer; they would see a broken connection instead of it.
		_, _ = io.CopyN(io.Discard, whole, limit+drainBytes)
		a.refuse(w, r, f, failed)
	}
}

// drainBytes is how much of a body above its limit is read past, so that the client reads why it was refused.
const drainBytes = 32 << 20

// refuse logs a fault and answers it.
func (a *app) refuse(w http.ResponseWriter, r *http.Request, f *fault, failed onError) {
	noteFault(r, f)
	answer, err := failed(r, f)
	if err != nil {
		a.log.ErrorContext(r.Context(), "an answer could not be made", slog.String("error", err.Error()))
		answer = problem(r, f)
	}
	send(w, answer)
}

// refuseByAddress answers a fault found before any handler: a problem to programs, a page to people.
func (a *app) refuseByAddress(w http.ResponseWriter, r *http.Request, f *fault) {
	failed := a.errorPage
	if strings.HasPrefix(r.URL.Path, "/api/") {
		failed = problemReply
	}
	a.refuse(w, r, f, failed)
}

func send(w http.ResponseWriter, answer *reply) {
	maps.Copy(w.Header(), answer.header)
	if len(answer.body) > 0 {
		w.Header().Set("Content-Length", strconv.Itoa(len(answer.body)))
	}
	w.WriteHeader(answer.status)
	_, _ = w.Write(answer.body) // what fails here is the client's connection
}

// jsonReply renders v as JSON.
func jsonReply(status int, v any) (*reply, error) {
	body, err := json.Marshal(v)
	if err != nil {
		return nil, err
	}
	return &reply{status: status, header: http.Header{"Content-Type": {"application/json"}}, body: body}, nil
}

// pageReply renders a page or a fragment.
func pageReply(r *http.Request, status int, page templ.Component) (*reply, error) {
	var body bytes.Buffer
	if err := page.Render(r.Context(), &body); err != nil {
		return nil, err
	}
	return &reply{status: status, header: http.Header{"Content-Type": {"text/html; charset=utf-8"}}, body: body.Bytes()}, nil
}

// seeOther sends a browser to a path of this server by GET.
func seeOther(path string) *reply {
	return &reply{status: http.StatusSeeOther, header: http.Header{"Location": {path}}}
}

// Problem is the body of a refusal, RFC 9457.
type Problem struct {
	Title    string `json:"title"`
	Status   int    `json:"status"`
	Detail   string `json:"detail"`
	Pointer  string `json:"pointer,omitempty"`
	Revision *int   `json:"revision,omitempty"`
	Request  string `json:"request,omitempty"` // number of the request in the log, where the fault is the server's
}

func problemReply(r *http.Request, f *fault) (*reply, error) { return problem(r, f), nil }

func problem(r *http.Request, f *fault) *reply {
	p := Problem{Title: f.title, Status: f.status(), Detail: f.detail, Pointer: f.pointer, Revision: f.revision}
	if f.kind == broken {
		p.Request = requestNumber(r)
	}
	body, err := json.Marshal(p)
	if err != nil {
		panic("problem: " + err.Error()) // strings and numbers always marshal
	}
	answer := &reply{status: f.status(), header: http.Header{"Content-Type": {"application/problem+json"}}, body: body}
	return answer.with(refusalHeader(f))
}

// errorPage is the answer to people.
func (a *app) errorPage(r *http.Request, f *fault) (*reply, error) {
	m := web.ErrorModel{Status: f.status(), Title: f.title, Detail: f.told(r.Context())}
	if f.kind == broken {
		m.Ref = requestNumber(r)
	}
	answer, err := pageReply(r, f.status(), web.ErrorPage(m))
	if err != nil {
		return nil, err
	}
	return answer.with(refusalHeader(f)), nil
}

// refusalHeader gives the headers that a refusal carries whatever its body.
func refusalHeader(f *fault) http.Header {
	h := http.Header{}
	if f.kind == busy {
		h.Set("Retry-After", strconv.Itoa(int(retryAfter.Seconds())))
	}
	if f.revision != nil {
		h.Set("ETag", etag(*f.revision))
	}
	return h
}

// etag writes a revision as an entity tag.
func etag(revision int) string { return strconv.Quote(strconv.Itoa(revision)) }
