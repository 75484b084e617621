// Package solid makes the solids that are printed: the pinned cylinder, the discs that close it, and a comb and base to try it with.
package solid

import "pinwright/arrange/unit"

// Mesh is the surface of one or more closed shells, in mm. Triangles run counter-clockwise seen from outside; in each shell every edge
// belongs to two triangles, which run along it in opposite directions. No two vertices of a shell are equal.
type Mesh struct {
	Vertices  []Vertex
	Triangles []Triangle
}

// Vertex is x, y and z.
type Vertex [3]float32

// Triangle holds the indexes of its corners.
type Triangle [3]int32

// vertex adds a place, rounded to a millionth of a millimetre as all that is put out.
func (m *Mesh) vertex(x, y, z float64) int32 {
	place := func(v float64) float32 { return float32(unit.Round(v)) }
	m.Vertices = append(m.Vertices, Vertex{place(x), place(y), place(z)})
	return int32(len(m.Vertices) - 1)
}

func (m *Mesh) triangle(a, b, c int32) { m.Triangles = append(m.Triangles, Triangle{a, b, c}) }

// quad adds a, b, c, d, counter-clockwise seen from outside, as two triangles.
func (m *Mesh) quad(a, b, c, d int32) {
	m.triangle(a, b, c)
	m.triangle(a, c, d)
}

// mirror changes the sign of y, and the sense of each triangle with it.
func (m *Mesh) mirror() {
	for i := range m.Vertices {
		m.Vertices[i][1] = 0 - m.Vertices[i][1] // no negative zero
	}
	for i, t := range m.Triangles {
		m.Triangles[i] = Triangle{t[0], t[2], t[1]}
	}
}
