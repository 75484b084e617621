package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"path"
	"slices"
	"strings"
	"sync"
	"time"

	"pinwright/arrange"
	"pinwright/arrange/tune"
	"pinwright/fixtures"
	"pinwright/pinmap/bench"
	"pinwright/pinmap/project"
	"pinwright/server/store"
)

// work is a project as it stands at one revision, with what follows from it. Nothing changes it once it is made.
type work struct {
	fileName string
	file     []byte
	silent   bool // the file may be without notes: it was stored, or made here
	tune     *tune.Tune
	setup    project.Setup // before the decisions
	log      []arrange.Decision
	result   *project.Result
	session  *project.Session // that made it, of a work that is not stored
}

func (w *work) revision() int { return len(w.log) }

// desk is where works are made: from uploads and from what is stored, a few at a time, the last ones kept at hand.
type desk struct {
	store       store.Store
	limits      tune.Limits
	gate        *gate
	kept        *lru[workKey, *work]
	advice      *lru[stand, *project.Advice]
	settlements *lru[stand, *project.Settlement]
	pictures    *lru[stand, []byte]
	files       *lru[fileKey, []byte]
	seats       *lru[int64, *seat]
	derive      func(*project.Session, context.Context, []arrange.Decision, project.Options) (*project.Result, error)
}

// seat is where one stored project is worked on: what its session remembers makes the next decision quick.
type seat struct {
	mu      sync.Mutex
	session *project.Session
}

// workKey names a work of a stored project.
type workKey struct {
	id       int64
	revision int
	remedies remedies
}

// remedies says how many of its findings' remedies a work carries.
type remedies int

const (
	none remedies = iota
	few           // of the first findings, for an answer at once
	all
)

// Bounds of the desk. Some works are many times larger than others, so the works kept are bounded in number and in bytes.
const (
	keptWorks     = 64
	keptSeats     = 8
	keptBytes     = 256 << 20
	keptPictures  = 64
	pictureBytes  = 16 << 20
	keptFiles     = 512
	filesBytes    = 96 << 20
	longestWork   = 40 * time.Second
	waitingAtGate = 32
)

func newDesk(s store.Store, limits tune.Limits, atOnce int) *desk {
	return &desk{store: s, limits: limits, gate: newGate(atOnce, waitingAtGate),
		kept: newLRU[workKey, *work](keptWorks, keptBytes), advice: newLRU[stand, *project.Advice](keptAdvice, keptAdvice*adviceBytes),
		settlements: newLRU[stand, *project.Settlement](keptSettlements, settlementBytes),
		files:       newLRU[fileKey, []byte](keptFiles, filesBytes),
		pictures:    newLRU[stand, []byte](keptPictures, pictureBytes), seats: newLRU[int64, *seat](keptSeats, keptSeats), derive: (*project.Session).Derive}
}

// size estimates the bytes that a work keeps in memory.
func (w *work) size() int {
	beside := 4 * w.result.Setup.Beside.Size() // as read, as written, and what came of it
	return 4<<10 + beside + len(w.file) + 160*len(w.tune.Notes) + 1500*len(w.result.Tune.Notes) + 1500*len(w.result.Findings)
}

// timely runs f at the gate, with a limit of time.
func (d *desk) timely(ctx context.Context, f func(ctx context.Context) error) error {
	ctx, cancel := context.WithTimeout(ctx, longestWork)
	defer cancel()
	return d.gate.do(ctx, func() error { return f(ctx) })
}

// fresh makes a work of an upload; nothing is stored.
func (d *desk) fresh(ctx context.Context, u upload, r remedies) (w *work, err error) {
	w = &work{fileName: u.fileName, file: u.tune, silent: u.blank || u.project != nil}
	if u.project != nil {
		w.setup, w.log = u.project.Setup, u.project.Decisions
	} else if w.setup, err = project.ParseSetup(u.setup); err != nil {
		return nil, err
	}
	err = d.timely(ctx, func(ctx context.Context) error {
		w, err = d.make(ctx, nil, w, r)
		return err
	})
	return w, err
}

// named gives the work of a tune without a title the name of its file as title, which tells the projects of a browser apart.
func (w *work) named() *work {
	title := strings.TrimSpace(strings.TrimSuffix(w.fileName, path.Ext(w.fileName)))
	if title == "" || w.setup.Title != "" || w.tune.Title != "" {
		return w
	}
	then, result := *w, *w.result
	then.setup.Title, result.Setup.Title, result.Title = title, title, title
	then.result, then.session = &result, nil // another setup than that of the session
	return &then
}

