package static

import (
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"testing"
)

func TestHandler(t *testing.T) {
	for _, test := range []struct{ name, path, mediaType string }{
		{"the style sheet", Path("app.css"), "text/css; charset=utf-8"},
		{"a script", Path("project.js"), "text/javascript; charset=utf-8"},
		{"the icon", Path("favicon.svg"), "image/svg+xml"},
	} {
		t.Run(test.name, func(t *testing.T) {
			w := httptest.NewRecorder()
			Handler().ServeHTTP(w, httptest.NewRequest(http.MethodGet, test.path, nil))
			if w.Code != http.StatusOK || w.Body.Len() == 0 {
				t.Fatalf("status %d, %d bytes", w.Code, w.Body.Len())
			}
			if got := w.Header().Get("Content-Type"); got != test.mediaType {
				t.Errorf("media type %q, want %q", got, test.mediaType)
			}
			if got := w.Header().Get("Cache-Control"); !strings.Contains(got, "immutable") {
				t.Errorf("Cache-Control %q, want it to be immutable", got)
			}
		})
	}
}

func TestHandlerFindsNothingElse(t *testing.T) {
	for _, test := range []struct{ name, path string }{
		{"another checksum", "/static/AAAAAAAAAAAA/app.css"},
		{"no checksum", "/static/app.css"},
		{"no such file", Prefix + checksum + "/none.css"},
		{"the directory", Prefix + checksum + "/"},
		{"a way out", Prefix + checksum + "/../static.go"},
		{"a test", Prefix + checksum + "/test/pure.test.mjs"},
	} {
		t.Run(test.name, func(t *testing.T) {
			r := httptest.NewRequest(http.MethodGet, "/", nil)
			r.URL.Path = test.path
			w := httptest.NewRecorder()
			Handler().ServeHTTP(w, r)
			if w.Code != http.StatusNotFound {
				t.Errorf("status %d, want 404", w.Code)
			}
			if got := w.Header().Get("Cache-Control"); strings.Contains(got, "immutable") {
				t.Errorf("a refusal may be kept for ever: %q", got)
			}
		})
	}
}

func TestPathPanicsWithoutTheFile(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("Path gave the address of a file that is not there")
		}
	}()
	Path("none.css")
}

// A script that imports a file which is not embedded would fail only in the browser.
func TestScriptsImportOnlyWhatIsHere(t *testing.T) {
	imports := regexp.MustCompile(`(?m)(?:from |^import |new URL\()"([^"]+)"`)
	names, err := files.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	found := 0
	for _, name := range names {
		data, err := files.ReadFile(name.Name())
		if err != nil {
			t.Fatal(err)
		}
		for _, match := range imports.FindAllStringSubmatch(string(data), -1) {
			found++
			if _, err := files.ReadFile(strings.TrimPrefix(match[1], "./")); err != nil {
				t.Errorf("%s imports %s: %v", name.Name(), match[1], err)
			}
		}
	}
	if found == 0 {
		t.Error("no import was found: the check looks at nothing")
	}
}

func TestPureScripts(t *testing.T) {
	node, err := exec.LookPath("node")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("node is not installed: the scripts' own tests do not run")
		}
		t.Skip("node is not installed: the scripts' own tests do not run")
	}
	out, err := exec.Command(node, "--test", "test/").CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
}
