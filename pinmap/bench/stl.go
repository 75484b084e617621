package bench

import (
	"encoding/binary"
	"io"
	"math"

	"pinwright/pinmap/solid"
)

// writeSTL writes binary STL: 80 bytes of header, which must not begin with "solid", the number of triangles, and 50 bytes a triangle: normal, three corners,
// all float32, and two bytes of nothing; little-endian (common practice, the format's original description of 1989, from memory). The unit is the millimetre
// by custom alone.
func writeSTL(w io.Writer, m *solid.Mesh) error {
	const triangle, chunk = 50, 1000
	b := make([]byte, 84, chunk*triangle)
	copy(b, "Binary STL, one unit one millimetre. Pinwright.")
	binary.LittleEndian.PutUint32(b[80:], uint32(len(m.Triangles)))
	for _, t := range m.Triangles {
		p, q, r := m.Vertices[t[0]], m.Vertices[t[1]], m.Vertices[t[2]]
		for _, v := range [4]solid.Vertex{normal(p, q, r), p, q, r} {
			for _, x := range v {
				b = binary.LittleEndian.AppendUint32(b, math.Float32bits(x))
			}
		}
		if b = append(b, 0, 0); len(b) > cap(b)-triangle {
			if _, err := w.Write(b); err != nil {
				return err
			}
			b = b[:0]
		}
	}
	_, err := w.Write(b)
	return err
}

// normal gives the outward normal of a triangle that runs counter-clockwise seen from outside, of length 1.
func normal(p, q, r solid.Vertex) (n solid.Vertex) {
	var u, v, c [3]float64
	for i := range 3 {
		u[i], v[i] = float64(q[i])-float64(p[i]), float64(r[i])-float64(p[i])
	}
	for i := range 3 {
		j, k := (i+1)%3, (i+2)%3
		c[i] = u[j]*v[k] - u[k]*v[j]
	}
	length := math.Sqrt(c[0]*c[0] + c[1]*c[1] + c[2]*c[2])
	for i := range 3 {
		n[i] = float32(c[i] / length)
	}
	return n
}
