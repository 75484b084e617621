// Package pinwright_test keeps the rules of the house: which package may know which, what the pure ones never touch, which
// modules are used and why, and that what the guides say is there.
package pinwright_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"pinwright/pinmap/bench"
)

const module = "pinwright"

// arrows gives, for each package, those of ours that it may import; "x/..." is x and all below it. Tests are free.
var arrows = map[string][]string{
	"arrange":               {"arrange/comb", "arrange/phrase", "arrange/tune", "arrange/unit"},
	"arrange/comb":          {"arrange/phrase", "arrange/unit"},
	"arrange/phrase":        {},
	"arrange/tune":          {"arrange/phrase", "arrange/unit"},
	"arrange/tune/tunetest": {"arrange/tune"},
	"arrange/unit":          {},
	"fixtures":              {},
	"pinmap":                {"arrange/..."},
	"pinmap/bench":          {"arrange/...", "pinmap/..."},
	"pinmap/drive":          {"arrange/...", "pinmap"},
	"pinmap/indexing":       {"arrange/comb", "arrange/unit", "pinmap"},
	"pinmap/project":        {"arrange/...", "pinmap", "pinmap/drive", "pinmap/indexing", "pinmap/tolerance"},
	"pinmap/tolerance":      {"arrange/comb", "arrange/unit", "pinmap", "pinmap/indexing"},
	"pinmap/solid":          {"arrange/unit", "pinmap"},
	"server":                {"arrange/...", "pinmap/...", "web/...", "static", "fixtures", "server/store"},
	"server/store":          {},
	"static":                {},
	"web":                   {"arrange/...", "pinmap/...", "static"},
	"web/picture":           {"arrange/...", "pinmap/..."},
}

// outside holds what the packages from one folder on never import: where the world comes in, only the server is.
var outside = map[string][]string{
	"arrange": pure, "pinmap": pure,
	"web":    {"database/sql/...", "log/...", "net", "net/http/...", "os/...", "syscall/..."},
	"static": {"database/sql/...", "log/...", "os/..."},
	"server": {"unsafe"},
}

var pure = []string{"crypto/rand", "database/...", "embed", "io/ioutil", "log/...", "net/...", "os/...", "path/filepath", "plugin",
	"runtime/...", "sync/...", "syscall/...", "unsafe", "github.com/a-h/templ/...", "github.com/go-chi/...", "github.com/pressly/...", "modernc.org/..."}

// impure are the functions of packages that are otherwise of use which read the clock, wait, draw chance that nobody
// seeded, or print.
var impure = map[string]*regexp.Regexp{
	"fmt":          regexp.MustCompile(`^(Print|Scan)`),
	"math/rand":    regexp.MustCompile(`^(Int|Uint|Float|Exp|Norm|Perm|Shuffle|Read|Seed|N$)`),
	"math/rand/v2": regexp.MustCompile(`^(Int|Uint|Float|Exp|Norm|Perm|Shuffle|N$)`),
	"time":         regexp.MustCompile(`^(Now|Since|Until|Sleep|After|AfterFunc|NewTimer|NewTicker|Tick|Local|LoadLocation)$`),
}

// modules lists every module that is used by name, with what it is for. Another needs a reason here first.
var modules = map[string]string{
	"github.com/PuerkitoBio/goquery":     "tests: finds elements of a page by selector",
	"github.com/a-h/templ":               "pages as typed templates; its generator is a tool of the module",
	"github.com/chromedp/cdproto":        "tests: printing and the network in the browser's own protocol",
	"github.com/chromedp/chromedp":       "tests: a real browser",
	"github.com/getkin/kin-openapi":      "tests: answers checked against the API's description",
	"github.com/go-audio/wav":            "sound as a WAV file",
	"github.com/go-chi/chi/v5":           "routes",
	"github.com/go-chi/httprate":         "limits of rate",
	"github.com/go-json-experiment/json": "JSON whose errors say where they lie",
	"github.com/klauspost/compress":      "deflate in half the time that the standard library takes, for solids with thousands of pins",
	"github.com/pressly/goose/v3":        "migrations",
	"gitlab.com/gomidi/midi/v2":          "Standard MIDI Files",
	"golang.org/x/image":                 "the preview picture: type and its own font, which holds no more than Latin, Greek and Cyrillic",
	"golang.org/x/net":                   "tests: HTML as a browser parses it, and the line to Firefox",
	"golang.org/x/text":                  "texts in the encodings that MIDI files are found in, and which language a reader asks for",
	"honnef.co/go/tools":                 "staticcheck, a tool of the module",
	"modernc.org/sqlite":                 "the embedded database, without C",
	"pgregory.net/rapid":                 "tests: laws by generated cases",
	"rsc.io/qr":                          "the modules of a QR code, without drawing or files",
}

