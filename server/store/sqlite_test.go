package store_test

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/base64"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"sync"
	"testing"

	"pinwright/server/store"
)

func open(t *testing.T, folder string) *store.SQLite {
	t.Helper()
	s, err := store.OpenSQLite(t.Context(), folder)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func create(t *testing.T, s store.Store, p store.Project) (store.Tokens, store.Ref) {
	t.Helper()
	id, tokens, err := s.Create(t.Context(), p)
	if err != nil {
		t.Fatal(err)
	}
	ref, err := s.Find(t.Context(), tokens.Edit)
	if err != nil {
		t.Fatal(err)
	}
	if ref.ID != id {
		t.Fatalf("the project was created as %d and found as %d", id, ref.ID)
	}
	return tokens, ref
}

func TestProjectComesBackAsItWasStored(t *testing.T) {
	tests := map[string]store.Project{
		"tune, setup and decisions": {FileName: "a?b%20 ü.mid", Tune: []byte{0, 1, 255}, Setup: []byte(`{"title":"x"}`),
			Log: [][]byte{[]byte(`{"kind":"undo"}`), []byte(`{"kind":"redo"}`)}},
		"nothing but a tune": {FileName: "", Tune: []byte("MThd")},
	}
	for name, want := range tests {
		t.Run(name, func(t *testing.T) {
			folder := filepath.Join(t.TempDir(), "a folder?", "with 100% odd #name")
			first := open(t, folder)
			tokens, _ := create(t, first, want)
			if err := first.Close(); err != nil {
				t.Fatal(err)
			}

			s := open(t, folder) // again, so that what is read comes from the file
			for token, canEdit := range map[string]bool{tokens.Edit: true, tokens.View: false} {
				ref, err := s.Find(t.Context(), token)
				if err != nil {
					t.Fatal(err)
				}
				if ref.CanEdit != canEdit || ref.Revision != len(want.Log) {
					t.Errorf("token opens %+v; want canEdit %v, revision %d", ref, canEdit, len(want.Log))
				}
				got, err := s.Load(t.Context(), ref.ID)
				if err != nil {
					t.Fatal(err)
				}
				if got.FileName != want.FileName || !bytes.Equal(got.Tune, want.Tune) || !bytes.Equal(got.Setup, want.Setup) {
					t.Errorf("got %+v; want %+v", got, want)
				}
				if len(got.Log) != len(want.Log) {
					t.Fatalf("got %d decisions; want %d", len(got.Log), len(want.Log))
				}
				for i := range want.Log {
					if !bytes.Equal(got.Log[i], want.Log[i]) {
						t.Errorf("decision %d is %s; want %s", i+1, got.Log[i], want.Log[i])
					}
				}
			}
		})
	}
}

func TestNotFound(t *testing.T) {
	s := open(t, t.TempDir())
	_, ref := create(t, s, store.Project{Tune: []byte("x")})
	for _, token := range []string{"", "AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA", "' OR 1=1 --"} {
		if _, err := s.Find(t.Context(), token); !errors.Is(err, store.ErrNotFound) {
			t.Errorf("Find(%q) gives %v; want ErrNotFound", token, err)
		}
	}
	if _, err := s.Load(t.Context(), ref.ID+1); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("Load gives %v; want ErrNotFound", err)
	}
	if _, err := s.Append(t.Context(), ref.ID+1, 0, []byte("{}")); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("Append gives %v; want ErrNotFound", err)
	}
}

func TestAppendTakesOnlyTheNextRevision(t *testing.T) {
	s := open(t, t.TempDir())
	_, ref := create(t, s, store.Project{Tune: []byte("x"), Log: [][]byte{[]byte("1")}})
	steps := []struct {
		name     string
		revision int
		next     int // 0 where a conflict is expected
	}{
		{"before the first decision", 0, 0},
		{"at the revision", 1, 2},
		{"the same again", 1, 0},
		{"at the next revision", 2, 3},
		{"ahead of the log", 7, 0},
		{"a revision that never is", -1, 0},
	}
	now := 1
	for _, step := range steps {
		next, err := s.Append(t.Context(), ref.ID, step.revision, []byte("d"))
		if step.next > 0 {
			if err != nil || next != step.next {
				t.Errorf("%s: got %d, %v; want %d", step.name, next, err, step.next)
			}
			now = step.next
			continue
		}
		var conflict *store.ConflictError
		if !errors.As(err, &conflict) || conflict.Revision != now {
			t.Errorf("%s: got %d, %v; want a conflict at revision %d", step.name, next, err, now)
		}
	}
}

func TestOfManyWritersOneWinsEachRevision(t *testing.T) {
	folder := t.TempDir()
	first := open(t, folder)
	tokens, ref := create(t, first, store.Project{Tune: []byte("x")})
	second := open(t, folder) // as another process would have it
	const rounds, writers = 10, 8
	for revision := range rounds {
		var won, lost sync.Map
		var group sync.WaitGroup
		for writer := range writers {
			s := []*store.SQLite{first, second}[writer%2]
			group.Go(func() {
				_, err := s.Append(context.Background(), ref.ID, revision, []byte{byte(writer)})
				var conflict *store.ConflictError
				switch {
				case err == nil:
					won.Store(writer, true)
				case errors.As(err, &conflict):
					lost.Store(writer, true)
				default:
					t.Errorf("writer %d: %v", writer, err)
				}
			})
		}
		group.Wait()
		if count(&won) != 1 || count(&lost) != writers-1 {
			t.Fatalf("revision %d: %d won and %d lost; want 1 and %d", revision, count(&won), count(&lost), writers-1)
		}
	}
	if ref, err := first.Find(t.Context(), tokens.View); err != nil || ref.Revision != rounds {
		t.Errorf("the project is at %+v, %v; want revision %d", ref, err, rounds)
	}
}

