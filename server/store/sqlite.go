package store

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"

	"github.com/pressly/goose/v3"
	_ "modernc.org/sqlite" // the driver "sqlite"
)

//go:embed migrations/*.sql
var migrations embed.FS

// SQLite is a Store in one file.
type SQLite struct{ db *sql.DB }

var _ Store = (*SQLite)(nil)

// OpenSQLite opens the database pinwright.db in a folder, makes both where they are missing, and brings the tables up to date.
func OpenSQLite(ctx context.Context, folder string) (*SQLite, error) {
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return nil, fmt.Errorf("make the data folder: %w", err)
	}
	path := filepath.Join(folder, "pinwright.db")
	// SQLite would let every user of the machine read the file; its journal takes the file's mode.
	file, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, fmt.Errorf("make the database: %w", err)
	}
	if err := file.Close(); err != nil {
		return nil, fmt.Errorf("make the database: %w", err)
	}
	db, err := sql.Open("sqlite", source(path))
	if err != nil {
		return nil, fmt.Errorf("open the database: %w", err)
	}
	if err := migrate(ctx, db); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return &SQLite{db: db}, nil
}

// source names the file and how each connection is set. FULL makes every acknowledged commit reach the disk; an immediate
// transaction waits for its turn to write instead of failing half way.
func source(path string) string {
	settings := url.Values{
		"_pragma": {"busy_timeout(5000)", "journal_mode(WAL)", "synchronous(FULL)", "foreign_keys(1)", "temp_store(MEMORY)"},
		"_txlock": {"immediate"},
	}
	return "file:" + (&url.URL{Path: path}).EscapedPath() + "?" + settings.Encode()
}

func migrate(ctx context.Context, db *sql.DB) error {
	files, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return fmt.Errorf("read the migrations: %w", err)
	}
	provider, err := goose.NewProvider(goose.DialectSQLite3, db, files)
	if err != nil {
		return fmt.Errorf("read the migrations: %w", err)
	}
	if _, err := provider.Up(ctx); err != nil {
		return fmt.Errorf("bring the tables up to date: %w", err)
	}
	return nil
}

// Create implements Store.
func (s *SQLite) Create(ctx context.Context, p Project) (int64, Tokens, error) {
	tokens := newTokens()
	tx, err := s.db.BeginTx(ctx, nil)
	if err != nil {
		return 0, Tokens{}, fmt.Errorf("create a project: %w", err)
	}
	defer tx.Rollback() // does nothing after the commit
	var id int64
	err = tx.QueryRowContext(ctx,
		`INSERT INTO projects (edit_hash, view_hash, file_name, tune, setup) VALUES (?, ?, ?, ?, ?) RETURNING id`,
		digest(tokens.Edit), digest(tokens.View), p.FileName, blob(p.Tune), blob(p.Setup)).Scan(&id)
	if err != nil {
		return 0, Tokens{}, fmt.Errorf("create a project: %w", err)
	}
	for i, decision := range p.Log {
		_, err := tx.ExecContext(ctx,
			`INSERT INTO decisions (project_id, revision, decision) VALUES (?, ?, ?)`, id, i+1, blob(decision))
		if err != nil {
			return 0, Tokens{}, fmt.Errorf("create a project with its decisions: %w", err)
		}
	}
	if err := tx.Commit(); err != nil {
		return 0, Tokens{}, fmt.Errorf("create a project: %w", err)
	}
	return id, tokens, nil
}

// Find implements Store.
func (s *SQLite) Find(ctx context.Context, token string) (Ref, error) {
	var ref Ref
	hash := digest(token)
	err := s.db.QueryRowContext(ctx, `
		SELECT id, edit_hash = ?1, (SELECT COALESCE(MAX(revision), 0) FROM decisions WHERE project_id = projects.id)
		FROM projects WHERE edit_hash = ?1 OR view_hash = ?1`, hash).Scan(&ref.ID, &ref.CanEdit, &ref.Revision)
	if errors.Is(err, sql.ErrNoRows) {
		return Ref{}, ErrNotFound
	}
	if err != nil {
		return Ref{}, fmt.Errorf("find a project: %w", err)
	}
	return ref, nil
}

