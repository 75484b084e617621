package main

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"pinwright/arrange"
	"pinwright/pinmap/bench"
	"pinwright/pinmap/project"
	"pinwright/server/store"
	"pinwright/web"
)

// home answers with the first page.
func (a *app) home(r *http.Request) (*reply, error) {
	return pageReply(r, http.StatusOK, web.Home(a.homeModel()))
}

func (a *app) homeModel() web.HomeModel { return web.HomeModel{MaxMiB: a.config.Limits.Bytes >> 20} }

// uploadTune stores an uploaded tune as a project and leads to its page.
func (a *app) uploadTune(r *http.Request) (*reply, error) {
	u, err := readUpload(r, a.config.Limits)
	if err != nil {
		return nil, err
	}
	w, err := a.desk.fresh(r.Context(), u, all)
	if err != nil {
		return nil, err
	}
	if u.project == nil {
		w = w.named()
	}
	return a.settle(r.Context(), w)
}

// uploadRefused shows why on the first page, where the next try is made.
func (a *app) uploadRefused(r *http.Request, f *fault) (*reply, error) {
	if f.kind == broken {
		return a.errorPage(r, f)
	}
	m := a.homeModel()
	m.Problem, m.Detail = f.title, f.told(r.Context())
	answer, err := pageReply(r, f.status(), web.Home(m))
	if err != nil {
		return nil, err
	}
	return answer.with(refusalHeader(f)), nil
}

// startBlank stores a tune of bars alone, as the first page's form asks for it, and leads to its page.
func (a *app) startBlank(r *http.Request) (*reply, error) {
	form, err := readForm(r)
	if err != nil {
		return nil, err
	}
	asked, err := web.BlankFromForm(form)
	if err != nil {
		return nil, err
	}
	w, err := a.desk.fresh(r.Context(), upload{tune: asked.File(), blank: true}, all)
	if err != nil {
		return nil, err
	}
	return a.settle(r.Context(), w)
}

// openDemo stores a copy of the demo and leads to its page.
func (a *app) openDemo(r *http.Request) (*reply, error) {
	w, err := a.desk.demo(r.Context())
	if err != nil {
		return nil, ours(err)
	}
	return a.settle(r.Context(), w)
}

// settle stores a work and leads to its page.
func (a *app) settle(ctx context.Context, w *work) (*reply, error) {
	tokens, err := a.desk.save(ctx, w)
	if err != nil {
		return nil, err
	}
	return seeOther("/edit/" + tokens.Edit), nil
}

// editPage answers with the page on which a project is changed. ?finding= names a finding whose remedies are all wanted,
// ?advice=1 asks for advice about the comb, ?settle=1 for what settling everything would do, ?note= for the panel of a note; the page's script gets each
// of the last three alone.
func (a *app) editPage(r *http.Request) (*reply, error) {
	token, ref, err := a.editable(r)
	if err != nil {
		return nil, err
	}
	query := r.URL.Query()
	part := r.Header.Get(web.FragmentHeader) != ""
	note := query.Get("note")
	if note != "" && part {
		w, err := a.desk.open(r.Context(), ref, none)
		if err != nil {
			return nil, err
		}
		m := a.projectModel(r, token, w)
		m.Note = note
		return pageReply(r, http.StatusOK, web.NotePart(m))
	}
	w, err := a.desk.open(r.Context(), ref, all)
	if err != nil {
		return nil, err
	}
	finding := query.Get("finding")
	if w, err = a.desk.withRemedies(r.Context(), ref.ID, w, finding); err != nil {
		return nil, err
	}
	m := a.projectModel(r, token, w)
	m.Finding, m.Note = finding, note
	if query.Has("advice") {
		if m.Advice, err = a.desk.advise(r.Context(), ref.ID, w); err != nil {
			return nil, err
		}
		if part {
			return pageReply(r, http.StatusOK, web.AdvicePart(m))
		}
	}
	if query.Has("settle") {
		if m.Settlement, err = a.desk.settlement(r.Context(), ref.ID, w); err != nil {
			return nil, err
		}
		if part {
			return pageReply(r, http.StatusOK, web.SettlementPart(m))
		}
	}
	return pageReply(r, http.StatusOK, web.ProjectPage(m))
}

