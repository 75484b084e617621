package main

import (
	"bytes"
	"database/sql"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/textproto"
	"net/url"
	"path"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"

	"pinwright/arrange/tune"
	"pinwright/arrange/tune/tunetest"
	"pinwright/server/store"
)

// site is a server with a real store, as tests see it.
type site struct {
	*httptest.Server
	t     testing.TB
	app   *app
	store *store.SQLite
	log   *journalBuffer
}

// newSite starts a server without rate limits; set changes its configuration.
func newSite(t testing.TB, set ...func(*Config)) *site {
	t.Helper()
	config := Config{Data: t.TempDir(), Limits: tune.DefaultLimits}
	for _, f := range set {
		f(&config)
	}
	s, err := store.OpenSQLite(t.Context(), config.Data)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	log := &journalBuffer{}
	a, err := newApp(config, s, slog.New(slog.NewJSONHandler(log, nil)))
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(a.routes)
	t.Cleanup(server.Close)
	server.Client().CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	return &site{Server: server, t: t, app: a, store: s, log: log}
}

// journalBuffer keeps what was logged.
type journalBuffer struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (b *journalBuffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.text.Write(p)
}

func (b *journalBuffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.text.String()
}

// ask is a request.
type ask struct {
	method, path string
	body         []byte
	header       map[string]string
}

// got is an answer.
type got struct {
	*http.Response
	body []byte
}

// do sends a request. An answer of the API is checked against its description.
func (s *site) do(a ask) got {
	s.t.Helper()
	request, err := http.NewRequestWithContext(s.t.Context(), a.method, s.URL+a.path, bytes.NewReader(a.body))
	if err != nil {
		s.t.Fatal(err)
	}
	for name, value := range a.header {
		request.Header.Set(name, value)
	}
	response, err := s.Client().Do(request)
	if err != nil {
		s.t.Fatal(err)
	}
	defer response.Body.Close()
	body, err := io.ReadAll(response.Body)
	if err != nil {
		s.t.Fatal(err)
	}
	g := got{response, body}
	s.checkContract(a, g)
	return g
}

// projectAnswer is what the tests read of an answer about a project.
type projectAnswer struct {
	EditURL, ViewURL string
	Revision         int
	Setup            struct{ Title string }
	Tune             struct{ Notes []struct{ ID string } }
	Decisions        []struct{ Text string }
	Pins             []struct {
		Note     string
		AngleDeg float64
	}
	CanUndo, CanRedo bool
}

func (a projectAnswer) edit() string { return path.Base(a.EditURL) }
func (a projectAnswer) view() string { return path.Base(a.ViewURL) }

func (g got) project(t testing.TB) (a projectAnswer) {
	t.Helper()
	if err := json.Unmarshal(g.body, &a); err != nil {
		t.Fatalf("%s: %v", g.body, err)
	}
	return a
}

func (g got) problem(t testing.TB) (p Problem) {
	t.Helper()
	if mediaType := g.Header.Get("Content-Type"); mediaType != "application/problem+json" {
		t.Fatalf("status %d with %s %.200s; want a problem", g.StatusCode, mediaType, g.body)
	}
	if err := json.Unmarshal(g.body, &p); err != nil {
		t.Fatal(err)
	}
	return p
}

// part is one part of a multipart body; with a file name it is a file.
type part struct{ field, file, content string }

// form writes a multipart body.
func form(t testing.TB, parts ...part) ([]byte, string) {
	t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for _, p := range parts {
		header := textproto.MIMEHeader{}
		disposition := fmt.Sprintf(`form-data; name=%q`, p.field)
		if p.file != "" {
			disposition += fmt.Sprintf(`; filename=%q`, p.file)
		}
		header.Set("Content-Disposition", disposition)
		pw, err := w.CreatePart(header)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.WriteString(pw, p.content); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return body.Bytes(), w.FormDataContentType()
}

// upload posts a form.
func (s *site) upload(address string, parts ...part) got {
	s.t.Helper()
	body, contentType := form(s.t, parts...)
	return s.do(ask{"POST", address, body, map[string]string{"Content-Type": contentType}})
}

// create stores a project and gives what was answered.
func (s *site) create(parts ...part) projectAnswer {
	s.t.Helper()
	if len(parts) == 0 {
		parts = []part{tunePart}
	}
	g := s.upload("/api/projects", parts...)
	if g.StatusCode != http.StatusCreated {
		s.t.Fatalf("status %d: %s", g.StatusCode, g.body)
	}
	return g.project(s.t)
}

// decide posts a decision made on a revision.
func (s *site) decide(token string, revision int, decision string) got {
	s.t.Helper()
	return s.do(ask{"POST", "/api/projects/" + token + "/decisions", []byte(decision),
		map[string]string{"Content-Type": "application/json", "If-Match": strconv.Quote(strconv.Itoa(revision))}})
}

func (s *site) get(address string) got {
	s.t.Helper()
	return s.do(ask{method: "GET", path: address})
}

// fill posts a form of a page.
func (s *site) fill(address string, fields url.Values, header map[string]string) got {
	s.t.Helper()
	h := map[string]string{"Content-Type": "application/x-www-form-urlencoded"}
	for name, value := range header {
		h[name] = value
	}
	return s.do(ask{"POST", address, []byte(fields.Encode()), h})
}

// scale is a tune of n notes up and down a scale, two a beat, with a repeat now and then.
func scale(n int) []byte {
	steps := []byte{72, 74, 76, 77, 79, 81, 83, 84, 83, 81, 81, 79, 77, 76, 74, 72}
	var events [][]byte
	for i := range n {
		events = append(events, tunetest.Note(0, 1, steps[i%len(steps)], 48))
	}
	return tunetest.File(96, tunetest.Track(events...))
}

var tunePart = part{"tune", "scale.mid", string(scale(32))}

// stored counts the projects and the decisions in the database.
func (s *site) stored() (projects, decisions int) {
	s.t.Helper()
	db, err := sql.Open("sqlite", filepath.Join(s.app.config.Data, "pinwright.db"))
	if err != nil {
		s.t.Fatal(err)
	}
	defer db.Close()
	row := db.QueryRow(`SELECT (SELECT COUNT(*) FROM projects), (SELECT COUNT(*) FROM decisions)`)
	if err := row.Scan(&projects, &decisions); err != nil {
		s.t.Fatal(err)
	}
	return projects, decisions
}

// wantStatus fails the test where the status is another.
func (g got) wantStatus(t testing.TB, status int) got {
	t.Helper()
	if g.StatusCode != status {
		t.Fatalf("status %d; want %d: %.300s", g.StatusCode, status, g.body)
	}
	return g
}

// wantWords fails the test where a text lacks one of the words.
func wantWords(t testing.TB, text string, words ...string) {
	t.Helper()
	for _, w := range words {
		if !strings.Contains(text, w) {
			t.Errorf("%q says nothing of %q", text, w)
		}
	}
}