// make reads the tune of w, unless that was done, and derives its result, at a seat where it has one.
func (d *desk) make(ctx context.Context, at *seat, w *work, r remedies) (*work, error) {
	if w.tune == nil {
		read, err := d.read(w.file, w.silent)
		if err != nil {
			return nil, err
		}
		w.tune = read
	}
	if at == nil {
		at = &seat{}
		w.session = at.of(w)
	}
	result, err := d.derive(at.of(w), ctx, w.log, project.Options{Remedies: r > none, Few: r == few})
	if err != nil {
		return nil, err
	}
	w.result = result
	return w, nil
}

// read reads a tune, one without notes only where that is allowed.
func (d *desk) read(file []byte, silent bool) (*tune.Tune, error) {
	limits := d.limits
	limits.Silent = silent
	return tune.Read(file, limits)
}

// demo makes a work of the demo's tune, setup and decisions.
func (d *desk) demo(ctx context.Context) (*work, error) {
	setup, err := project.ParseSetup(fixtures.DemoSetup)
	if err != nil {
		return nil, err
	}
	var decisions []json.RawMessage
	if err := json.Unmarshal(fixtures.DemoDecisions, &decisions); err != nil {
		return nil, err
	}
	w := &work{fileName: fixtures.DemoName, file: fixtures.DemoTune, setup: setup}
	err = d.timely(ctx, func(ctx context.Context) error {
		if w.tune, err = tune.Read(w.file, d.limits); err != nil {
			return err
		}
		for _, line := range decisions {
			decision, err := project.ParseDecision(line)
			if err != nil {
				return err
			}
			if decision, err = project.Accept(ctx, w.tune, w.setup, w.log, decision); err != nil {
				return err
			}
			w.log = append(w.log, decision)
		}
		w, err = d.make(ctx, nil, w, all)
		return err
	})
	return w, err
}

// of gives the seat's session for a work of its project.
func (s *seat) of(w *work) *project.Session {
	if s.session == nil {
		s.session = project.NewSession(w.tune, w.setup)
	}
	return s.session
}

// seat gives the seat of a stored project, and takes it until it is given back.
func (d *desk) seat(id int64) *seat {
	s := d.seats.getOr(id, func() *seat { return &seat{} })
	s.mu.Lock()
	return s
}

// save stores a work, made with remedies, as a project of its own.
func (d *desk) save(ctx context.Context, w *work) (store.Tokens, error) {
	// The setup is stored complete, so that a later version with other defaults does not move a pin.
	setup, err := json.Marshal(w.setup)
	if err != nil {
		return store.Tokens{}, err
	}
	p := store.Project{FileName: w.fileName, Tune: w.file, Setup: setup}
	for _, decision := range w.log {
		line, err := json.Marshal(decision)
		if err != nil {
			return store.Tokens{}, err
		}
		p.Log = append(p.Log, line)
	}
	id, tokens, err := d.store.Create(ctx, p)
	if err != nil {
		return store.Tokens{}, err
	}
	stored := *w
	stored.session = nil
	d.seats.getOr(id, func() *seat { return &seat{session: w.session} }) // the first decision is as quick as the next
	d.keep(id, &stored, all)
	return tokens, nil
}

// open makes the work of a stored project as it stands.
func (d *desk) open(ctx context.Context, ref store.Ref, least remedies) (*work, error) {
	for r := all; r >= least; r-- {
		if w, ok := d.kept.get(workKey{ref.ID, ref.Revision, r}); ok {
			return w, nil
		}
	}
	w, err := d.load(ctx, ref.ID)
	if err != nil {
		return nil, err
	}
	err = d.timely(ctx, func(ctx context.Context) error {
		at := d.seat(ref.ID)
		defer at.mu.Unlock()
		w, err = d.make(ctx, at, w, least)
		return err
	})
	if err != nil {
		return nil, ours(err)
	}
	d.keep(ref.ID, w, least)
	return w, nil
}

func (d *desk) keep(id int64, w *work, r remedies) {
	d.kept.put(workKey{id, w.revision(), r}, w, w.size())
}

