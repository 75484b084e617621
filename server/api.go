package main

import (
	"errors"
	"io"
	"mime"
	"net/http"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"pinwright/pinmap/bench"
	"pinwright/pinmap/project"
	"pinwright/server/store"
)

// ProjectAnswer is what the API says about a stored project: its links, its revision, and its result.
type ProjectAnswer struct {
	EditURL  string `json:"editUrl,omitempty"` // only for whoever holds it
	ViewURL  string `json:"viewUrl"`
	Revision int    `json:"revision"`
	*project.Result
}

// arrangeTune answers with the result of an upload.
func (a *app) arrangeTune(r *http.Request) (*reply, error) {
	u, err := readUpload(r, a.config.Limits)
	if err != nil {
		return nil, err
	}
	w, err := a.desk.fresh(r.Context(), u, all)
	if err != nil {
		return nil, err
	}
	if w, err = a.desk.withRemedies(r.Context(), 0, w, r.URL.Query().Get("finding")); err != nil {
		return nil, err
	}
	return jsonReply(http.StatusOK, w.result)
}

// makeFile answers with a file made of an upload.
func (a *app) makeFile(r *http.Request) (*reply, error) {
	name := chi.URLParam(r, "name")
	maker, paper, err := fileWanted(r, name)
	if err != nil {
		return nil, err
	}
	u, err := readUpload(r, a.config.Limits)
	if err != nil {
		return nil, err
	}
	return a.fileReply(r.Context(), name, maker, u.key(name, paper), func() (bench.Job, error) {
		w, err := a.desk.fresh(r.Context(), u, none)
		if err != nil {
			return bench.Job{}, err
		}
		return w.job(paper), nil
	})
}

// createProject stores an upload and answers with its links and its result.
func (a *app) createProject(r *http.Request) (*reply, error) {
	u, err := readUpload(r, a.config.Limits)
	if err != nil {
		return nil, err
	}
	w, err := a.desk.fresh(r.Context(), u, all)
	if err != nil {
		return nil, err
	}
	tokens, err := a.desk.save(r.Context(), w)
	if err != nil {
		return nil, err
	}
	answer, err := a.projectReply(r, http.StatusCreated, tokens.Edit, true, w)
	if err != nil {
		return nil, err
	}
	answer.header.Set("Location", "/api/projects/"+tokens.Edit)
	return answer, nil
}

// readProject answers with a stored project as it stands.
func (a *app) readProject(r *http.Request) (*reply, error) {
	token := chi.URLParam(r, "token")
	ref, err := a.store.Find(r.Context(), token)
	if err != nil {
		return nil, err
	}
	w, err := a.desk.open(r.Context(), ref, all)
	if err != nil {
		return nil, err
	}
	if w, err = a.desk.withRemedies(r.Context(), ref.ID, w, r.URL.Query().Get("finding")); err != nil {
		return nil, err
	}
	return a.projectReply(r, http.StatusOK, token, ref.CanEdit, w)
}

// readFile answers with a file made of a stored project as it stands.
func (a *app) readFile(r *http.Request) (*reply, error) {
	ref, err := a.store.Find(r.Context(), chi.URLParam(r, "token"))
	if err != nil {
		return nil, err
	}
	name := chi.URLParam(r, "name")
	maker, paper, err := fileWanted(r, name)
	if err != nil {
		return nil, err
	}
	w, err := a.desk.open(r.Context(), ref, none)
	if err != nil {
		return nil, err
	}
	if err := given(ref, w, name); err != nil {
		return nil, err
	}
	answer, err := a.storedFile(r.Context(), name, maker, paper, ref, w, a.viewLink(r, ref))
	if err != nil {
		return nil, err
	}
	answer.header.Set("ETag", etag(w.revision()))
	return answer, nil
}