// benchPage answers with the page of a project's tools and files.
func (a *app) benchPage(r *http.Request) (*reply, error) {
	token, ref, err := a.editable(r)
	if err != nil {
		return nil, err
	}
	w, err := a.desk.open(r.Context(), ref, few)
	if err != nil {
		return nil, err
	}
	return pageReply(r, http.StatusOK, web.BenchPage(a.projectModel(r, token, w)))
}

func (a *app) projectModel(r *http.Request, token string, w *work) web.ProjectModel {
	m := web.ProjectModel{
		Result:    w.result,
		Revision:  w.revision(),
		PageURL:   "/edit/" + token,
		DecideURL: "/edit/" + token + "/decide",
		BenchURL:  "/edit/" + token + "/bench",
		DrillURL:  "/edit/" + token + "/drill",
		EditURL:   a.link(r, "/edit/", token),
		ViewURL:   a.link(r, "/view/", store.ViewToken(token)),
		Files:     filesOf("/edit/", token),
	}
	if _, undone := arrange.Fold(w.log); len(undone) > 0 {
		m.RedoText = web.ShownIn(r.Context()).Describe(undone[len(undone)-1], w.result)
	}
	return m
}

// filesOf lists what can be downloaded from a project; the drill map opens in the browser, to be printed from there.
func filesOf(page, token string) []web.File {
	var files []web.File
	for _, name := range bench.Names() {
		if name == drillMap {
			files = append(files, web.File{Name: name, URL: page + token + "/map", Open: true})
			continue
		}
		files = append(files, web.File{Name: name, URL: "/api/projects/" + token + "/files/" + name})
	}
	return files
}

const (
	drillMap    = "drill-map.html"
	projectFile = "project.json"
)

// mapPage answers with the drill map to look at and to print, under either token.
func (a *app) mapPage(r *http.Request) (*reply, error) {
	ref, err := a.store.Find(r.Context(), chi.URLParam(r, "token"))
	if err != nil {
		return nil, err
	}
	maker, paper, err := fileWanted(r, drillMap)
	if err != nil {
		return nil, err
	}
	w, err := a.desk.open(r.Context(), ref, none)
	if err != nil {
		return nil, err
	}
	if err := given(ref, w, drillMap); err != nil {
		return nil, err
	}
	answer, err := a.storedFile(r.Context(), drillMap, maker, paper, ref, w, a.viewLink(r, ref))
	if err != nil {
		return nil, err
	}
	answer.header.Del("Content-Disposition")
	answer.header.Set("Content-Security-Policy", mapPolicy)
	return answer, nil
}

// viewPage answers with the page that shows and cannot change. Whoever opens it with the edit token is led to the
// address that may be passed on.
func (a *app) viewPage(r *http.Request) (*reply, error) {
	token := chi.URLParam(r, "token")
	ref, err := a.store.Find(r.Context(), token)
	if err != nil {
		return nil, err
	}
	if ref.CanEdit {
		return seeOther("/view/" + store.ViewToken(token)), nil
	}
	w, err := a.desk.open(r.Context(), ref, few)
	if err != nil {
		return nil, err
	}
	m := web.ViewModel{
		Result:     w.result,
		Revision:   w.revision(),
		PageURL:    "/view/" + token,
		PictureURL: a.link(r, "/view/", token) + "/picture.png",
	}
	if drillable(ref, w) == nil {
		m.DrillURL = "/view/" + token + "/drill"
	}
	if copiable(ref, w) == nil {
		m.CopyURL = "/view/" + token + "/copy"
	}
	for _, f := range filesOf("/view/", token) {
		if given(ref, w, f.Name) == nil {
			m.Files = append(m.Files, f)
		}
	}
	if r.URL.Query().Has("advice") {
		if m.Advice, err = a.desk.advise(r.Context(), ref.ID, w); err != nil {
			return nil, err
		}
	}
	return pageReply(r, http.StatusOK, web.ViewPage(m))
}

// drillable reports, as an error, that a token does not allow the page beside the drill, which says what the hole table says.
func drillable(ref store.Ref, w *work) error { return given(ref, w, "holes.csv") }