// load reads a stored project; its tune is not read and nothing is derived.
func (d *desk) load(ctx context.Context, id int64) (*work, error) {
	p, err := d.store.Load(ctx, id)
	if err != nil {
		return nil, err
	}
	w := &work{fileName: p.FileName, file: p.Tune, silent: true, log: make([]arrange.Decision, len(p.Log))}
	if w.setup, err = project.ParseSetup(p.Setup); err != nil {
		return nil, ours(fmt.Errorf("a stored setup: %w", err))
	}
	for i, line := range p.Log {
		if err := json.Unmarshal(line, &w.log[i]); err != nil {
			return nil, fmt.Errorf("a stored decision: %w", err)
		}
	}
	return w, nil
}

// ours marks an error about what is stored as no fault of the user who asked for it; lack of room or time stays what it is.
func ours(err error) error {
	if f := faultOf(err); f.kind == busy || f.kind == broken {
		return err
	}
	return &fault{kind: broken, title: "What is stored here cannot be worked out", cause: errors.New(err.Error()),
		detail: "It is kept as it is. Give the operator the number of this request."}
}

// follow checks a decision against a work and works out what follows from it; nothing is stored.
func (d *desk) follow(ctx context.Context, id int64, w *work, decision arrange.Decision, r remedies) (next *work, err error) {
	err = d.timely(ctx, func(ctx context.Context) error {
		at := d.seat(id)
		defer at.mu.Unlock()
		accepted, err := at.of(w).Accept(ctx, w.log, decision)
		if err != nil {
			return err
		}
		then := *w
		then.log = append(w.log[:len(w.log):len(w.log)], accepted)
		next, err = d.make(ctx, at, &then, r)
		return err
	})
	return next, err
}

// decide checks a decision against a work, works out what follows and appends it to the stored log.
func (d *desk) decide(ctx context.Context, id int64, w *work, decision arrange.Decision) (*work, error) {
	next, err := d.follow(ctx, id, w, decision, few)
	if err != nil {
		return nil, err
	}
	line, err := json.Marshal(next.log[len(next.log)-1])
	if err != nil {
		return nil, err
	}
	if _, err := d.store.Append(ctx, id, w.revision(), line); err != nil {
		return nil, err
	}
	d.keep(id, next, few)
	return next, nil
}

// withRemedies gives a work in which the finding of that id has all its remedies, however many the others have; without
// an id it gives the work as it is. At the seat of a stored project most of it is remembered; id 0 is no project.
func (d *desk) withRemedies(ctx context.Context, id int64, w *work, finding string) (*work, error) {
	if finding == "" {
		return w, nil
	}
	i := slices.IndexFunc(w.result.Findings, func(f arrange.Finding) bool { return f.ID == finding })
	if i < 0 {
		return nil, &fault{kind: notFound, title: "There is no such finding",
			detail: "It may have been settled. The findings that are left stand in the result, each with its id."}
	}
	result := *w.result
	err := d.timely(ctx, func(ctx context.Context) error {
		at := &seat{}
		if id != 0 {
			at = d.seat(id)
			defer at.mu.Unlock()
		}
		alone, err := d.derive(at.of(w), ctx, w.log, project.Options{Remedies: true, Finding: finding})
		if err != nil {
			return err
		}
		result.Findings = slices.Clone(result.Findings)
		result.Findings[i] = alone.Findings[i]
		return nil
	})
	if err != nil {
		return nil, ours(err)
	}
	then := *w
	then.result = &result
	return &then, nil
}

// setupAt gives the setup as it stood at a revision; a revision that the work does not have gives the one that stands.
func (d *desk) setupAt(ctx context.Context, w *work, revision int) (setup project.Setup, err error) {
	if revision < 0 || revision >= w.revision() {
		return w.result.Setup, nil
	}
	err = d.timely(ctx, func(ctx context.Context) error {
		then, err := d.derive(project.NewSession(w.tune, w.setup), ctx, w.log[:revision], project.Options{})
		if err != nil {
			return ours(err)
		}
		setup = then.Setup
		return nil
	})
	return setup, err
}

// job gives what a file is made from.
func (w *work) job(paper bench.Paper) bench.Job {
	return bench.Job{Result: w.result, Paper: paper, Revision: w.revision(), Tune: w.file, FileName: w.fileName, Setup: w.setup, Log: w.log}
}

// jobOf gives what a file of a stored project is made from; viewLink shows the project and changes nothing.
func (w *work) jobOf(paper bench.Paper, viewLink string) bench.Job {
	job := w.job(paper)
	job.Link = viewLink
	return job
}
