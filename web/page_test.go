package web

import (
	"context"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"github.com/a-h/templ"

	"pinwright/arrange"
)

func itoa(n int) string { return strconv.Itoa(n) }

func render(t *testing.T, c templ.Component) *goquery.Document {
	t.Helper()
	var b strings.Builder
	if err := c.Render(context.Background(), &b); err != nil {
		t.Fatal(err)
	}
	doc, err := goquery.NewDocumentFromReader(strings.NewReader(b.String()))
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

func pages() map[string]templ.Component {
	conflict := model()
	conflict.Conflict = &Conflict{Had: 5, Now: 7, Added: []string{"C5 in bar 3 left out"}, Decision: arrange.Decision{Kind: arrange.LeaveOut, Note: "n12"}}
	problem := model()
	problem.Problem = &Problem{Title: "The diameter is 500 mm", Detail: "Give 3 to 400 mm.", Pointer: "/cylinder/diameterMm"}
	clear := model()
	clear.Result.ClearToDrill = true
	clear.Result.Findings = nil
	return map[string]templ.Component{
		"home":     Home(HomeModel{MaxMiB: 8}),
		"refused":  Home(HomeModel{Problem: "This is not a MIDI file", Detail: "Give a Standard MIDI File."}),
		"project":  ProjectPage(model()),
		"clear":    ProjectPage(clear),
		"conflict": ProjectPage(conflict),
		"problem":  ProjectPage(problem),
		"view":     ViewPage(ViewModel{Result: result(), CopyURL: "/v/LOOK/copy", Files: files("/v/LOOK/files/")}),
		"error":    ErrorPage(ErrorModel{Status: http.StatusNotFound, Title: "There is no project at this address", Detail: "Check the link."}),
	}
}

// TestWriteSamples writes every page to the directory that PINWRIGHT_SAMPLES names, to be looked at.
func TestWriteSamples(t *testing.T) {
	dir := os.Getenv("PINWRIGHT_SAMPLES")
	if dir == "" {
		t.Skip("PINWRIGHT_SAMPLES names no directory: no sample pages are written")
	}
	for name, page := range pages() {
		file, err := os.Create(filepath.Join(dir, name+".html"))
		if err != nil {
			t.Fatal(err)
		}
		if err := page.Render(context.Background(), file); err != nil {
			t.Fatal(err)
		}
		if err := file.Close(); err != nil {
			t.Fatal(err)
		}
	}
}