func count(m *sync.Map) (n int) {
	m.Range(func(any, any) bool { n++; return true })
	return n
}

func TestTokens(t *testing.T) {
	s := open(t, t.TempDir())
	seen := map[string]bool{}
	for range 100 {
		tokens, _ := create(t, s, store.Project{Tune: []byte("x")})
		if tokens.View != store.ViewToken(tokens.Edit) {
			t.Errorf("the view token %q does not follow from the edit token", tokens.View)
		}
		for _, token := range []string{tokens.Edit, tokens.View} {
			if raw, err := base64.RawURLEncoding.DecodeString(token); err != nil || len(raw) != 24 {
				t.Errorf("token %q holds %d bytes, %v; want 24", token, len(raw), err)
			}
			if seen[token] {
				t.Errorf("token %q came twice", token)
			}
			seen[token] = true
		}
	}
}

func TestDatabaseHoldsNoToken(t *testing.T) {
	folder := t.TempDir()
	s := open(t, folder)
	tokens, _ := create(t, s, store.Project{Tune: []byte("the tune itself")})
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(filepath.Join(folder, "pinwright.db"))
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Contains(data, []byte("the tune itself")) {
		t.Fatal("the file does not hold the tune, so this test would prove nothing")
	}
	for _, token := range []string{tokens.Edit, tokens.View} {
		raw, err := base64.RawURLEncoding.DecodeString(token)
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(data, []byte(token)) || bytes.Contains(data, raw) {
			t.Error("the file holds a token")
		}
	}
}

func TestOnlyTheOwnerReadsTheFiles(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "data")
	create(t, open(t, folder), store.Project{Tune: []byte("x")})
	for name, want := range map[string]os.FileMode{"": 0o700, "pinwright.db": 0o600, "pinwright.db-wal": 0o600, "pinwright.db-shm": 0o600} {
		info, err := os.Stat(filepath.Join(folder, name))
		if err != nil {
			t.Fatal(err)
		}
		if got := info.Mode().Perm(); got != want {
			t.Errorf("%s has mode %o; want %o", filepath.Join("data", name), got, want)
		}
	}
}

func TestConnectionsAreSetForDurability(t *testing.T) {
	folder := t.TempDir()
	s := open(t, folder)
	for pragma, want := range map[string]string{"journal_mode": "wal", "synchronous": "2", "foreign_keys": "1", "busy_timeout": "5000"} {
		if got := store.Pragma(t, s, pragma); got != want {
			t.Errorf("%s is %s; want %s", pragma, got, want)
		}
	}
}

func TestOpenAndPingFailWithAReason(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if s, err := store.OpenSQLite(t.Context(), file); err == nil {
		s.Close()
		t.Error("a file was taken for a folder")
	}

	folder := t.TempDir()
	if err := os.WriteFile(filepath.Join(folder, "pinwright.db"), bytes.Repeat([]byte("no database "), 1000), 0o600); err != nil {
		t.Fatal(err)
	}
	if s, err := store.OpenSQLite(t.Context(), folder); err == nil {
		s.Close()
		t.Error("a text was taken for a database")
	}

	s := open(t, t.TempDir())
	if err := s.Ping(t.Context()); err != nil {
		t.Errorf("ping gives %v", err)
	}
	s.Close()
	if err := s.Ping(t.Context()); err == nil {
		t.Error("a closed store answers a ping")
	}
}

func TestFailedCreateStoresNothing(t *testing.T) {
	folder := t.TempDir()
	s := open(t, folder)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, _, err := s.Create(ctx, store.Project{Tune: []byte("x")}); err == nil {
		t.Fatal("a cancelled Create succeeded")
	}
	db, err := sql.Open("sqlite", filepath.Join(folder, "pinwright.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var n int
	if err := db.QueryRow(`SELECT COUNT(*) FROM projects`).Scan(&n); err != nil || n != 0 {
		t.Errorf("%d projects, %v; want none", n, err)
	}
}

func TestDrilledHoles(t *testing.T) {
	folder := t.TempDir()
	s := open(t, folder)
	_, ref := create(t, s, store.Project{Tune: []byte("x")})
	_, other := create(t, s, store.Project{Tune: []byte("y")})
	steps := []struct {
		drilled, undrilled, want []string
	}{
		{nil, nil, []string{}},
		{[]string{"b", "a", "a"}, nil, []string{"a", "b"}},
		{[]string{"a"}, []string{"b", "c"}, []string{"a"}},
		{[]string{"a"}, []string{"a"}, []string{"a"}}, // what is both is drilled
	}
	for i, step := range steps {
		if err := s.Drill(t.Context(), ref.ID, step.drilled, step.undrilled); err != nil {
			t.Fatal(err)
		}
		if got, err := s.Drilled(t.Context(), ref.ID); err != nil || !slices.Equal(got, step.want) {
			t.Errorf("step %d: %v, %v; want %v", i, got, err, step.want)
		}
	}
	if err := s.Drill(t.Context(), ref.ID+99, []string{"a"}, nil); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("of no project: %v", err)
	}
	many := make([]string, store.MostDrilled)
	for i := range many {
		many[i] = strconv.Itoa(i)
	}
	if err := s.Drill(t.Context(), ref.ID, many, nil); !errors.Is(err, store.ErrTooMany) {
		t.Errorf("more than a cylinder has: %v", err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s = open(t, folder)
	if got, err := s.Drilled(t.Context(), ref.ID); err != nil || !slices.Equal(got, []string{"a"}) {
		t.Errorf("from the file come %v, %v", got, err)
	}
	if got, err := s.Drilled(t.Context(), other.ID); err != nil || len(got) != 0 {
		t.Errorf("another project has %v, %v", got, err)
	}
}
