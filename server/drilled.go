package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"net/http"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"pinwright/arrange/unit"
	"pinwright/pinmap/project"
	"pinwright/server/store"
	"pinwright/static"
	"pinwright/web"
)

// DrilledAnswer is which holes of a project are in the metal.
type DrilledAnswer struct {
	Holes []project.Drilled `json:"holes"`
}

// DrilledChange marks holes as drilled and others as not drilled.
type DrilledChange struct {
	Drilled   []project.Drilled `json:"drilled"`
	Undrilled []project.Drilled `json:"undrilled"`
}

// maxMarks is the most that a body of marks may take: all holes of a large cylinder.
const maxMarks = 4 << 20

// keeperPath is where the script is that keeps the drilling page for when there is no connection: at the root, so that it may stand before that page.
const keeperPath = "/keeper.js"

// keeper answers with that script. A browser asks for it anew, so that a later version takes its place.
func keeper(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "text/javascript; charset=utf-8")
	_, _ = w.Write(static.Keeper()) // what fails here is the client's connection
}

// drillPage answers with the page beside the drill. Under the token that can only look, marks stay on the device.
func (a *app) drillPage(r *http.Request) (*reply, error) {
	token := chi.URLParam(r, "token")
	ref, err := a.store.Find(r.Context(), token)
	if err != nil {
		return nil, err
	}
	w, err := a.desk.open(r.Context(), ref, none)
	if err != nil {
		return nil, err
	}
	if err := drillable(ref, w); err != nil {
		return nil, err
	}
	m := web.DrillModel{Result: w.result, Revision: w.revision(), PageURL: r.URL.Path, ProjectURL: strings.TrimSuffix(r.URL.Path, "/drill"), KeeperURL: keeperPath}
	if ref.CanEdit {
		if m.Drilled, err = a.drilled(r.Context(), ref.ID); err != nil {
			return nil, err
		}
		m.DrilledURL, m.SpoiledURL = "/api/projects/"+token+"/drilled", "/api/projects/"+token+"/spoiled"
		m.DecideURL = "/edit/" + token + "/decide"
	}
	return pageReply(r, http.StatusOK, web.DrillPage(m))
}

// SpoiledHole is a hole that was drilled in the wrong place.
type SpoiledHole struct {
	Pin      int          `json:"pin"`      // whose hole it should have been
	AngleDeg unit.Degrees `json:"angleDeg"` // where it is, on the same track
}

// SpoiledAnswer is the ways out, at one revision.
type SpoiledAnswer struct {
	Revision int              `json:"revision"`
	Ways     []project.WayOut `json:"ways"`
}

// readDrilled answers with the holes that were marked as drilled, under either token.
func (a *app) readDrilled(r *http.Request) (*reply, error) {
	ref, err := a.store.Find(r.Context(), chi.URLParam(r, "token"))
	if err != nil {
		return nil, err
	}
	return a.drilledReply(r.Context(), ref)
}

// changeDrilled marks holes as drilled or not. Marks are no decisions: the revision stays, and each may be sent again.
func (a *app) changeDrilled(r *http.Request) (*reply, error) {
	_, ref, err := a.editable(r)
	if err != nil {
		return nil, err
	}
	var change DrilledChange
	if err := readObject(r, &change); err != nil {
		return nil, err
	}
	drilled, err := marks("/drilled", change.Drilled)
	if err != nil {
		return nil, err
	}
	undrilled, err := marks("/undrilled", change.Undrilled)
	if err != nil {
		return nil, err
	}
	if err := a.store.Drill(r.Context(), ref.ID, drilled, undrilled); err != nil {
		if errors.Is(err, store.ErrTooMany) {
			return nil, &fault{kind: unusable, title: "Too many holes are marked", cause: err, detail: fmt.Sprintf("At most %d holes of a project can be marked as drilled.", store.MostDrilled)}
		}
		return nil, err
	}
	return a.drilledReply(r.Context(), ref)
}

func (a *app) drilledReply(ctx context.Context, ref store.Ref) (*reply, error) {
	holes, err := a.drilled(ctx, ref.ID)
	if err != nil {
		return nil, err
	}
	return jsonReply(http.StatusOK, DrilledAnswer{holes})
}

// drilled gives the holes of a stored project that were marked.
func (a *app) drilled(ctx context.Context, id int64) ([]project.Drilled, error) {
	texts, err := a.store.Drilled(ctx, id)
	if err != nil {
		return nil, err
	}
	holes := make([]project.Drilled, len(texts))
	for i, text := range texts {
		if holes[i], err = parseMark(text); err != nil {
			return nil, err
		}
	}
	return holes, nil
}

// waysOut answers with the ways out of a hole that was drilled in the wrong place; nothing changes.
func (a *app) waysOut(r *http.Request) (*reply, error) {
	_, ref, err := a.editable(r)
	if err != nil {
		return nil, err
	}
	var hole SpoiledHole
	if err := readObject(r, &hole); err != nil {
		return nil, err
	}
	w, err := a.desk.open(r.Context(), ref, none)
	if err != nil {
		return nil, err
	}
	drilled, err := a.drilled(r.Context(), ref.ID)
	if err != nil {
		return nil, err
	}
	answer := SpoiledAnswer{Revision: w.revision()}
	err = a.desk.timely(r.Context(), func(ctx context.Context) error {
		at := a.desk.seat(ref.ID)
		defer at.mu.Unlock()
		answer.Ways, err = at.of(w).Spoiled(ctx, w.log, hole.Pin, hole.AngleDeg, drilled)
		return err
	})
	if err != nil {
		return nil, err
	}
	return jsonReply(http.StatusOK, answer)
}

// readObject reads a body of JSON that has the fields of into, and no others.
func readObject(r *http.Request, into any) error {
	body, err := readJSON(r)
	if err != nil {
		return err
	}
	d := json.NewDecoder(bytes.NewReader(body))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil || d.More() {
		return &fault{kind: unusable, title: "The body cannot be used", cause: err, detail: "Send one JSON object with the fields that the description of the API names, and no others."}
	}
	return nil
}

// marks gives the texts under which holes are stored: their places to a thousandth of a mm and of a degree.
func marks(pointer string, holes []project.Drilled) ([]string, error) {
	texts := make([]string, len(holes))
	for i, h := range holes {
		if !(h.AxialMm >= 0 && h.AxialMm <= 100_000) || !(h.AngleDeg >= 0 && h.AngleDeg <= 360) {
			return nil, &fault{kind: unusable, title: "A hole cannot be where it is said to be", pointer: pointer + "/" + strconv.Itoa(i),
				detail: "Give axialMm, the distance from the bass-end face in mm, and angleDeg, 0 to 360."}
		}
		texts[i] = thousandth(float64(h.AxialMm)) + " " + thousandth(math.Mod(math.Round(float64(h.AngleDeg)*1000)/1000, 360)) // rounded to a whole turn it is the datum line
	}
	return texts, nil
}

func thousandth(v float64) string { return strconv.FormatFloat(v, 'f', 3, 64) }

// parseMark reads what marks wrote.
func parseMark(text string) (project.Drilled, error) {
	axial, angle, _ := strings.Cut(text, " ")
	x, err := strconv.ParseFloat(axial, 64)
	y, other := strconv.ParseFloat(angle, 64)
	if err = errors.Join(err, other); err != nil {
		return project.Drilled{}, fmt.Errorf("a stored hole: %w", err)
	}
	return project.Drilled{AxialMm: unit.Millimetres(x), AngleDeg: unit.Degrees(y)}, nil
}