func TestArrowsPointOneWay(t *testing.T) {
	faults(t, wrongArrows(sources(t, os.DirFS("."))))
}

func TestPurePackagesTouchNothing(t *testing.T) {
	faults(t, impurities(sources(t, os.DirFS("."))))
}

func TestPackagesSayWhatTheyAre(t *testing.T) {
	faults(t, undocumented(sources(t, os.DirFS("."))))
}

func TestFilesSpeakOnlyOfTheProject(t *testing.T) {
	faults(t, strayWords(tree(t)))
}

func TestNothingIsSkippedInSilence(t *testing.T) {
	faults(t, silentSkips(sources(t, os.DirFS("."))))
}

func TestGeneratedFilesHaveTheirSource(t *testing.T) {
	faults(t, orphans(tree(t)))
}

func TestGuidesNameWhatIsThere(t *testing.T) {
	faults(t, brokenReferences(tree(t), "README.md", "DEVELOPERS.md"))
}

func TestModulesAreTheOnesWithAReason(t *testing.T) {
	out, err := exec.Command("go", "mod", "edit", "-json").Output()
	if err != nil {
		t.Fatal(err)
	}
	faults(t, wrongModules(t, out))
}

// TestReadme compares what the README says with the code that it speaks of.
func TestReadme(t *testing.T) {
	files := tree(t)
	readme := string(files["README.md"].Data)
	variable := regexp.MustCompile(`PINWRIGHT_[A-Z_]+`)
	distinct := func(text string) []string {
		return slices.Compact(slices.Sorted(slices.Values(variable.FindAllString(text, -1))))
	}
	if got, want := distinct(readme), distinct(string(files["server/config.go"].Data)); !slices.Equal(got, want) {
		t.Errorf("the README names the variables %v, the server reads %v", got, want)
	}
	today, later, split := strings.Cut(readme, "\nNot yet: ")
	if !split {
		t.Fatal("the README does not say what is not yet there")
	}
	for _, name := range bench.Names() {
		if !strings.Contains(today, "`"+name+"`") {
			t.Errorf("the README does not list %s among the files that are written", name)
		}
		if later, _, _ := strings.Cut(later, "\n\n"); strings.Contains(later, "`"+name+"`") {
			t.Errorf("the README says that %s is not yet written, but it is", name)
		}
	}
	for _, command := range []string{"go run ./server", "go test ./..."} {
		if !strings.Contains(readme, "\n    "+command) {
			t.Errorf("the README does not give the command %q", command)
		}
	}
}

