package bench

import (
	"context"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"pgregory.net/rapid"

	"pinwright/pinmap/project"
)

const sampleLink = "https://pins.example/view/Zk3_x-8Qm1pLr07uVtBnYc5dEoHgWsTj"

// tools skips a test that cannot be made without them; where every check runs that is a failure.
func tools(t *testing.T, names ...string) {
	t.Helper()
	for _, name := range names {
		if _, err := exec.LookPath(name); err != nil {
			if os.Getenv("CI") == "true" {
				t.Fatalf("%s is needed to read the code on the map: %v", name, err)
			}
			t.Skipf("THE CODE ON THE MAP IS NOT READ: %s is not installed (%v)", name, err)
		}
	}
}

// zbar reads the codes of an image with ZBar, a reader that nobody here wrote.
func zbar(t *testing.T, image string) string {
	t.Helper()
	out, err := exec.Command("zbarimg", "--nodbus", "--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", image).Output()
	if err != nil {
		t.Errorf("zbarimg reads no code: %v", err)
	}
	return strings.TrimSpace(string(out))
}

// TestPrintedLinkIsRead prints maps with Chromium, renders the PDF at 200 dots an inch, less than any printer for such work
// has, and reads the code from it.
func TestPrintedLinkIsRead(t *testing.T) {
	const chromium = "/usr/bin/chromium"
	tools(t, chromium, "pdftocairo", "zbarimg")
	wide := compact()
	wide.DiameterMm, wide.Turns = 120, "down"
	sound := result(compact(), 18, tuneful(18, 110, 18))
	sound.ClearToDrill = true
	large := blocked(result(wide, 60, tuneful(60, 300, 18)), 9)
	const scheme, path = "https://", ".example/view/Zk3_x-8Qm1pLr07uVtBnYc5dEoHgWsTj"
	longest := scheme + strings.Repeat("x", longestLink-len(scheme)-len(path)) + path

	allocator, stop := chromedp.NewExecAllocator(context.Background(), chromedp.ExecPath(chromium), chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.NoFirstRun, chromedp.UserDataDir(t.TempDir()))
	defer stop()
	browser, closeBrowser := chromedp.NewContext(allocator)
	defer closeBrowser()
	browser, cancel := context.WithTimeout(browser, 2*time.Minute)
	defer cancel()
	for _, test := range []struct {
		name  string
		r     *project.Result
		paper Paper
		link  string
	}{
		{"A4 upright", sound, A4, sampleLink},
		{"A3", sound, A3, sampleLink},
		{"Letter", sound, Letter, "http://127.0.0.1:8080/view/Zk3_x-8Qm1pLr07uVtBnYc5dEoHgWsTj"},
		{"the longest link on its side", large, Letter, longest},
	} {
		t.Run(test.name, func(t *testing.T) {
			var b strings.Builder
			if err := drillMap(&b, Job{Result: test.r, Paper: test.paper, Link: test.link}); err != nil {
				t.Fatal(err)
			}
			sheets := strings.Count(b.String(), `<section class="sheet"`)
			own := writePDF(t, Job{Result: test.r, Paper: test.paper, Link: test.link})
			for n, pdf := range slices.Concat(slices.Repeat([]string{printPDF(t, browser, b.String())}, sheets), slices.Repeat([]string{own}, sheets)) {
				image := filepath.Join(t.TempDir(), "sheet")
				page := fmt.Sprint(n%sheets + 1)
				if out, err := exec.Command("pdftocairo", "-png", "-r", "200", "-singlefile", "-f", page, "-l", page, pdf, image).CombinedOutput(); err != nil {
					t.Fatalf("%v %s", err, out)
				}
				if got := zbar(t, image+".png"); got != test.link {
					t.Errorf("sheet %d: read %q, want %q", n+1, got, test.link)
				}
				text, err := exec.Command("pdftotext", "-f", page, "-l", page, pdf, "-").Output()
				if err != nil {
					t.Fatal(err)
				}
				if plain := strings.Join(strings.Fields(string(text)), ""); !strings.Contains(plain, test.link[len(test.link)-20:]) {
					t.Errorf("sheet %d does not end the link in words: it has not the room that was planned", n+1)
				}
			}
		})
	}
}