// addDecision appends a decision to a project that is still at the revision of If-Match.
func (a *app) addDecision(r *http.Request) (*reply, error) {
	token, ref, err := a.editable(r)
	if err != nil {
		return nil, err
	}
	body, err := readJSON(r)
	if err != nil {
		return nil, err
	}
	condition := r.Header.Get("If-Match")
	if condition == "" {
		return nil, &fault{kind: unconditional, title: "If-Match is missing",
			detail: "Send the revision that the decision was made on, as the ETag gave it: If-Match: " + etag(ref.Revision) + "."}
	}
	decision, err := project.ParseDecision(body)
	if err != nil {
		return nil, err
	}
	w, err := a.desk.open(r.Context(), ref, none)
	if err != nil {
		return nil, err
	}
	if !matches(condition, w.revision()) {
		return nil, &store.ConflictError{Revision: w.revision()}
	}
	next, err := a.desk.decide(r.Context(), ref.ID, w, decision)
	if err != nil {
		return nil, err
	}
	return a.projectReply(r, http.StatusOK, token, true, next)
}

// editable gives the project that the token of a request may change.
func (a *app) editable(r *http.Request) (token string, ref store.Ref, err error) {
	token = chi.URLParam(r, "token")
	if ref, err = a.store.Find(r.Context(), token); err == nil && !ref.CanEdit {
		err = errViewOnly
	}
	return token, ref, err
}

var errViewOnly = &fault{kind: forbidden, title: "This link can only look",
	detail: "Ask for the edit link, or copy the project as your own and change the copy."}

// matches reports whether an If-Match header allows a revision: "*", or a list in which its entity tag stands. A weak tag
// counts too, for proxies that compress make tags weak.
func matches(condition string, revision int) bool {
	for tag := range strings.SplitSeq(condition, ",") {
		tag = strings.TrimPrefix(strings.TrimSpace(tag), "W/")
		if tag == "*" || tag == etag(revision) || tag == strconv.Itoa(revision) {
			return true
		}
	}
	return false
}

// readJSON reads a body that must say it is JSON.
func readJSON(r *http.Request) ([]byte, error) {
	mediaType, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if err != nil || mediaType != "application/json" {
		return nil, &fault{kind: wrongType, title: "The body is not JSON", detail: "Send it with Content-Type: application/json.", cause: err}
	}
	body, err := io.ReadAll(r.Body)
	if long := (*http.MaxBytesError)(nil); errors.As(err, &long) {
		return nil, err
	}
	if err != nil {
		return nil, &fault{kind: unreadable, title: "The body breaks off", detail: "Send it again.", cause: err}
	}
	return body, nil
}

// projectReply answers with a project, its links made for whoever holds the token.
func (a *app) projectReply(r *http.Request, status int, token string, canEdit bool, w *work) (*reply, error) {
	answer := ProjectAnswer{ViewURL: a.link(r, "/view/", token), Revision: w.revision(), Result: w.result}
	if canEdit {
		answer.EditURL, answer.ViewURL = a.link(r, "/edit/", token), a.link(r, "/view/", store.ViewToken(token))
	}
	rendered, err := jsonReply(status, answer)
	if err != nil {
		return nil, err
	}
	rendered.header.Set("ETag", etag(w.revision()))
	return rendered, nil
}

// viewLink gives the absolute address that shows the project of the request's token and changes nothing.
func (a *app) viewLink(r *http.Request, ref store.Ref) string {
	token := chi.URLParam(r, "token")
	if ref.CanEdit {
		token = store.ViewToken(token)
	}
	return a.link(r, "/view/", token)
}

// link gives an absolute address on this server.
func (a *app) link(r *http.Request, path, token string) string {
	base := a.config.BaseURL
	if base == "" {
		scheme := "http"
		if r.TLS != nil {
			scheme = "https"
		}
		base = scheme + "://" + r.Host
	}
	return base + path + token
}

// health answers whether the server lives.
func (a *app) health(*http.Request) (*reply, error) { return plain("ok\n"), nil }

// ready answers whether the server can do its work: whether the store answers.
func (a *app) ready(r *http.Request) (*reply, error) {
	if err := a.store.Ping(r.Context()); err != nil {
		return nil, &fault{kind: busy, title: "The store does not answer", detail: "Try again in a few seconds.", cause: err}
	}
	return plain("ready\n"), nil
}

func plain(text string) *reply {
	return &reply{status: http.StatusOK, header: http.Header{"Content-Type": {"text/plain; charset=utf-8"}}, body: []byte(text)}
}