// TestRulesBite breaks each rule in a made-up tree and expects the fault to be found.
func TestRulesBite(t *testing.T) {
	type check func(t *testing.T, files fstest.MapFS) []string
	onSources := func(f func([]source) []string) check {
		return func(t *testing.T, files fstest.MapFS) []string { return f(sources(t, files)) }
	}
	onFiles := func(f func(fstest.MapFS) []string) check {
		return func(_ *testing.T, files fstest.MapFS) []string { return f(files) }
	}
	guides := onFiles(func(files fstest.MapFS) []string { return brokenReferences(files, "README.md") })
	for _, test := range []struct {
		name       string
		check      check
		file, text string
		want       string // "" for none
	}{
		{"sound arrow", onSources(wrongArrows), "web/a.go", `package web; import "pinwright/pinmap/bench"`, ""},
		{"test is free", onSources(wrongArrows), "arrange/a_test.go", `package arrange; import "os"`, ""},
		{"arrow back", onSources(wrongArrows), "arrange/a.go", `package arrange; import "pinwright/pinmap"`, "may not import pinwright/pinmap"},
		{"arrow round", onSources(wrongArrows), "pinmap/a.go", `package pinmap; import "pinwright/pinmap/project"`, "may not import pinwright/pinmap/project"},
		{"pages know storage", onSources(wrongArrows), "web/a.go", `package web; import "pinwright/server/store"`, "may not import pinwright/server/store"},
		{"package without a place", onSources(wrongArrows), "extra/a.go", `package extra`, "has no place in the house"},
		{"disk", onSources(wrongArrows), "arrange/tune/a.go", `package tune; import "os"`, "may not import os"},
		{"network", onSources(wrongArrows), "pinmap/bench/a.go", `package bench; import "net/http"`, "may not import net/http"},
		{"database", onSources(wrongArrows), "pinmap/project/a.go", `package project; import "database/sql"`, "may not import database/sql"},
		{"log", onSources(wrongArrows), "arrange/comb/a.go", `package comb; import "log/slog"`, "may not import log/slog"},
		{"net/url is no network", onSources(wrongArrows), "web/a.go", `package web; import "net/url"`, ""},
		{"clock", onSources(impurities), "pinmap/a.go", `package pinmap; import "time"; func f() { _ = time.Now() }`, "time.Now"},
		{"clock under another name", onSources(impurities), "pinmap/a.go", `package pinmap; import clock "time"; var f = clock.Since`, "time.Since"},
		{"dot import", onSources(impurities), "pinmap/a.go", `package pinmap; import . "time"`, "imports time without a name"},
		{"date", onSources(impurities), "pinmap/a.go", `package pinmap; import "time"; func f() { _, _ = time.Parse(time.DateOnly, "") }`, ""},
		{"chance", onSources(impurities), "arrange/a.go", `package arrange; import "math/rand/v2"; var f = rand.IntN(6)`, "math/rand/v2.IntN"},
		{"seeded chance", onSources(impurities), "arrange/a.go", `package arrange; import "math/rand/v2"; func f() { rand.New(rand.NewPCG(1, 2)).IntN(6) }`, ""},
		{"print", onSources(impurities), "arrange/a.go", `package arrange; import "fmt"; func f() { fmt.Println() }`, "fmt.Println"},
		{"global set", onSources(impurities), "arrange/a.go", `package arrange; var n int; func f() { n = 1 }`, "sets the global n"},
		{"global counted", onSources(impurities), "arrange/a.go", `package arrange; var n struct{ a []int }; func f() { n.a[3]++ }`, "sets the global n"},
		{"global lent", onSources(impurities), "arrange/a.go", `package arrange; var n int; func f() *int { return &n }`, "takes the address of the global n"},
		{"local of a global's name", onSources(impurities), "arrange/a.go", `package arrange; var n int; func f() { n := 2; n++; _ = n }`, ""},
		{"global read", onSources(impurities), "arrange/a.go", `package arrange; var n = [2]int{1, 2}; func f() int { return n[1] }`, ""},
		{"set at start", onSources(impurities), "arrange/a.go", `package arrange; func init() {}`, "has an init"},
		{"no comment", onSources(undocumented), "arrange/a.go", "package arrange", "has no comment"},
		{"comment", onSources(undocumented), "arrange/a.go", "// Package arrange arranges.\npackage arrange", ""},
		{"machine's path", onFiles(strayWords), "a.md", "see /" + "home/ann/x", "a.md:1"},
		{"machine's drive", onFiles(strayWords), "a.md", "\nsee C:" + `\Users`, "a.md:2"},
		{"left to do", onFiles(strayWords), "a.go", "// TO" + "DO mend", "a.go:1"},
		{"check silenced", onFiles(strayWords), "a.go", "x() //" + "nolint", "a.go:1"},
		{"sleep in a test", onFiles(strayWords), "a_test.go", "time." + "Sleep(1)", "a_test.go:1"},
		{"test skipped in silence", onSources(silentSkips), "a_test.go", `package a; func TestA(t *testing.T) { func() { t.SkipNow() }() }`, "a_test.go skips"},
		{"test skipped aloud", onSources(silentSkips), "a_test.go", `package a; func TestA(t *testing.T) { if os.Getenv("CI") == "true" { t.Fatal() }; t.Skip() }`, ""},
		{"case passed over", onSources(silentSkips), "a_test.go", `package a; func TestA(t *testing.T) { rapid.Check(t, func(t *rapid.T) { t.Skip() }) }`, ""},
		{"page without its source", onFiles(orphans), "web/a_templ.go", "package web", "web/a.templ"},
		{"source without its page", onFiles(orphans), "web/a.templ", "package web", "web/a_templ.go"},
		{"generated by what nobody knows", onFiles(orphans), "web/a.go", "// Code generated by magic. DO NOT EDIT.\npackage web", "no known source"},
		{"link to nothing", guides, "README.md", "[a](b.md)", "b.md"},
		{"path to nothing", guides, "README.md", "see `web/b.go`", "web/b.go"},
		{"path to the file itself", guides, "README.md", "see [this](README.md), `README.md`", ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			found := test.check(t, fstest.MapFS{test.file: {Data: []byte(test.text)}})
			if test.want == "" && len(found) > 0 || test.want != "" && (len(found) != 1 || !strings.Contains(found[0], test.want)) {
				t.Errorf("found %q, want one with %q", found, test.want)
			}
		})
	}
}

