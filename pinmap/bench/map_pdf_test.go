package bench

import (
	"bytes"
	"maps"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange/phrase"
	"pinwright/pinmap/indexing"
	"pinwright/pinmap/project"
)

// writePDF writes the map of a job as a PDF and gives the file.
func writePDF(t testing.TB, j Job) string {
	t.Helper()
	var b bytes.Buffer
	if err := drillMapPDF(&b, j); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "map.pdf")
	if err := os.WriteFile(file, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return file
}

// poppler runs one of poppler's tools, which must have no complaint.
func poppler(t *testing.T, tool string, arguments ...string) string {
	t.Helper()
	command := exec.Command(tool, arguments...)
	var complaint bytes.Buffer
	command.Stderr = &complaint
	out, err := command.Output()
	if err != nil || complaint.Len() > 0 {
		t.Fatalf("%s: %v %s", tool, err, complaint.String())
	}
	return string(out)
}

// TestPDFIsMeasured measures our own PDF as the printed page is measured: pages, rulers to 0.05 mm, every hole to 0.1 mm, the
// marks that must meet; on the demo and ten real tunes, and on other cylinders and papers.
func TestPDFIsMeasured(t *testing.T) {
	judged(t, "the map as a PDF", "pdftocairo", "pdfinfo", "pdftotext", "pdffonts")
	wide := compact()
	wide.DiameterMm, wide.Turns = 120, "down"
	long := compact()
	long.DiameterMm, long.ToothSpacingMm = 40, 3
	type row struct {
		name   string
		r      *project.Result
		paper  Paper
		sheets int // 0: any
	}
	rows := []row{}
	jobs := realJobs(t)
	for _, name := range slices.Sorted(maps.Keys(jobs)) {
		rows = append(rows, row{name, jobs[name].Result, A4, 0})
	}
	small, large := result(compact(), 18, tuneful(18, 110, 18)), blocked(result(wide, 60, tuneful(60, 300, 18)), 9)
	rows = append(rows,
		row{"compact cylinder on A4", small, A4, 1}, row{"compact cylinder on A3", small, A3, 1}, row{"compact cylinder on Letter", small, Letter, 1},
		row{"120 mm cylinder on A4", large, A4, 2}, row{"120 mm cylinder on A3", large, A3, 2}, row{"120 mm cylinder on Letter", large, Letter, 2},
		row{"a long cylinder on A4", result(long, 72, tuneful(72, 300, 18)), A4, 2},
	)
	for _, test := range rows {
		t.Run(test.name, func(t *testing.T) {
			m := write(t, test.r, test.paper)
			if test.sheets != 0 && len(m.sheets) != test.sheets {
				t.Fatalf("the map takes %d sheets, want %d", len(m.sheets), test.sheets)
			}
			pdf := writePDF(t, Job{Result: test.r, Paper: test.paper})
			worst := 0.0
			for n, sheet := range m.sheets {
				worst = math.Max(worst, measure(t, pdf, n+1, sheet, wrapOf(test.r)))
			}
			t.Logf("worst distance of a printed hole from where it belongs: %.4f mm", worst)
			checkListPage(t, pdf, len(m.sheets)+1, test.paper)
			for _, line := range strings.Split(strings.TrimSpace(poppler(t, "pdffonts", pdf)), "\n")[2:] {
				if fields := strings.Fields(line); fields[len(fields)-5] != "yes" || fields[len(fields)-3] != "yes" {
					t.Errorf("a font is not embedded, or its letters are not named: %s", line)
				}
			}
			checkHoleRows(t, pdf, test.r)
		})
	}
}

// checkHoleRows reads the table in drilling order back from the PDF: each hole once, in order, with its pin, angle, arc and
// axial distance.
func checkHoleRows(t *testing.T, pdf string, r *project.Result) {
	t.Helper()
	_, table, ok := strings.Cut(poppler(t, "pdftotext", "-layout", pdf, "-"), "Holes in drilling order")
	if !ok {
		t.Fatal("there is no table in drilling order")
	}
	table, _, _ = strings.Cut(table, "Holes by angle")
	row := regexp.MustCompile(`^\s*(\d+)\s+(\d+)\s+(\d+)\s+\S+\s+([\d.]+)\s+([\d.]+)\s+([\d.]+)\s+-?\d+\s+[\d.]+$`)
	n := 0
	order := indexing.Order(r.Pins)
	for line := range strings.Lines(table) {
		fields := row.FindStringSubmatch(strings.TrimRight(line, "\n"))
		if fields == nil {
			continue
		}
		if n == len(order) {
			t.Fatalf("a row too many: %s", line)
		}
		pin := r.Pins[order[n]]
		n++
		for i, want := range []float64{float64(n), float64(pin.Pin), float64(pin.Tooth), float64(pin.AngleDeg), float64(pin.ArcMm), float64(pin.AxialMm)} {
			if got := number64(t, fields[i+1]); !near(got, want, 0.00051) {
				t.Errorf("row %d of the holes is %q, want %v in place %d", n, line, want, i+1)
			}
		}
	}
	if n != len(order) {
		t.Errorf("the table has %d holes, want %d", n, len(order))
	}
}