// TestCodeLaws holds for any link: the code is at least 25 mm wide without its quiet zone, which is four modules of white on
// every side (ISO/IEC 18004), and takes a bounded room.
func TestCodeLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		link := "https://" + rapid.StringMatching(`[a-z0-9.-]{1,70}`).Draw(t, "host") + "/view/" + rapid.StringMatching(`[A-Za-z0-9_-]{32}`).Draw(t, "token")
		code := NewLinkCode(link)
		if !code.Shown() {
			t.Fatalf("%s has no code", link)
		}
		grid := gridOf(code)
		for y, row := range grid {
			for x, black := range row {
				if n := code.modules; black && (x < 4 || y < 4 || x >= n-4 || y >= n-4) {
					t.Fatalf("the module at %d, %d is in the quiet zone", x, y)
				}
			}
		}
		module := code.sideMm() / float64(code.modules)
		if wide := module * float64(code.modules-8); wide < 25 || code.sideMm() > 35 || module < 0.5 {
			t.Fatalf("%d modules of %.3f mm are %.2f mm wide", code.modules, module, wide)
		}
		// The finder patterns stand in three corners: seven modules, the inner ring white.
		for _, corner := range [][2]int{{4, 4}, {code.modules - 11, 4}, {4, code.modules - 11}} {
			for i := range 7 {
				ring := grid[corner[1]+1][corner[0]+i]
				if !grid[corner[1]][corner[0]+i] || ring != (i == 0 || i == 6) {
					t.Fatalf("there is no finder pattern at %v", corner)
				}
			}
		}
	})
	for _, none := range []string{"", "https://" + strings.Repeat("x", 113)} {
		if c := NewLinkCode(none); c.Shown() || c.Path() != "" || c.size(none) != (rect{}) {
			t.Errorf("a link of %d bytes has a code", len(none))
		}
	}
}

var run = regexp.MustCompile(`M(\d+) (\d+)h(\d+)v1h-(\d+)z`)

// gridOf reads the modules back from the path.
func gridOf(c LinkCode) [][]bool {
	grid := make([][]bool, c.modules)
	for y := range grid {
		grid[y] = make([]bool, c.modules)
	}
	for _, m := range run.FindAllStringSubmatch(c.Path(), -1) {
		x, _ := strconv.Atoi(m[1])
		y, _ := strconv.Atoi(m[2])
		wide, _ := strconv.Atoi(m[3])
		for i := range wide {
			grid[y][x+i] = true
		}
	}
	return grid
}

// TestLinkOverlapsNothing holds for any cylinder: with a link, the map, the notes, the verdict, the title block and the code
// lie apart and within the frame.
func TestLinkOverlapsNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyResult(t)
		paper := rapid.SampledFrom([]Paper{A4, A3, Letter}).Draw(t, "paper")
		link := sampleLink + strings.Repeat("x", rapid.IntRange(0, longestLink-len(sampleLink)).Draw(t, "longer"))
		code := NewLinkCode(link)
		pl := planSheets(Job{Result: r}, paper, judge(r).height(), code.size(link))
		areas := []rect{pl.room, pl.notes, pl.verdict, pl.block, pl.link}
		for i, a := range areas {
			if f := pl.frame; a.x < f.x-1e-9 || a.y < f.y-1e-9 || a.x+a.w > f.x+f.w+1e-9 || a.y+a.h > f.y+f.h+1e-9 {
				t.Fatalf("%v lies outside of the frame %v", a, f)
			}
			for _, b := range areas[:i] {
				if overlaps(a, b) {
					t.Fatalf("%v and %v overlap", a, b)
				}
			}
		}
		if need := code.size(link); pl.link.w < need.w || pl.link.h < need.h-1e-9 || pl.block.w < 140 {
			t.Fatalf("the code has %v of %v, the title block is %.1f mm wide", pl.link, need, pl.block.w)
		}
		var b strings.Builder
		if err := drillMap(&b, Job{Result: r, Paper: paper, Link: link}); err != nil {
			t.Fatal(err)
		}
		if n, want := strings.Count(b.String(), `<div class="link">`), pl.sheets(); n != want || !strings.Contains(b.String(), "<p>"+link+"</p>") {
			t.Fatalf("%d sheets of %d have the code", n, want)
		}
	})
}

func TestWithoutALinkThereIsNoCode(t *testing.T) {
	var b strings.Builder
	if err := DrillMap(&b, result(compact(), 18, tuneful(18, 40, 18)), A4); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(b.String(), "link") {
		t.Error("a map of a tune that is not stored speaks of a link")
	}
}

// TestFilesCanBeShared checks that a setup can name every file that is made.
func TestFilesCanBeShared(t *testing.T) {
	for _, name := range Names() {
		setup, err := project.ParseSetup([]byte(`{"share": {"files": [` + strconv.Quote(name) + `]}}`))
		if err != nil {
			t.Errorf("%s cannot be shared; add it to the names that project knows: %v", name, err)
			continue
		}
		for _, other := range Names() {
			if setup.Share.Allows(other) != (other == name) {
				t.Errorf("with %s shared, %s is allowed: %v", name, other, setup.Share.Allows(other))
			}
		}
	}
	for text, want := range map[string]int{`{}`: math.MaxInt, `{"share": {"files": null}}`: math.MaxInt, `{"share": {"files": []}}`: 0} {
		setup, err := project.ParseSetup([]byte(text))
		if err != nil {
			t.Fatal(err)
		}
		allowed := slices.DeleteFunc(Names(), func(name string) bool { return !setup.Share.Allows(name) })
		if len(allowed) != min(want, len(Names())) {
			t.Errorf("%s allows %v", text, allowed)
		}
	}
}