func faults(t *testing.T, found []string) {
	t.Helper()
	for _, f := range found {
		t.Error(f)
	}
}

// source is one Go file.
type source struct {
	name, folder string
	test         bool
	file         *ast.File
}

// positions holds the lines of all files that are parsed.
var positions = token.NewFileSet()

// sources parses the Go files of a tree, the module's own folder as ".".
func sources(t *testing.T, root fs.FS) (all []source) {
	t.Helper()
	walk(t, root, func(name string, data []byte) {
		if path.Ext(name) != ".go" {
			return
		}
		file, err := parser.ParseFile(positions, name, data, parser.ParseComments|parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, source{name, path.Dir(name), strings.HasSuffix(name, "_test.go"), file})
	})
	if len(all) == 0 {
		t.Fatal("there is no Go file: the check looks at nothing")
	}
	return all
}

// tree reads every text file of the repository.
func tree(t *testing.T) fstest.MapFS {
	t.Helper()
	files := fstest.MapFS{}
	walk(t, os.DirFS("."), func(name string, data []byte) { files[name] = &fstest.MapFile{Data: data} })
	return files
}

// walk visits the files of a tree but not what git ignores: the data folder, binaries, packages of the script's checks.
func walk(t *testing.T, root fs.FS, visit func(name string, data []byte)) {
	t.Helper()
	err := fs.WalkDir(root, ".", func(name string, entry fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case entry.IsDir() && slices.Contains([]string{".git", "data", "node_modules", "rapid"}, entry.Name()):
			return fs.SkipDir
		case !entry.Type().IsRegular(), name == module, path.Ext(name) == ".test":
			return nil
		}
		data, err := fs.ReadFile(root, name)
		if err == nil {
			visit(name, data)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

func imports(s source) (all []string) {
	for _, spec := range s.file.Imports {
		name, _ := strconv.Unquote(spec.Path.Value) // it was parsed
		all = append(all, name)
	}
	return all
}

// within reports whether a path is one of the patterns; "x/..." is x and all below it.
func within(name string, patterns []string) bool {
	return slices.ContainsFunc(patterns, func(pattern string) bool {
		below, all := strings.CutSuffix(pattern, "/...")
		return name == below || all && strings.HasPrefix(name, below+"/")
	})
}

func wrongArrows(all []source) (found []string) {
	for _, s := range all {
		if s.test {
			continue
		}
		allowed, known := arrows[s.folder]
		if !known {
			found = append(found, fmt.Sprintf("%s: the package %s has no place in the house; give it one in arrows", s.name, s.folder))
			continue
		}
		top, _, _ := strings.Cut(s.folder, "/")
		for _, name := range imports(s) {
			own, ours := strings.CutPrefix(name, module+"/")
			if ours && !within(own, allowed) || !ours && name != "net/url" && within(name, outside[top]) {
				found = append(found, fmt.Sprintf("%s may not import %s", s.name, name))
			}
		}
	}
	return found
}

func impurities(all []source) (found []string) {
	packages := map[string][]*ast.File{}
	for _, s := range all {
		if s.test || !within(s.folder, []string{"arrange/...", "pinmap/..."}) {
			continue
		}
		packages[s.folder] = append(packages[s.folder], s.file)
	}
	for _, folder := range slices.Sorted(maps.Keys(packages)) {
		// Other packages are not loaded: names of this one are resolved all the same, and errors about the rest say nothing.
		info := &types.Info{Uses: map[*ast.Ident]types.Object{}}
		config := types.Config{Importer: nothing{}, Error: func(error) {}}
		p, _ := config.Check(folder, positions, packages[folder], info)
		report := func(format string, args ...any) { found = append(found, folder+" "+fmt.Sprintf(format, args...)) }
		global := func(e ast.Expr) string {
			if v, ok := info.Uses[root(e)].(*types.Var); ok && v.Parent() == p.Scope() {
				return v.Name()
			}
			return ""
		}
		for _, file := range packages[folder] {
			names := map[string]string{} // of imports that have impure functions, by their name in this file
			for _, spec := range file.Imports {
				name, _ := strconv.Unquote(spec.Path.Value)
				if impure[name] == nil {
					continue
				}
				local := path.Base(strings.TrimSuffix(name, "/v2"))
				if spec.Name != nil {
					local = spec.Name.Name
				}
				if local == "." {
					report("imports %s without a name", name)
				}
				names[local] = name
			}
			ast.Inspect(file, func(n ast.Node) bool {
				switch n := n.(type) {
				case *ast.SelectorExpr:
					if x, ok := n.X.(*ast.Ident); ok && names[x.Name] != "" && impure[names[x.Name]].MatchString(n.Sel.Name) {
						if _, isPackage := info.Uses[x].(*types.PkgName); isPackage {
							report("uses %s.%s", names[x.Name], n.Sel.Name)
						}
					}
				case *ast.AssignStmt:
					for _, left := range n.Lhs {
						if g := global(left); g != "" {
							report("sets the global %s", g)
						}
					}
				case *ast.IncDecStmt:
					if g := global(n.X); g != "" {
						report("sets the global %s", g)
					}
				case *ast.UnaryExpr:
					if g := global(n.X); n.Op == token.AND && g != "" {
						report("takes the address of the global %s", g)
					}
				case *ast.FuncDecl:
					if n.Recv == nil && n.Name.Name == "init" {
						report("has an init")
					}
				}
				return true
			})
		}
	}
	return found
}

// nothing imports empty packages.
type nothing struct{}

func (nothing) Import(name string) (*types.Package, error) {
	p := types.NewPackage(name, path.Base(strings.TrimSuffix(name, "/v2")))
	p.MarkComplete()
	return p, nil
}

// root gives the variable that an expression is a part of.
func root(e ast.Expr) *ast.Ident {
	for {
		switch x := e.(type) {
		case *ast.Ident:
			return x
		case *ast.IndexExpr:
			e = x.X
		case *ast.SelectorExpr:
			e = x.X
		case *ast.ParenExpr:
			e = x.X
		default:
			return nil
		}
	}
}

func undocumented(all []source) (found []string) {
	documented := map[string]bool{}
	for _, s := range all {
		documented[s.folder] = documented[s.folder] || s.file.Doc != nil && strings.TrimSpace(s.file.Doc.Text()) != ""
	}
	for _, folder := range slices.Sorted(maps.Keys(documented)) {
		if !documented[folder] {
			found = append(found, fmt.Sprintf("the package in %s has no comment that says what it is", folder))
		}
	}
	return found
}

// strays are what no file holds: paths of one machine, what is left to do, checks silenced, and where packages come from,
// which is the machine's affair. They are put together so that they do not find themselves.
var strays = []string{"/" + "home/", "/" + "root/", "/" + "Users/", "/" + "work/", "/" + "private/", `C:\` + `Users`,
	"TO" + "DO", "FIX" + "ME", "X" + "XX", "//" + "nolint", "proxy." + "golang.org", "registry." + "npmjs"}

var sleeps = regexp.MustCompile(`\btime\.` + `Sleep\(`)

func strayWords(files fstest.MapFS) (found []string) {
	for _, name := range slices.Sorted(maps.Keys(files)) {
		data := files[name].Data
		if name == "go.sum" || bytes.IndexByte(data, 0) >= 0 {
			continue
		}
		test := strings.HasSuffix(name, "_test.go")
		lineOf := func(at int) int { return 1 + bytes.Count(data[:at], []byte("\n")) }
		for _, word := range strays {
			if at := bytes.Index(data, []byte(word)); at >= 0 {
				found = append(found, fmt.Sprintf("%s:%d holds %q", name, lineOf(at), word))
			}
		}
		if at := sleeps.FindIndex(data); test && at != nil {
			found = append(found, fmt.Sprintf("%s:%d sleeps; wait for what is to happen instead", name, lineOf(at[0])))
		}
	}
	return found
}

// silentSkips finds files that skip a test and do not ask whether they run among all checks, where that is a failure. A
// generated case that is passed over is no test that is skipped.
func silentSkips(all []source) (found []string) {
	for _, s := range all {
		skips, asks := false, false
		ast.Inspect(s.file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.FuncDecl:
				skips = skips || skipsTest(n.Type, n.Body)
			case *ast.FuncLit:
				skips = skips || skipsTest(n.Type, n.Body)
			case *ast.BasicLit:
				asks = asks || n.Value == `"CI"`
			}
			return true
		})
		if skips && !asks {
			found = append(found, s.name+" skips a test without asking whether CI is set, where that must fail")
		}
	}
	return found
}

// skipsTest reports whether a function skips the test that it is given, itself or in a function inside it.
func skipsTest(signature *ast.FuncType, body *ast.BlockStmt) (skips bool) {
	if body == nil {
		return false
	}
	for _, parameter := range signature.Params.List {
		if !strings.Contains(types.ExprString(parameter.Type), "testing.") {
			continue
		}
		for _, name := range parameter.Names {
			ast.Inspect(body, func(n ast.Node) bool {
				switch n := n.(type) {
				case *ast.FuncLit:
					return !slices.ContainsFunc(n.Type.Params.List, func(p *ast.Field) bool {
						return slices.ContainsFunc(p.Names, func(inner *ast.Ident) bool { return inner.Name == name.Name })
					})
				case *ast.SelectorExpr:
					x, ok := n.X.(*ast.Ident)
					skips = skips || ok && x.Name == name.Name && strings.HasPrefix(n.Sel.Name, "Skip")
				}
				return true
			})
		}
	}
	return skips
}

var generated = regexp.MustCompile(`(?m)^// Code generated .* DO NOT EDIT\.$`)

func orphans(files fstest.MapFS) (found []string) {
	for _, name := range slices.Sorted(maps.Keys(files)) {
		other := ""
		if base, is := strings.CutSuffix(name, "_templ.go"); is {
			other = base + ".templ"
		} else if base, is := strings.CutSuffix(name, ".templ"); is {
			other = base + "_templ.go"
		} else if path.Ext(name) == ".go" && generated.Match(files[name].Data) {
			found = append(found, name+" is generated, but has no known source")
		}
		if other != "" && files[other] == nil {
			found = append(found, name+" stands without "+other)
		}
	}
	return found
}

var (
	link   = regexp.MustCompile(`\]\(([^):#]+)\)`)
	quoted = regexp.MustCompile("`((?:[\\w.*-]+/)+[\\w.*-]*|[\\w*-]+\\.(?:go|md|templ|css|js|sql))`")
)

// brokenReferences finds links and paths in backquotes that lead to nothing in the tree. A path is a file, a folder or
// a pattern, from the top, but "./x" lies where the server runs; a bare file name may lie in any folder.
func brokenReferences(files fstest.MapFS, guides ...string) (found []string) {
	for _, guide := range guides {
		if files[guide] == nil {
			found = append(found, guide+" is missing")
			continue
		}
		text := string(files[guide].Data)
		for _, m := range link.FindAllStringSubmatch(text, -1) {
			if files[m[1]] == nil {
				found = append(found, fmt.Sprintf("%s links to %s, which is not there", guide, m[1]))
			}
		}
		for _, m := range quoted.FindAllStringSubmatch(text, -1) {
			if !strings.HasPrefix(m[1], "./") && !there(files, m[1]) {
				found = append(found, fmt.Sprintf("%s speaks of %s, which is not there", guide, m[1]))
			}
		}
	}
	return found
}

func there(files fstest.MapFS, name string) bool {
	name = strings.TrimSuffix(name, "/")
	for file := range files {
		if strings.HasPrefix(file, name+"/") {
			return true
		}
		at := file
		if !strings.Contains(name, "/") {
			at = path.Base(file)
		}
		if ok, _ := path.Match(name, at); ok {
			return true
		}
	}
	return false
}

func wrongModules(t *testing.T, goMod []byte) (found []string) {
	t.Helper()
	var mod struct {
		Require []struct {
			Path     string
			Indirect bool
		}
		Tool    []struct{ Path string }
		Replace []struct{ Old struct{ Path string } }
	}
	if err := json.Unmarshal(goMod, &mod); err != nil {
		t.Fatal(err)
	}
	used := map[string]bool{}
	for _, r := range mod.Require {
		tool := slices.ContainsFunc(mod.Tool, func(tool struct{ Path string }) bool { return within(tool.Path, []string{r.Path + "/..."}) })
		if r.Indirect && !tool {
			continue
		}
		used[r.Path] = true
		if modules[r.Path] == "" {
			found = append(found, fmt.Sprintf("go.mod requires %s; say in modules what it is for, or do without it", r.Path))
		}
	}
	for _, name := range slices.Sorted(maps.Keys(modules)) {
		if !used[name] {
			found = append(found, fmt.Sprintf("modules gives a reason for %s, which go.mod does not require", name))
		}
	}
	for _, r := range mod.Replace {
		found = append(found, fmt.Sprintf("go.mod replaces %s; a module is what its author published", r.Old.Path))
	}
	return found
}