// TestPDFSaysWhatTheSheetSays reads the words of both maps of one job: those of a sheet are the same but for where lines
// break, and the title block has every field that ISO 7200 makes mandatory.
func TestPDFSaysWhatTheSheetSays(t *testing.T) {
	judged(t, "the words of the PDF", "pdftotext", "pdfinfo")
	c := compact()
	c.DiameterMm = 120
	r := blocked(result(c, 60, tuneful(60, 300, 18)), 9)
	r.Setup.Date = "2024-03-01"
	j := Job{Result: r, Paper: A4, Revision: 7, Link: sampleLink}
	var page strings.Builder
	if err := drillMap(&page, j); err != nil {
		t.Fatal(err)
	}
	link := regexp.MustCompile(`(?s)<div class="link">.*?</svg>`)
	m := readMap(t, link.ReplaceAllString(page.String(), "<div>")) // without the code's drawing, which is no sheet's
	pdf := writePDF(t, j)
	letters := func(s string) string {
		// How words are broken into lines differs, and so does the order in which parts of a sheet are read.
		all := strings.Split(strings.Join(strings.Fields(strings.ReplaceAll(s, "•", "")), ""), "")
		slices.Sort(all)
		return strings.Join(all, "")
	}
	for n, sheet := range m.sheets {
		text := poppler(t, "pdftotext", "-layout", "-f", strconv.Itoa(n+1), "-l", strconv.Itoa(n+1), pdf, "-")
		if got, want := letters(text), letters(sheet.text); got != want {
			t.Errorf("sheet %d: the PDF's words have other letters than the page's:\n%s\n%s", n+1, got, want)
		}
		for _, want := range []string{"Legal owner", "Created by", "Approved by", "Document type", "Drill map", "Title", "The tinker's morning",
			"Identification number", identification(r), "Revision", "Date of issue", "2024-03-01", "Sheet", strconv.Itoa(n+1) + " of 2", "not given"} {
			if !strings.Contains(text, want) || !strings.Contains(sheet.text, want) {
				t.Errorf("sheet %d does not say %q", n+1, want)
			}
		}
	}
	info := poppler(t, "pdfinfo", "-rawdates", pdf)
	for _, want := range []string{"Drill map: The tinker's morning", "D:20240301000000", "JavaScript:      no", "Encrypted:       no"} {
		if !strings.Contains(info, want) {
			t.Errorf("the PDF's own data lack %q:\n%s", want, info)
		}
	}
}

// TestPDFTitles prints titles in scripts that the font has and in those that it lacks: what it lacks shows as the sign of
// replacement, and stays whole in the PDF's own data.
func TestPDFTitles(t *testing.T) {
	judged(t, "the titles of the PDF", "pdftotext", "pdfinfo")
	for _, test := range []struct{ name, title, printed string }{
		{"Latin", "Žluťoučký kůň, œuvre", "Žluťoučký kůň, œuvre"},
		{"Cyrillic and Greek", "Колыбельная Ωδή", "Колыбельная Ωδή"},
		{"what the font lacks", "夜曲 Nocturne 🎶", "�� Nocturne �"},
		{"a PDF's own signs", `) /OpenAction << /S /JavaScript >> (\`, `) /OpenAction << /S /JavaScript >> (\`},
		{"a carriage return within a letter", "čč ഍ č", "čč � č"}, // U+0D0D: both bytes are that of a return
	} {
		t.Run(test.name, func(t *testing.T) {
			r := result(compact(), 18, tuneful(18, 20, 18))
			r.Title = test.title
			pdf := writePDF(t, Job{Result: r})
			if text := poppler(t, "pdftotext", "-l", "1", pdf, "-"); !strings.Contains(text, test.printed) {
				t.Errorf("the sheet does not say %q:\n%s", test.printed, text)
			}
			info := poppler(t, "pdfinfo", pdf)
			if !strings.Contains(info, "Drill map: "+test.title+"\n") || !strings.Contains(info, "JavaScript:      no") {
				t.Errorf("the PDF's own data have not the title %q:\n%s", test.title, info)
			}
		})
	}
}

// TestPDFLaws holds for any cylinder: the same job gives the same bytes, and at least one page of tables follows the sheets.
func TestPDFLaws(t *testing.T) {
	pages := regexp.MustCompile(`/Type /Pages\n/Kids \[[^]]*\]\n/Count (\d+)`)
	rapid.Check(t, func(t *rapid.T) {
		j := Job{Result: anyResult(t), Paper: rapid.SampledFrom([]Paper{A4, A3, Letter}).Draw(t, "paper")}
		for i, s := range []*string{&j.Result.Title, &j.Result.Tune.Title, &j.Result.Setup.Date, &j.FileName, &j.Result.Comb.Teeth[0].Note, &j.Result.Comb.Teeth[0].GovernedBy} {
			*s = rapid.String().Draw(t, "words "+strconv.Itoa(i))
		}
		blocked(j.Result, rapid.IntRange(0, 7).Draw(t, "findings"))
		j.Result.Findings[0].Text = phrase.Text(rapid.String().Draw(t, "finding"))
		j.Link = rapid.SampledFrom([]string{"", sampleLink}).Draw(t, "link")
		var first, second bytes.Buffer
		for _, b := range []*bytes.Buffer{&first, &second} {
			if err := drillMapPDF(b, j); err != nil {
				t.Fatal(err)
			}
		}
		if !bytes.Equal(first.Bytes(), second.Bytes()) {
			t.Fatal("the same job gave two different PDFs")
		}
		count := pages.FindSubmatch(first.Bytes())
		if count == nil {
			t.Fatal("the PDF does not count its pages")
		}
		if n, _ := strconv.Atoi(string(count[1])); n <= newMap(j).plan.sheets() {
			t.Fatalf("%d pages, with %d sheets", n, newMap(j).plan.sheets())
		}
	})
}

func BenchmarkDrillMapPDF(b *testing.B) {
	big := compact()
	big.DiameterMm = 400
	for _, bench := range []struct {
		name string
		r    *project.Result
	}{
		{"18 teeth, 110 pins", result(compact(), 18, tuneful(18, 110, 18))},
		{"144 teeth, 20000 pins", result(big, 144, tuneful(144, 20000, 18))},
	} {
		b.Run(bench.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if err := drillMapPDF(&bytes.Buffer{}, Job{Result: bench.r}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