// copiable reports, as an error, that a token does not allow a copy: a copy is the project itself, with every file.
func copiable(ref store.Ref, w *work) error { return given(ref, w, projectFile) }

// copyProject stores a copy, its decisions with it, as a project of the visitor's own.
func (a *app) copyProject(r *http.Request) (*reply, error) {
	ref, err := a.store.Find(r.Context(), chi.URLParam(r, "token"))
	if err != nil {
		return nil, err
	}
	w, err := a.desk.open(r.Context(), ref, none)
	if err != nil {
		return nil, err
	}
	if err := copiable(ref, w); err != nil {
		return nil, err
	}
	p, err := a.store.Load(r.Context(), ref.ID)
	if err != nil {
		return nil, err
	}
	_, tokens, err := a.store.Create(r.Context(), p)
	if err != nil {
		return nil, err
	}
	return seeOther("/edit/" + tokens.Edit), nil
}

// change makes the decision that a form of the edit page asks for. A change that is refused shows why on the page as it
// stands, with the form as it was filled in.
func (a *app) change(r *http.Request) (*reply, error) {
	token, ref, err := a.editable(r)
	if err != nil {
		return nil, err
	}
	form, err := readForm(r)
	if err != nil {
		return nil, err
	}
	return a.changeBy(r, token, ref, form)
}

// putBeside puts the tune of another project, which the form of the tools' page sends, on the cylinder.
func (a *app) putBeside(r *http.Request) (*reply, error) {
	token, ref, err := a.editable(r)
	if err != nil {
		return nil, err
	}
	form, err := readForm(r)
	if err != nil {
		return nil, err
	}
	var file []byte
	if r.MultipartForm != nil && len(r.MultipartForm.File["project"]) > 0 {
		part, err := r.MultipartForm.File["project"][0].Open()
		if err != nil {
			return nil, err
		}
		defer part.Close()
		if file, err = io.ReadAll(part); err != nil {
			return nil, err
		}
	}
	w, err := a.desk.open(r.Context(), ref, few)
	if err != nil {
		return nil, err
	}
	decision, err := web.BesideDecision(w.result, form.Get("layout"), file)
	if err == nil {
		_, err = project.ParseDecision([]byte(decision)) // a form says less of what is wrong with it
	}
	if err != nil {
		return a.refuseChange(r, token, w, form, arrange.Decision{}, err)
	}
	return a.changeBy(r, token, ref, url.Values{"revision": {form.Get("revision")}, "decision": {decision}})
}

// changeBy makes the decision that a form asks for.
func (a *app) changeBy(r *http.Request, token string, ref store.Ref, form url.Values) (*reply, error) {
	had, err := strconv.Atoi(form.Get("revision"))
	if err != nil {
		return nil, &fault{kind: unconditional, title: "The form does not say which revision it was made from", cause: err,
			detail: "Load the page again and repeat the change."}
	}
	w, err := a.desk.open(r.Context(), ref, few)
	if err != nil {
		return nil, err
	}
	note := r.URL.Query().Get("note") // whose panel is open
	decision, next, err := a.decideByForm(r.Context(), ref.ID, w, had, form)
	if err == nil {
		m := a.projectModel(r, token, next)
		if r.URL.Query().Has(web.AtBench) {
			return seeOther(m.BenchURL), nil
		}
		if r.Header.Get(web.FragmentHeader) == "" {
			return seeOther(m.At(note)), nil
		}
		m.Note = note
		return pageReply(r, http.StatusOK, web.Fragment(m))
	}
	return a.refuseChange(r, token, w, form, decision, err)
}

