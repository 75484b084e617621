package bench

import (
	"context"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"pinwright/pinmap/project"
)

// TestPrint prints maps with Chromium and measures the PDF with poppler: page sizes, the rulers, and where every hole
// lies. Tolerance 0.1 mm (issue 3); on the rulers and from hole to hole half of that.
func TestPrint(t *testing.T) {
	const chromium = "/usr/bin/chromium"
	for _, tool := range []string{chromium, "pdftocairo", "pdfinfo"} {
		if _, err := exec.LookPath(tool); err != nil {
			if os.Getenv("CI") == "true" {
				t.Fatalf("%s is needed to measure the printed map: %v", tool, err)
			}
			t.Skipf("THE PRINTED MAP IS NOT MEASURED: %s is not installed (%v)", tool, err)
		}
	}
	small := result(compact(), 18, tuneful(18, 110, 18))
	wide := compact()
	wide.DiameterMm, wide.Turns = 120, "down"
	large := blocked(result(wide, 60, tuneful(60, 300, 18)), 9)

	allocator, stop := chromedp.NewExecAllocator(context.Background(), chromedp.ExecPath(chromium), chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.NoFirstRun, chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-sync", true), chromedp.UserDataDir(t.TempDir()))
	defer stop()
	browser, closeBrowser := chromedp.NewContext(allocator)
	defer closeBrowser()
	browser, cancel := context.WithTimeout(browser, 2*time.Minute)
	defer cancel()

	for _, test := range []struct {
		name   string
		r      *project.Result
		paper  Paper
		sheets int
	}{
		{"compact cylinder on A4", small, A4, 1},
		{"compact cylinder on A3", small, A3, 1},
		{"compact cylinder on Letter", small, Letter, 1},
		{"120 mm cylinder on A4", large, A4, 2},
		{"120 mm cylinder on A3", large, A3, 2},
		{"120 mm cylinder on Letter", large, Letter, 2},
	} {
		t.Run(test.name, func(t *testing.T) {
			m := write(t, test.r, test.paper)
			if len(m.sheets) != test.sheets {
				t.Fatalf("the map takes %d sheets, want %d", len(m.sheets), test.sheets)
			}
			pdf := printPDF(t, browser, m.raw)
			worst := 0.0
			for n, sheet := range m.sheets {
				worst = math.Max(worst, measure(t, pdf, n+1, sheet, wrapOf(test.r)))
			}
			t.Logf("worst distance of a printed hole from where it belongs: %.4f mm", worst)
			checkListPage(t, pdf, len(m.sheets)+1, test.paper)
		})
	}
}

func printPDF(t *testing.T, browser context.Context, raw string) string {
	t.Helper()
	dir := t.TempDir()
	source, pdf := filepath.Join(dir, "map.html"), filepath.Join(dir, "map.pdf")
	if err := os.WriteFile(source, []byte(raw), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := chromedp.Do(browser, chromedp.Navigate("file://"+source)); err != nil {
		t.Fatalf("Chromium does not open the map: %v", err)
	}
	yes := true
	printed, err := chromedp.Call(browser, page.PrintToPDF, page.PrintToPDFParams{PreferCSSPageSize: &yes, PrintBackground: &yes})
	if err != nil {
		t.Fatalf("Chromium does not print the map: %v", err)
	}
	if err := os.WriteFile(pdf, printed.Data, 0o600); err != nil {
		t.Fatal(err)
	}
	return pdf
}

// stroke is one path of the PDF: its extent in mm of the page.
type stroke struct {
	box   rect
	fill  bool
	width float64 // of the pen, mm
}

var (
	pathElement = regexp.MustCompile(`<path style="([^"]*)" d="([^"]*)"(?: transform="matrix\(([^)]*)\)")?/>`)
	penWidth    = regexp.MustCompile(`stroke-width:([0-9.]+)`)
	sizeElement = regexp.MustCompile(`<svg [^>]*width="([0-9.]+)pt" height="([0-9.]+)pt"`)
)

// strokesOf gives the size of a page and its paths, in mm.
func strokesOf(t *testing.T, pdf string, number int) (w, h float64, all []stroke) {
	t.Helper()
	const mm = 25.4 / 72
	page := fmt.Sprint(number)
	// Without these, poppler shrinks a page to whole points and lays it in their middle.
	svg, err := exec.Command("pdftocairo", "-svg", "-noshrink", "-nocenter", "-f", page, "-l", page, pdf, "-").Output()
	if err != nil {
		t.Fatalf("pdftocairo, page %s: %v", page, err)
	}
	size := sizeElement.FindSubmatch(svg)
	if size == nil {
		t.Fatalf("page %s has no size", page)
	}
	w, h = number64(t, string(size[1]))*mm, number64(t, string(size[2]))*mm
	_, drawn, _ := strings.Cut(string(svg), "</defs>")
	for _, p := range pathElement.FindAllStringSubmatch(drawn, -1) {
		matrix := [6]float64{1, 0, 0, 1, 0, 0}
		if p[3] != "" {
			for i, s := range strings.Split(p[3], ",") {
				matrix[i] = number64(t, strings.TrimSpace(s))
			}
		}
		s := stroke{fill: !strings.Contains(p[1], "fill:none")}
		if pen := penWidth.FindStringSubmatch(p[1]); pen != nil {
			s.width = number64(t, pen[1]) * matrix[0] * mm
		}
		x0, y0, x1, y1 := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
		var pair []float64
		for _, field := range strings.Fields(p[2]) {
			v, err := strconv.ParseFloat(field, 64)
			if err != nil {
				continue // a letter
			}
			if pair = append(pair, v); len(pair) == 2 {
				x := (matrix[0]*pair[0] + matrix[2]*pair[1] + matrix[4]) * mm
				y := (matrix[1]*pair[0] + matrix[3]*pair[1] + matrix[5]) * mm
				x0, y0, x1, y1 = math.Min(x0, x), math.Min(y0, y), math.Max(x1, x), math.Max(y1, y)
				pair = pair[:0]
			}
		}
		s.box = rect{x0, y0, x1 - x0, y1 - y0}
		all = append(all, s)
	}
	return w, h, all
}

func number64(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// wrapOf gives π(D + p), at which the paper closes.
func wrapOf(r *project.Result) float64 {
	return math.Pi * float64(r.Cylinder.DiameterMm+r.Cylinder.PaperMm)
}

// measure checks one printed sheet and gives the worst distance of a hole from where it belongs.
func measure(t *testing.T, pdf string, number int, sheet printedSheet, wrap float64) (worst float64) {
	t.Helper()
	w, h, strokes := strokesOf(t, pdf, number)
	if !near(w, sheet.width, 0.3) || !near(h, sheet.height, 0.3) {
		t.Errorf("page %d is %.2f × %.2f mm, want %.2f × %.2f", number, w, h, sheet.width, sheet.height)
	}
	var holes, meets []stroke
	across, down := math.NaN(), math.NaN()
	for _, s := range strokes {
		diameter := 2 * sheet.circles[0].r
		switch {
		case s.fill && near(s.width, 0.08, 0.002) && near(s.box.w, diameter, 0.01) && near(s.box.h, diameter, 0.01):
			holes = append(holes, s)
		case !s.fill && near(s.width, 0.12, 0.002) && near(s.box.w, 1.2, 0.01) && near(s.box.h, 1.2, 0.01):
			meets = append(meets, s)
		case near(s.width, 0.1, 0.002) && near(s.box.w, 100, 1): // the end marks, one path for both
			across = s.box.w
		case near(s.width, 0.1, 0.002) && near(s.box.h, 100, 1):
			down = s.box.h
		}
	}
	if !near(across, 100, 0.05) || !near(down, 100, 0.05) {
		t.Errorf("page %d: the rulers measure %.3f mm across and %.3f mm down, want 100 ± 0.05", number, across, down)
	}
	checkMeeting(t, number, meets, sheet, wrap)
	if len(holes) != len(sheet.circles) {
		t.Fatalf("page %d has %d holes, want %d", number, len(holes), len(sheet.circles))
	}
	for i, c := range sheet.circles { // Chromium draws in the order of the page
		x, y := holes[i].box.x+holes[i].box.w/2, holes[i].box.y+holes[i].box.h/2
		off := math.Hypot(x-c.x, y-c.y)
		x0, y0 := holes[0].box.x+holes[0].box.w/2, holes[0].box.y+holes[0].box.h/2
		step := math.Hypot(x-x0-(c.x-sheet.circles[0].x), y-y0-(c.y-sheet.circles[0].y))
		if off > 0.1 || step > 0.05 {
			t.Errorf("page %d: hole %d lies at %.3f, %.3f, want %.3f, %.3f", number, c.pin, x, y, c.x, c.y)
		}
		worst = math.Max(worst, off)
	}
	return worst
}

// checkListPage checks that the page after the sheets is a table page of the same paper and that no blank page came
// between.
func checkListPage(t *testing.T, pdf string, number int, paper Paper) {
	t.Helper()
	page := fmt.Sprint(number)
	text, err := exec.Command("pdftotext", "-f", page, "-l", page, pdf, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(text), "tables to the drill map") {
		t.Errorf("page %d is not the first page of tables: %.80q", number, text)
	}
	w, h, _ := strokesOf(t, pdf, number)
	if wantW, wantH := paper.size(false); !near(w, wantW, 0.3) || !near(h, wantH, 0.3) {
		t.Errorf("page %d is %.2f × %.2f mm, want %.2f × %.2f", number, w, h, wantW, wantH)
	}
}

// checkMeeting checks that the marks that must meet are printed in their places, and that where both of a pair are on one
// sheet they lie π(D + p) apart, to 0.1 mm, at the same height.
func checkMeeting(t *testing.T, number int, printed []stroke, sheet printedSheet, wrap float64) {
	t.Helper()
	if len(printed) != len(sheet.meets) {
		t.Fatalf("page %d has %d marks that must meet, want %d", number, len(printed), len(sheet.meets))
	}
	found := map[string][2]float64{}
	for name, at := range sheet.meets {
		for _, s := range printed {
			if x, y := s.box.x+s.box.w/2, s.box.y+s.box.h/2; math.Hypot(x-at[0], y-at[1]) < 0.1 {
				found[name] = [2]float64{x, y}
			}
		}
		if _, ok := found[name]; !ok {
			t.Errorf("page %d: the mark %q is not printed at %v", number, name, at)
		}
	}
	for name, from := range found {
		letter, first := strings.CutSuffix(name, " 0")
		if to, both := found[letter+" 360"]; first && both && (!near(to[0]-from[0], wrap, 0.1) || !near(to[1], from[1], 0.05)) {
			t.Errorf("page %d: the marks %s lie %.3f mm apart and %.3f mm off in height, want %.3f and 0", number, letter, to[0]-from[0], to[1]-from[1], wrap)
		}
	}
}