// Load implements Store.
func (s *SQLite) Load(ctx context.Context, id int64) (Project, error) {
	var p Project
	err := s.db.QueryRowContext(ctx, `SELECT file_name, tune, setup FROM projects WHERE id = ?`, id).
		Scan(&p.FileName, &p.Tune, &p.Setup)
	if errors.Is(err, sql.ErrNoRows) {
		return Project{}, ErrNotFound
	}
	if err != nil {
		return Project{}, fmt.Errorf("load a project: %w", err)
	}
	rows, err := s.db.QueryContext(ctx, `SELECT decision FROM decisions WHERE project_id = ? ORDER BY revision`, id)
	if err != nil {
		return Project{}, fmt.Errorf("load the decisions: %w", err)
	}
	defer rows.Close()
	for rows.Next() {
		var decision []byte
		if err := rows.Scan(&decision); err != nil {
			return Project{}, fmt.Errorf("load the decisions: %w", err)
		}
		p.Log = append(p.Log, decision)
	}
	if err := rows.Err(); err != nil {
		return Project{}, fmt.Errorf("load the decisions: %w", err)
	}
	return p, nil
}

// Append implements Store. One statement compares and inserts, and SQLite lets one statement write at a time, so of two
// decisions made on one revision one finds nothing to insert.
func (s *SQLite) Append(ctx context.Context, id int64, revision int, decision []byte) (int, error) {
	done, err := s.db.ExecContext(ctx, `
		INSERT INTO decisions (project_id, revision, decision)
		SELECT id, ?2 + 1, ?3 FROM projects
		WHERE id = ?1 AND (SELECT COALESCE(MAX(revision), 0) FROM decisions WHERE project_id = ?1) = ?2`,
		id, revision, blob(decision))
	if err != nil {
		return 0, fmt.Errorf("append a decision: %w", err)
	}
	if n, err := done.RowsAffected(); err != nil || n == 1 {
		return revision + 1, err
	}
	var now int
	err = s.db.QueryRowContext(ctx, `
		SELECT (SELECT COALESCE(MAX(revision), 0) FROM decisions WHERE project_id = projects.id) FROM projects WHERE id = ?`,
		id).Scan(&now)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, ErrNotFound
	}
	if err != nil {
		return 0, fmt.Errorf("read the revision: %w", err)
	}
	return 0, &ConflictError{Revision: now}
}

// Drilled implements Store.
func (s *SQLite) Drilled(ctx context.Context, id int64) ([]string, error) {
	rows, err := s.db.QueryContext(ctx, `SELECT hole FROM drilled WHERE project_id = ? ORDER BY hole`, id)
	if err != nil {
		return nil, fmt.Errorf("load the drilled holes: %w", err)
	}
	defer rows.Close()
	holes := []string{}
	for rows.Next() {
		var hole string
		if err := rows.Scan(&hole); err != nil {
			return nil, fmt.Errorf("load the drilled holes: %w", err)
		}
		holes = append(holes, hole)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("load the drilled holes: %w", err)
	}
	return holes, nil
}

// Drill implements Store.
func (s *SQLite) Drill(ctx context.Context, id int64, drilled, undrilled []string) error {
	tx, err := s.db.BeginTx(ctx, nil)
	if err != nil {
		return fmt.Errorf("mark drilled holes: %w", err)
	}
	defer tx.Rollback() // does nothing after the commit
	var n int
	if err := tx.QueryRowContext(ctx, `SELECT COUNT(*) FROM projects WHERE id = ?`, id).Scan(&n); err != nil {
		return fmt.Errorf("mark drilled holes: %w", err)
	}
	if n == 0 {
		return ErrNotFound
	}
	for _, step := range []struct {
		statement string
		holes     []string
	}{
		{`DELETE FROM drilled WHERE project_id = ? AND hole = ?`, undrilled},
		{`INSERT INTO drilled (project_id, hole) VALUES (?, ?) ON CONFLICT DO NOTHING`, drilled},
	} {
		for _, hole := range step.holes {
			if _, err := tx.ExecContext(ctx, step.statement, id, hole); err != nil {
				return fmt.Errorf("mark drilled holes: %w", err)
			}
		}
	}
	if err := tx.QueryRowContext(ctx, `SELECT COUNT(*) FROM drilled WHERE project_id = ?`, id).Scan(&n); err != nil {
		return fmt.Errorf("mark drilled holes: %w", err)
	}
	if n > MostDrilled {
		return ErrTooMany
	}
	if err := tx.Commit(); err != nil {
		return fmt.Errorf("mark drilled holes: %w", err)
	}
	return nil
}

// Ping implements Store. It reads a table, since to open a connection says little.
func (s *SQLite) Ping(ctx context.Context) error {
	var n int
	if err := s.db.QueryRowContext(ctx, `SELECT COUNT(*) FROM (SELECT 1 FROM projects LIMIT 1)`).Scan(&n); err != nil {
		return fmt.Errorf("ping the database: %w", err)
	}
	return nil
}

// Close implements Store.
func (s *SQLite) Close() error { return s.db.Close() }

// blob keeps empty bytes from being stored as NULL.
func blob(b []byte) []byte {
	if b == nil {
		return []byte{}
	}
	return b
}