// refuseChange answers a change that was refused with the page as it stands, which says why.
func (a *app) refuseChange(r *http.Request, token string, w *work, form url.Values, decision arrange.Decision, err error) (*reply, error) {
	had, _ := strconv.Atoi(form.Get("revision")) // it was read before
	f := faultOf(err)
	if f.kind == broken {
		return nil, err
	}
	noteFault(r, f)
	if f.kind == overtaken {
		ref, err := a.store.Find(r.Context(), token)
		if err != nil {
			return nil, err
		}
		if w, err = a.desk.open(r.Context(), ref, few); err != nil {
			return nil, err
		}
	}
	m := a.projectModel(r, token, w)
	m.Form, m.Note = form, r.URL.Query().Get("note")
	if f.kind == overtaken {
		m.Conflict = &web.Conflict{Had: had, Now: w.revision(), Added: added(w, had, web.ShownIn(r.Context())), Decision: decision}
	} else {
		m.Problem = &web.Problem{Title: f.title, Detail: withoutPointer(f.told(r.Context())), Pointer: strings.TrimPrefix(f.pointer, "/setup")}
		if f.kind == busy && decision.Kind != "" {
			m.Problem.Decision = &decision
		}
	}
	page := web.ProjectPage(m)
	switch {
	case r.URL.Query().Has(web.AtBench):
		page = web.BenchPage(m)
	case r.Header.Get(web.FragmentHeader) != "":
		page = web.Fragment(m)
	}
	answer, err := pageReply(r, f.status(), page)
	if err != nil {
		return nil, err
	}
	return answer.with(refusalHeader(f)), nil
}

// tryChange gives the scene as it would be with a decision, which is not made.
func (a *app) tryChange(r *http.Request) (*reply, error) {
	_, ref, err := a.editable(r)
	if err != nil {
		return nil, err
	}
	form, err := readForm(r)
	if err != nil {
		return nil, err
	}
	w, err := a.desk.open(r.Context(), ref, few)
	if err != nil {
		return nil, err
	}
	decision, err := a.decisionOf(r.Context(), w, w.revision(), form)
	if err != nil {
		return nil, err
	}
	then, err := a.desk.follow(r.Context(), ref.ID, w, decision, none)
	if err != nil {
		return nil, err
	}
	return jsonReply(http.StatusOK, web.ShownIn(r.Context()).Scene(then.result))
}

// decisionOf reads the decision of a form made from revision had.
func (a *app) decisionOf(ctx context.Context, w *work, had int, form url.Values) (arrange.Decision, error) {
	setup, err := a.desk.setupAt(ctx, w, had)
	if err != nil {
		return arrange.Decision{}, err
	}
	decision, err := web.DecisionFromForm(form, setup)
	if err != nil {
		return decision, err
	}
	line, err := json.Marshal(decision)
	if err != nil {
		return decision, &fault{kind: unusable, title: "A value cannot be used", detail: "The form holds no decision that can be read.", cause: err}
	}
	return project.ParseDecision(line)
}

// decideByForm reads the decision of a form made from revision had and makes it.
func (a *app) decideByForm(ctx context.Context, id int64, w *work, had int, form url.Values) (arrange.Decision, *work, error) {
	decision, err := a.decisionOf(ctx, w, had, form)
	if err != nil {
		return decision, nil, err
	}
	if had != w.revision() {
		return decision, nil, &store.ConflictError{Revision: w.revision()}
	}
	next, err := a.desk.decide(ctx, id, w, decision)
	return decision, next, err
}

// withoutPointer takes from a message the JSON pointer at its head: people see the field itself.
func withoutPointer(message string) string {
	if pointer, words, ok := strings.Cut(message, ": "); ok && strings.HasPrefix(pointer, "/") {
		return words
	}
	return message
}

// added says in words what was decided after revision had.
func added(w *work, had int, s web.Shown) []string {
	if had < 0 || had >= w.revision() {
		return nil
	}
	var words []string
	for _, d := range w.log[had:] {
		words = append(words, s.Describe(d, w.result))
	}
	return words
}

// readForm reads the fields of a form, sent in either way that browsers have.
func readForm(r *http.Request) (url.Values, error) {
	err := r.ParseForm()
	if err == nil {
		err = r.ParseMultipartForm(maxSetup)
	}
	if errors.Is(err, http.ErrNotMultipart) {
		err = nil
	}
	var long *http.MaxBytesError
	if errors.As(err, &long) {
		return nil, err
	}
	if err != nil {
		return nil, &fault{kind: unreadable, title: "The form cannot be read", detail: "Load the page again and repeat the change.", cause: err}
	}
	if len(r.PostForm) == 0 {
		return nil, &fault{kind: wrongType, title: "The body is not a form", detail: "Use the forms of the project's page."}
	}
	return r.PostForm, nil
}
