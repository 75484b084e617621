package store

import (
	"context"
	"errors"
	"fmt"
)

// Project is what a project is made of; everything else is derived from it.
type Project struct {
	FileName string
	Tune     []byte   // the file as it was uploaded
	Setup    []byte   // JSON; may be empty
	Log      [][]byte // every decision accepted, in order, undo and redo among them, each as JSON
}

// Ref is what a token opens.
type Ref struct {
	ID       int64
	Revision int  // number of decisions in the log
	CanEdit  bool // reports whether the token was the edit token
}

// ErrNotFound says that no project has the token.
var ErrNotFound = errors.New("no such project")

// MostDrilled bounds the holes that are marked as drilled in one project: two cylinders of the largest.
const MostDrilled = 40_000

// ErrTooMany says that more holes than MostDrilled would be marked.
var ErrTooMany = errors.New("more holes are marked as drilled than a cylinder has")

// ConflictError says that the log had moved on before a decision was appended.
type ConflictError struct {
	Revision int // that the project has now
}

func (e *ConflictError) Error() string {
	return fmt.Sprintf("the project is at revision %d", e.Revision)
}

// Store keeps projects. Whatever a method has acknowledged outlives a crash of the process. A method that returns an
// error has stored nothing.
type Store interface {
	// Create stores a project and gives its ID and the tokens that open it.
	Create(ctx context.Context, p Project) (int64, Tokens, error)

	// Find gives what a token opens, or ErrNotFound.
	Find(ctx context.Context, token string) (Ref, error)

	// Load gives the project of a Ref's ID as it stands, or ErrNotFound.
	Load(ctx context.Context, id int64) (Project, error)

	// Append adds a decision to the log if the project is still at the revision, and gives the next revision. It gives
	// a *ConflictError where someone else was first, and ErrNotFound where there is no such project.
	Append(ctx context.Context, id int64, revision int, decision []byte) (int, error)

	// Drilled gives the holes of a project that were marked as drilled, in the order of their texts.
	Drilled(ctx context.Context, id int64) ([]string, error)

	// Drill marks holes as drilled and others as not drilled; each once or more often is the same. It gives ErrNotFound where there is no such project,
	// and ErrTooMany where more than MostDrilled would be marked.
	Drill(ctx context.Context, id int64, drilled, undrilled []string) error

	// Ping reports whether the store answers.
	Ping(ctx context.Context) error

	// Close releases what the store holds.
	Close() error
}
