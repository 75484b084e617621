package arrange

import "testing"

// TestBelow: a known way bounds those that have no more teeth on any row, but not one that stands for others of its cost as well.
func TestBelow(t *testing.T) {
	known := way{teeth: []int{2, 1}, sum: 3, bound: 500, known: true}
	for _, row := range []struct {
		name string
		way  way
		want int
	}{
		{"fewer teeth", way{teeth: []int{1, 1}, sum: 2, bound: 900}, 500},
		{"fewer, but more on one row", way{teeth: []int{0, 2}, sum: 2, bound: 900}, 900},
		{"less already", way{teeth: []int{1, 0}, sum: 1, bound: 300}, 300},
		{"standing for others", way{teeth: []int{1, 1}, sum: 2, bound: 900, stands: true}, 900},
	} {
		ways := []way{row.way, known}
		if below(ways, &ways[1]); ways[0].bound != row.want {
			t.Errorf("%s: bound %d, want %d", row.name, ways[0].bound, row.want)
		}
	}
}
