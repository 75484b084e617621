// Package web turns a project's result into pages. View models are plain structs made by pure functions; the
// templates only lay them out. It knows no storage; the addresses of a project come in with the model.
//
// A change is a form posted to DecideURL with the field `revision` and either `decision` (JSON), the fields of a note's
// form (`note`, `do`, …) or fields of the setup (`cylinder.diameterMm`, …); DecisionFromForm reads all three. Where the
// request carries the header FragmentHeader, the answer is Fragment in place of ProjectPage, with the same status; else
// a change that was made answers 303 to the project's page. Refused changes answer with Conflict (412) or Problem set.
package web

import (
	"net/url"

	"pinwright/arrange"
	"pinwright/pinmap/project"
)

// HomeModel is the first page.
type HomeModel struct {
	MaxMiB  int    // the largest tune that is taken, in MiB; 0 says nothing about it
	Problem string // why the last upload was refused, in words for the user; empty where nothing was
	Detail  string // what would mend it
}

// File is something to download.
type File struct {
	Name string // "holes.csv"
	URL  string
	Text string // what it is, in a few words; empty takes the words that this package knows for the name
	Open bool   // opens in the browser rather than being saved
}

// Conflict tells that someone else changed the project first, and offers the change again.
type Conflict struct {
	Had, Now int              // revisions: what the form was made from, what stands
	Added    []string         // what was decided in between, in words
	Decision arrange.Decision // the change that was not saved; the zero Decision offers nothing
	Text     string           // that change in words; empty takes the words of Describe
}

// Problem is why a change was refused (422, 429, 503), shown above the project as it stands.
type Problem struct {
	Title    string            // what is
	Detail   string            // what would mend it
	Pointer  string            // JSON pointer of a bad field, such as "/cylinder/diameterMm"; empty where none is to blame
	Decision *arrange.Decision // offered again where trying again makes sense
}

// ProjectModel is the edit page, and the fragment of it that a change redraws.
type ProjectModel struct {
	Result     *project.Result
	Revision   int
	DecideURL  string // POST: hidden `revision`, and `decision` (JSON) or the fields of a setup or note form
	PageURL    string // of this page; its query `finding` names one whose remedies are all wanted, `advice=1` asks for advice, `settle=1` for a settlement, `note` names one whose panel is wanted
	Finding    string // id of the finding that was asked for so; its remedies are not folded away
	Note       string // id of the note whose panel was asked for
	BenchURL   string // of the page of the tools
	DrillURL   string // of the page beside the drill
	EditURL    string // absolute, to copy
	ViewURL    string // absolute, to copy
	Files      []File
	UndoText   string // what undo would take back, in words; empty with nothing to undo takes the last of Result.Decisions
	RedoText   string // what redo would make again, in words; may be empty
	Conflict   *Conflict
	Problem    *Problem
	Advice     *project.Advice     // nil where it was not asked for
	Settlement *project.Settlement // nil where it was not asked for
	Form       url.Values          // of the change that was refused: fills its fields in again
}

// At gives the address at which a note's panel is open; without a note that of the page.
func (m ProjectModel) At(note string) string {
	if note == "" {
		return m.PageURL
	}
	return m.PageURL + "?note=" + url.QueryEscape(note) + "#note-" + anchor(note)
}

// ViewModel is the share page that shows and cannot change.
type ViewModel struct {
	Result   *project.Result
	Revision int
	PageURL  string          // of this page; its query `advice=1` asks for advice
	DrillURL string          // of the page beside the drill; empty where the owner does not allow it
	CopyURL  string          // POST makes a project of the visitor's own; empty where the owner does not allow it
	Files    []File          // that the owner allows
	Advice   *project.Advice // nil where it was not asked for

	PictureURL string // absolute, of a picture for those who preview the link; empty for none
}

// ErrorModel is a page for a person in place of the one asked for.
type ErrorModel struct {
	Status int
	Title  string // what is, such as "There is no project at this address"
	Detail string // what to do
	Ref    string // number of the request for the log; may be empty
}

// AtBench is in the query of a change that is made on the page of the tools: it leads back there, and is shown there where it is refused.
const AtBench = "bench"

// FragmentHeader is set to "1" on requests of the page's own script. Asked for with it, a page with advice is
// AdvicePart alone, one with a settlement SettlementPart, one with the panel of a note NotePart.
const FragmentHeader = "Pinwright-Fragment"
