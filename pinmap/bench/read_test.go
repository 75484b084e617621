package bench

import (
	"bytes"
	"math"
	"strconv"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"pinwright/pinmap/project"
)

// printedMap is what can be read back from a drill map.
type printedMap struct {
	raw    string
	sheets []printedSheet
}

// printedSheet is one sheet as it was written, in mm of the sheet.
type printedSheet struct {
	width, height float64
	circles       []printedHole
	marks         map[string][2]float64
	meets         map[string][2]float64 // the marks that must meet, by letter and angle, such as "a 360"
	text          string
}

// printedHole is one circle.
type printedHole struct {
	x, y, r    float64
	pin, tooth int
	angle      float64
}

// write gives a drill map as it is written, read back.
func write(t testing.TB, r *project.Result, paper Paper) printedMap {
	t.Helper()
	var b bytes.Buffer
	if err := DrillMap(&b, r, paper); err != nil {
		t.Fatalf("DrillMap: %v", err)
	}
	return readMap(t, b.String())
}

type fataler interface {
	Helper()
	Fatalf(string, ...any)
}

func readMap(t fataler, raw string) printedMap {
	t.Helper()
	doc, err := html.Parse(strings.NewReader(raw))
	if err != nil {
		t.Fatalf("the map is no HTML: %v", err)
	}
	m := printedMap{raw: raw}
	number := func(n *html.Node, key string) float64 {
		v, err := strconv.ParseFloat(strings.TrimSuffix(attr(n, key), "mm"), 64)
		if err != nil {
			t.Fatalf("%s of a %s: %v", key, n.Data, err)
		}
		return v
	}
	for n := range doc.Descendants() {
		switch {
		case n.Type == html.ElementNode && n.Data == "section" && attr(n, "class") == "sheet":
			m.sheets = append(m.sheets, printedSheet{marks: map[string][2]float64{}, meets: map[string][2]float64{}, text: textOf(n)})
		case n.Type != html.ElementNode || len(m.sheets) == 0:
		case n.Data == "svg":
			s := &m.sheets[len(m.sheets)-1]
			s.width, s.height = number(n, "width"), number(n, "height")
			if want := "0 0 " + trim(s.width) + " " + trim(s.height); attr(n, "viewBox") != want {
				t.Fatalf("viewBox is %q, want %q: one unit one millimetre", attr(n, "viewBox"), want)
			}
		case n.Data == "circle":
			s := &m.sheets[len(m.sheets)-1]
			for up := n; up != nil; up = up.Parent {
				if attr(up, "transform") != "" {
					t.Fatalf("a hole stands under a transform, %q", attr(up, "transform"))
				}
			}
			s.circles = append(s.circles, printedHole{number(n, "cx"), number(n, "cy"), number(n, "r"),
				int(number(n, "data-pin")), int(number(n, "data-tooth")), number(n, "data-angle-deg")})
		case attr(n, "data-mark") != "":
			var x1, y1, x2, y2 float64
			if _, err := sscan(attr(n, "d"), &x1, &y1, &x2, &y2); err != nil {
				t.Fatalf("match mark %q: %v", attr(n, "d"), err)
			}
			m.sheets[len(m.sheets)-1].marks[attr(n, "data-mark")] = [2]float64{(x1 + x2) / 2, (y1 + y2) / 2}
		case attr(n, "data-meet") != "":
			var left, y, x, top, right float64
			if _, err := sscan(attr(n, "d"), &left, &y, &x, &top, &right); err != nil {
				t.Fatalf("mark that must meet another %q: %v", attr(n, "d"), err)
			}
			m.sheets[len(m.sheets)-1].meets[attr(n, "data-meet")] = [2]float64{(left + right) / 2, y}
		}
	}
	return m
}

// sscan reads the numbers of a path's data, whatever letters stand between them, into the places given.
func sscan(d string, places ...*float64) (int, error) {
	fields := strings.FieldsFunc(d, func(r rune) bool { return !strings.ContainsRune("0123456789.-", r) })
	for i, p := range places {
		v, err := strconv.ParseFloat(fields[i], 64)
		if err != nil {
			return i, err
		}
		*p = v
	}
	return len(places), nil
}

func attr(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if strings.EqualFold(a.Key, key) {
			return a.Val
		}
	}
	return ""
}

func textOf(n *html.Node) string {
	var b strings.Builder
	for c := range n.Descendants() {
		if c.Type == html.TextNode {
			b.WriteString(c.Data + " ")
		}
	}
	return b.String()
}

func near(a, b, tolerance float64) bool { return math.Abs(a-b) <= tolerance }

// facesOf gives where, down the first sheet, the two faces of the cylinder are printed, as their labels say: the label
// lies outside the edge that it names.
func facesOf(t testing.TB, m printedMap) (bass, treble float64) {
	t.Helper()
	var edges []float64
	labels := map[string]float64{}
	each(t, m, func(n *html.Node) {
		if n.Data == "path" && attr(n, "class") == "cut" {
			var x, y float64
			if _, err := sscan(attr(n, "d"), &x, &y); err != nil {
				t.Fatal(err)
			}
			edges = append(edges, y)
		}
		if n.Data == "text" {
			labels[textOf(n)], _ = strconv.ParseFloat(attr(n, "y"), 64)
		}
	})
	if len(edges) != 2 {
		t.Fatalf("%d faces are drawn, want 2", len(edges))
	}
	upper, lower := min(edges[0], edges[1]), max(edges[0], edges[1])
	switch b, tr := labels["bass end "], labels["treble end "]; {
	case b > lower && tr < upper && tr > 0:
		return lower, upper
	case tr > lower && b < upper && b > 0:
		return upper, lower
	default:
		t.Fatalf("labels at %.1f (bass) and %.1f (treble) name no edge of %.1f to %.1f", b, tr, upper, lower)
	}
	return 0, 0
}

// datumOf gives where, across the first sheet, the datum line at 0° is printed.
func datumOf(t testing.TB, m printedMap) float64 {
	t.Helper()
	least := math.Inf(1)
	each(t, m, func(n *html.Node) {
		if n.Data == "path" && attr(n, "class") == "datum" {
			var x float64
			if _, err := sscan(attr(n, "d"), &x); err != nil {
				t.Fatal(err)
			}
			least = min(least, x)
		}
	})
	if math.IsInf(least, 1) {
		t.Fatal("no datum line is drawn")
	}
	return least
}

func each(t testing.TB, m printedMap, do func(*html.Node)) {
	t.Helper()
	doc, err := html.Parse(strings.NewReader(m.raw))
	if err != nil {
		t.Fatal(err)
	}
	for n := range doc.Descendants() {
		if n.Type == html.ElementNode {
			do(n)
		}
	}
}
