package solid

import (
	"math"
	"slices"
)

// grid is a block of cells, some of them full, between lines in three directions. Where it is round, the last cells in the second direction meet
// the first.
type grid struct {
	cells [3]int
	round bool
	full  func(i, j, k int) bool
	at    func(i, j, k int) (x, y, z float64) // where lines cross, right-handed
}

// mesh gives the surface of the full cells: one quad for each face between a full cell and an empty one. It is closed; full cells must not meet in
// an edge or a corner alone.
func (g grid) mesh(m *Mesh) {
	lines := g.cells
	for axis := range lines {
		if axis != 1 || !g.round {
			lines[axis]++
		}
	}
	known := make([]int32, lines[0]*lines[1]*lines[2]) // one more than the vertex
	corner := func(c [3]int) int32 {
		c[1] %= lines[1]
		v := &known[(c[0]*lines[1]+c[1])*lines[2]+c[2]]
		if *v == 0 {
			*v = m.vertex(g.at(c[0], c[1], c[2])) + 1
		}
		return *v - 1
	}
	full := func(c [3]int) bool {
		if g.round {
			c[1] = (c[1] + g.cells[1]) % g.cells[1]
		}
		for axis, n := range g.cells {
			if c[axis] < 0 || c[axis] >= n {
				return false
			}
		}
		return g.full(c[0], c[1], c[2])
	}
	for i := range g.cells[0] {
		for j := range g.cells[1] {
			for k := range g.cells[2] {
				cell := [3]int{i, j, k}
				if !full(cell) {
					continue
				}
				for axis := range 3 {
					u, v := (axis+1)%3, (axis+2)%3
					for side := range 2 {
						next, c := cell, cell
						next[axis] += 2*side - 1
						if full(next) {
							continue
						}
						c[axis] += side
						var face [4]int32
						for q, step := range [4][2]int{{0, 0}, {1, 0}, {1, 1}, {0, 1}} {
							d := c
							d[u] += step[0]
							d[v] += step[1]
							face[q] = corner(d)
						}
						if side == 0 {
							slices.Reverse(face[:])
						}
						m.quad(face[0], face[1], face[2], face[3])
					}
				}
			}
		}
	}
}

// box is a block between two corners.
type box struct{ low, high [3]float64 }

func (b box) holds(p [3]float64) bool {
	for axis, v := range p {
		if v < b.low[axis] || v > b.high[axis] {
			return false
		}
	}
	return true
}

// boxes adds the union of blocks, less others, as one surface.
func (m *Mesh) boxes(add, cut []box) {
	var lines [3][]float64
	for axis := range lines {
		for _, b := range slices.Concat(add, cut) {
			lines[axis] = append(lines[axis], b.low[axis], b.high[axis])
		}
		slices.Sort(lines[axis])
		lines[axis] = slices.CompactFunc(lines[axis], func(a, b float64) bool { return math.Abs(a-b) < clearMm })
	}
	grid{
		cells: [3]int{len(lines[0]) - 1, len(lines[1]) - 1, len(lines[2]) - 1},
		full: func(i, j, k int) bool {
			p := [3]float64{(lines[0][i] + lines[0][i+1]) / 2, (lines[1][j] + lines[1][j+1]) / 2, (lines[2][k] + lines[2][k+1]) / 2}
			holds := func(b box) bool { return b.holds(p) }
			return slices.ContainsFunc(add, holds) && !slices.ContainsFunc(cut, holds)
		},
		at: func(i, j, k int) (x, y, z float64) { return lines[0][i], lines[1][j], lines[2][k] },
	}.mesh(m)
}
