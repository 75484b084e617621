package bench

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"golang.org/x/net/html"
	"pgregory.net/rapid"

	"pinwright/pinmap"
	"pinwright/pinmap/indexing"
)

func TestDrillingOrder(t *testing.T) {
	for _, test := range []struct {
		name string
		pins []pinmap.Pin
		want []int // indices
	}{
		{"none", nil, []int{}},
		{"bass end first", []pinmap.Pin{{Tooth: 3, AngleDeg: 1}, {Tooth: 1, AngleDeg: 2}, {Tooth: 2, AngleDeg: 3}}, []int{1, 2, 0}},
		{"always the same way", []pinmap.Pin{{Tooth: 1, AngleDeg: 5}, {Tooth: 2, AngleDeg: 4}, {Tooth: 1, AngleDeg: 350}, {Tooth: 2, AngleDeg: 6}}, []int{0, 2, 1, 3}},
		{"by angle, whatever the numbers", []pinmap.Pin{{Tooth: 1, AngleDeg: 90}, {Tooth: 1, AngleDeg: 10}}, []int{1, 0}},
	} {
		if got := indexing.Order(test.pins); !slices.Equal(got, test.want) {
			t.Errorf("%s: %v, want %v", test.name, got, test.want)
		}
	}
}

// TestDrillingOrderLaws holds for any cylinder: each hole once; the tracks from the bass end, each in one way round; the map
// and its table number the holes so.
func TestDrillingOrderLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyResult(t)
		order := indexing.Order(r.Pins)
		if each := slices.Sorted(slices.Values(order)); len(each) != len(r.Pins) || len(slices.Compact(each)) != len(r.Pins) {
			t.Fatalf("%d pins are drilled as %v", len(r.Pins), order)
		}
		for n := 1; n < len(order); n++ {
			a, b := r.Pins[order[n-1]], r.Pins[order[n]]
			if a.Tooth > b.Tooth || a.Tooth == b.Tooth && a.AngleDeg > b.AngleDeg {
				t.Fatalf("hole %d, %+v, comes after %+v", n+1, b, a)
			}
		}
		var page strings.Builder
		if err := DrillMap(&page, r, A3); err != nil {
			t.Fatal(err)
		}
		circle := regexp.MustCompile(`data-pin="(\d+)" data-hole="(\d+)"`)
		for _, m := range circle.FindAllStringSubmatch(page.String(), -1) {
			pin, _ := strconv.Atoi(m[1])
			hole, _ := strconv.Atoi(m[2])
			if hole < 1 || hole > len(order) || r.Pins[order[hole-1]].Pin != pin {
				t.Fatalf("pin %d is hole %d on the map", pin, hole)
			}
		}
	})
}

// TestHoleTables reads the two tables of holes: both have every hole, with its number on the map, its pin and a box to tick.
func TestHoleTables(t *testing.T) {
	r := result(compact(), 18, tuneful(18, 110, 18))
	m := write(t, r, A4)
	rows := map[string][][]string{}
	heading := ""
	each(t, m, func(n *html.Node) {
		switch n.Data {
		case "h2":
			heading = textOf(n)
		case "tr":
			var cells []string
			for c := range n.ChildNodes() {
				if c.Data != "td" {
					continue
				}
				if c.FirstChild != nil && c.FirstChild.Data == "i" {
					cells = append(cells, "box")
				} else {
					cells = append(cells, strings.TrimSpace(textOf(c)))
				}
			}
			if cells != nil {
				rows[strings.TrimSpace(heading)] = append(rows[strings.TrimSpace(heading)], cells)
			}
		}
	})
	order := indexing.Order(r.Pins)
	drilling, angle := rows["Holes in drilling order"], rows["Holes by angle"]
	if len(drilling) != len(order) || len(angle) != len(order) {
		t.Fatalf("%d and %d rows, want %d", len(drilling), len(angle), len(order))
	}
	numbers := drillingNumbers(r.Pins)
	for n := range order {
		for _, row := range []struct {
			cells []string
			hole  int
			pin   pinmap.Pin
		}{{drilling[n], n + 1, r.Pins[order[n]]}, {angle[n], numbers[n], r.Pins[n]}} {
			want := []string{"box", strconv.Itoa(row.hole), strconv.Itoa(row.pin.Pin), strconv.Itoa(row.pin.Tooth)}
			if !slices.Equal(row.cells[:4], want) {
				t.Errorf("a row is %v, want it to begin with %v", row.cells, want)
			}
		}
	}
}

// TestFrame compares the drawing spaces with ISO 5457:1999, table 1: width and height; the frame is 20 mm from the left edge and
// 10 mm from the others. For A4 and A3 that lie the other way round the margins are the same. Letter is ours, 10 mm all round.
func TestFrame(t *testing.T) {
	for _, test := range []struct {
		paper      Paper
		lies       bool
		x, y, w, h float64
	}{
		{A4, false, 20, 10, 180, 277},
		{A3, true, 20, 10, 390, 277},
		{A4, true, 20, 10, 267, 190},
		{Letter, false, 10, 10, 195.9, 259.4},
	} {
		if got := test.paper.frame(test.lies); !near(got.x, test.x, 1e-9) || !near(got.y, test.y, 1e-9) || !near(got.w, test.w, 1e-9) || !near(got.h, test.h, 1e-9) {
			t.Errorf("the frame of %s is %v, want %v", test.paper, got, test)
		}
	}
}

// TestGridFields counts the fields of the grid references: 8 by 6 on A3, 6 by 4 on A4 (ISO 5457, a table of a public page on
// it), all 50 mm but the last at either end.
func TestGridFields(t *testing.T) {
	for _, test := range []struct {
		name             string
		from, to, centre float64
		want             int
	}{{"A3 across", 20, 410, 210, 8}, {"A3 down", 10, 287, 148.5, 6}, {"A4 across", 20, 200, 105, 4}, {"A4 down", 10, 287, 148.5, 6}} {
		fields := gridFields(test.from, test.to, test.centre)
		if len(fields) != test.want || fields[0].from != test.from || fields[len(fields)-1].to != test.to {
			t.Errorf("%s: %v, want %d fields", test.name, fields, test.want)
		}
		for i, f := range fields {
			if i > 0 && f.from != fields[i-1].to || i > 0 && i < len(fields)-1 && !near(f.size(), 50, 1e-9) {
				t.Errorf("%s: field %d is %v", test.name, i+1, f)
			}
		}
	}
}

// TestIdentification holds that the number is that of the holes: it changes with what is drilled, not with what it is called.
func TestIdentification(t *testing.T) {
	base := func() Job { return Job{Result: result(compact(), 18, tuneful(18, 40, 18))} }
	number := identification(base().Result)
	if !regexp.MustCompile(`^[0-9A-F]{6}-[0-9A-F]{6}$`).MatchString(number) {
		t.Errorf("the number is %q", number)
	}
	for name, test := range map[string]struct {
		change func(Job)
		same   bool
	}{
		"another title":    {func(j Job) { j.Result.Title = "Another" }, true},
		"a moved hole":     {func(j Job) { j.Result.Pins[7].AngleDeg += 0.001 }, false},
		"one hole fewer":   {func(j Job) { j.Result.Pins = j.Result.Pins[1:] }, false},
		"another cylinder": {func(j Job) { j.Result.Cylinder.DiameterMm = 14 }, false},
		"the other hand":   {func(j Job) { j.Result.Cylinder.Turns = pinmap.Down }, false},
	} {
		j := base()
		test.change(j)
		if got := identification(j.Result); (got == number) != test.same {
			t.Errorf("%s: the number is %s, was %s", name, got, number)
		}
	}
}
