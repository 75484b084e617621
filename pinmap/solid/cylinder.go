package solid

import (
	"cmp"
	"math"
	"slices"

	"pinwright/arrange/unit"
	"pinwright/pinmap"
)

const (
	surfaceMm = 0.01  // farthest that a flat facet may lie beneath the true cylinder
	widestDeg = 4.0   // widest facet
	pinMm     = 0.02  // farthest that the side of a pin may lie beneath the true circle
	clearMm   = 0.001 // least room between what is joined in one surface; less would not outlast rounding
	sunkMm    = 0.5   // how deep a pin stands in the cylinder that is a shell of its own
)

// Pinned gives the pinned cylinder alone, with plain ends at z = 0, the bass end, and z = length, at least a pin's diameter, and a bore where it is at
// least a thousandth of a millimetre wide. With the default hand x = R cos θ, y = R sin θ, z = axial distance. Where bass end or turning differs, y
// changes its sign: the mirror image, in which each pin still stands at its own axial distance. Where both differ there is no mirror.
//
// A pin stands radially; it has its diameter at the bare surface and its tip at D/2 + h: a cone a point, a round pin the end that turning to
// length leaves. Facets are chords: flat ones of the cylinder lie within 0.01 mm, those of pins within 0.02 mm of the true surface.
//
// It is all one surface but for pins that have no room of their own: nearer than d on one track, on tracks nearer than d, over the end. Each of
// those is a closed shell, which reaches into the cylinder or the other pin. Two pins in one place are one. n log n in the number of pins.
func Pinned(c pinmap.Cylinder, length, bore unit.Millimetres, shape pinmap.PinShape, pins []pinmap.Pin) *Mesh {
	b := newBuilder(c, length, bore, shape)
	b.build(pins)
	if !c.AxialRunsUp() {
		b.mirror()
	}
	return &b.Mesh
}

// builder makes the cylinder of the default hand. The surface is made of facets with edges along the axis, which lie on the true cylinder, in bands
// round it: one for each track, whose edges stand at the corners of the pins' roots, and one between each two that joins their edges.
type builder struct {
	Mesh
	radius, bore, length, step float64 // step: widest facet, radians
	pin                        pin
}

// pin is the shape of all pins. Its root has corners above and below at the same places along the arc.
type pin struct {
	radius, tip float64
	round       bool
	across, up  []float64 // of the upper corners, from left to right: distance from the pin's axis along the tangent, and along the cylinder's axis
	turn        []float64 // the angle of each at the bare surface
}

// ring is a polygon round the cylinder, by growing angle in radians, the last less than a turn after the first.
type ring struct {
	angle  []float64
	vertex []int32
}

func newBuilder(c pinmap.Cylinder, length, bore unit.Millimetres, shape pinmap.PinShape) *builder {
	b := &builder{radius: float64(c.DiameterMm) / 2, length: float64(max(length, c.PinDiameterMm))}
	if bore >= clearMm {
		b.bore = float64(bore) / 2
	}
	b.step = min(widestDeg*math.Pi/180, 2*math.Acos(1-surfaceMm/b.radius))
	b.pin = pin{radius: float64(c.PinDiameterMm) / 2, tip: float64(c.TipRadiusMm()), round: shape == pinmap.Round}
	quarter := math.Ceil(math.Pi / math.Acos(1-pinMm/b.pin.radius) / 4)
	half := 2 * int(max(quarter, 2))
	for i := range half {
		sin, cos := math.Sincos(math.Pi * (float64(i) + 0.5) / float64(half))
		across := -b.pin.radius * cos
		b.pin.across = append(b.pin.across, across)
		b.pin.up = append(b.pin.up, b.pin.radius*sin)
		b.pin.turn = append(b.pin.turn, math.Asin(across/b.radius))
	}
	return b
}

// reserve makes room for what pins on so many tracks take at most, but for shells of their own.
func (b *builder) reserve(pins, tracks int) {
	corners, around := 2*len(b.pin.across), int(2*math.Pi/b.step)+1
	vertices, triangles := 2*corners+1, 4*corners+2
	if b.pin.round {
		vertices, triangles = vertices+corners, triangles+2*corners
	}
	b.Vertices = make([]Vertex, 0, pins*(vertices+2)+2*around*(tracks+2)+2)
	b.Triangles = make([]Triangle, 0, pins*(triangles+4)+4*around*(tracks+2))
}

func (b *builder) build(pins []pinmap.Pin) {
	order := make([]int, len(pins))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int {
		return cmp.Or(cmp.Compare(pins[i].AxialMm, pins[j].AxialMm), cmp.Compare(pins[i].AngleDeg, pins[j].AngleDeg), cmp.Compare(i, j))
	})
	order = slices.CompactFunc(order, func(i, j int) bool {
		return pins[i].AxialMm == pins[j].AxialMm && math.Abs(float64(pins[i].AngleDeg-pins[j].AngleDeg))*math.Pi/180*b.radius < clearMm
	})
	tracks := 0
	for k, i := range order {
		if k == 0 || pins[i].AxialMm != pins[order[k-1]].AxialMm {
			tracks++
		}
	}
	b.reserve(len(order), tracks)
	bottom := b.plain(b.radius, 0)
	below, free := bottom, clearMm // the edge that the surface has reached, and where the next band may begin
	var loose []int
	for len(order) > 0 {
		z := float64(pins[order[0]].AxialMm)
		n := 1
		for n < len(order) && pins[order[n]].AxialMm == pins[order[0]].AxialMm {
			n++
		}
		track := order[:n]
		order = order[n:]
		if z-b.pin.radius < free || z+b.pin.radius > b.length-clearMm {
			loose = append(loose, track...)
			continue
		}
		var angles []float64
		for _, i := range track {
			angle := float64(pins[i].AngleDeg) * math.Pi / 180
			if len(angles) > 0 && (b.tight(angle-angles[len(angles)-1]) || b.tight(angles[0]+2*math.Pi-angle)) {
				loose = append(loose, i)
				continue
			}
			angles = append(angles, angle)
		}
		lower, upper := b.band(z, angles)
		b.join(below, lower)
		below, free = upper, z+b.pin.radius+clearMm
	}
	top := b.plain(b.radius, b.length)
	b.join(below, top)
	b.ends(bottom, top)
	for _, i := range loose {
		b.shell(float64(pins[i].AngleDeg)*math.Pi/180, float64(pins[i].AxialMm))
	}
}

// tight reports whether two pins on one track, an angle apart, leave no room between their roots.
func (b *builder) tight(angle float64) bool {
	root := b.pin.turn[len(b.pin.turn)-1]
	return (angle-2*root)*b.radius < clearMm
}

// at adds a vertex at an angle, a radius and an axial distance.
func (b *builder) at(angle, radius, z float64) int32 {
	sin, cos := math.Sincos(angle)
	return b.vertex(radius*cos, radius*sin, z)
}

// plain adds a ring of even steps.
func (b *builder) plain(radius, z float64) (r ring) {
	n := int(math.Ceil(2 * math.Pi / b.step))
	for i := range n {
		angle := 2 * math.Pi * float64(i) / float64(n)
		r.angle = append(r.angle, angle)
		r.vertex = append(r.vertex, b.at(angle, radius, z))
	}
	return r
}

// join adds the band between two rings. Their edges are taken in the order in which they face, which makes it the convex hull of both.
func (b *builder) join(below, above ring) {
	low, lowFaces := below.fromDatum()
	high, highFaces := above.fromDatum()
	for i, j := 0, 0; i < len(lowFaces) || j < len(highFaces); {
		if j == len(highFaces) || i < len(lowFaces) && lowFaces[i] <= highFaces[j] {
			b.triangle(low[i], low[i+1], high[j])
			i++
		} else {
			b.triangle(low[i], high[j+1], high[j])
			j++
		}
	}
}

// fromDatum gives the vertices from the edge that is the first to face at 0 or more, that one again at the end, and the angles in which the edges face.
func (r ring) fromDatum() (vertex []int32, faces []float64) {
	n := len(r.angle)
	faces = make([]float64, n)
	first := 0
	for i, angle := range r.angle {
		next := r.angle[0] + 2*math.Pi
		if i < n-1 {
			next = r.angle[i+1]
		}
		middle := (angle + next) / 2
		faces[i] = middle - 2*math.Pi*math.Floor(middle/(2*math.Pi))
		if faces[i] < faces[first] {
			first = i
		}
	}
	return slices.Concat(r.vertex[first:], r.vertex[:first], r.vertex[first:first+1]), slices.Concat(faces[first:], faces[:first])
}

// band adds the band of a track, as wide as its pins, with pins at angles that grow, and gives its edges.
func (b *builder) band(z float64, angles []float64) (lower, upper ring) {
	corners := len(b.pin.turn)
	root := make([]int32, 2*corners) // counter-clockwise from the lower left
	var left, first []int32          // the vertices of the last line along the axis, from below, and of the first
	edges := func(angle float64) (low, high int32) {
		low, high = b.at(angle, b.radius, z-b.pin.radius), b.at(angle, b.radius, z+b.pin.radius)
		lower.angle, lower.vertex = append(lower.angle, angle), append(lower.vertex, low)
		upper.angle, upper.vertex = append(upper.angle, angle), append(upper.vertex, high)
		return low, high
	}
	line := func(angle float64, between ...int32) {
		low, high := edges(angle)
		right := slices.Concat([]int32{low}, between, []int32{high})
		if left != nil {
			b.facet(left, right)
		} else {
			first = right
		}
		left = right
	}
	for i, angle := range angles {
		for k, turn := range b.pin.turn {
			down := b.at(angle+turn, b.radius, z-b.pin.up[k])
			up := b.at(angle+turn, b.radius, z+b.pin.up[k])
			root[k], root[2*corners-1-k] = down, up
			if k == 0 {
				line(angle+turn, down, up)
				continue
			}
			low, high := edges(angle + turn)
			b.quad(left[0], low, down, left[1])
			b.quad(left[2], up, high, left[3])
			left = []int32{low, down, up, high}
		}
		b.stand(angle, z, root)
		next := angles[0] + 2*math.Pi
		if i < len(angles)-1 {
			next = angles[i+1]
		}
		from, to := angle+b.pin.turn[corners-1], next+b.pin.turn[0]
		steps := int(math.Ceil((to - from) / b.step))
		for s := 1; s < steps; s++ {
			line(from + (to-from)*float64(s)/float64(steps))
		}
	}
	b.facet(left, first)
	return lower, upper
}

// facet adds the flat piece between two lines along the axis, each given by its vertices from below.
func (b *builder) facet(left, right []int32) {
	for i, j := 0, 0; i < len(left)-1 || j < len(right)-1; {
		if i == len(left)-1 || j < len(right)-1 && j <= i {
			b.triangle(left[i], right[j], right[j+1])
			j++
		} else {
			b.triangle(left[i], right[j], left[i+1])
			i++
		}
	}
}

// stand adds a pin on its root, whose corners run counter-clockwise.
func (b *builder) stand(angle, z float64, root []int32) {
	point := b.at(angle, b.pin.tip, z)
	base := root
	if b.pin.round {
		base = b.outline(angle, b.pin.tip, z)
		b.wall(root, base)
	}
	b.fan(base, point)
}

// outline adds the corners of a pin where it passes a radius.
func (b *builder) outline(angle, radius, z float64) []int32 {
	corners := len(b.pin.across)
	all := make([]int32, 2*corners)
	for k, across := range b.pin.across {
		turn := math.Asin(across / radius)
		all[k] = b.at(angle+turn, radius, z-b.pin.up[k])
		all[2*corners-1-k] = b.at(angle+turn, radius, z+b.pin.up[k])
	}
	return all
}

// wall joins two outlines of a pin, the second farther out.
func (b *builder) wall(inner, outer []int32) {
	for i := range inner {
		k := (i + 1) % len(inner)
		b.quad(inner[i], inner[k], outer[k], outer[i])
	}
}

// fan joins an outline with a point.
func (b *builder) fan(outline []int32, point int32) {
	for i := range outline {
		b.triangle(outline[i], outline[(i+1)%len(outline)], point)
	}
}

// shell adds a pin as a closed surface that reaches into the cylinder, but not as far as the bore.
func (b *builder) shell(angle, z float64) {
	radius := b.radius - min(sunkMm, (b.radius-b.bore)/2, b.radius/5)
	sunk := b.outline(angle, radius, z)
	middle := b.at(angle, radius, z)
	for i := range sunk {
		b.triangle(sunk[(i+1)%len(sunk)], sunk[i], middle)
	}
	root := b.outline(angle, b.radius, z)
	b.wall(sunk, root)
	b.stand(angle, z, root)
}

// ends closes the cylinder between its outer edges, with the bore if there is one.
func (b *builder) ends(bottom, top ring) {
	n := len(bottom.vertex)
	if b.bore == 0 {
		low, high := b.vertex(0, 0, 0), b.vertex(0, 0, b.length)
		for i := range n {
			k := (i + 1) % n
			b.triangle(low, bottom.vertex[k], bottom.vertex[i])
			b.triangle(high, top.vertex[i], top.vertex[k])
		}
		return
	}
	low, high := b.plain(b.bore, 0), b.plain(b.bore, b.length)
	for i := range n {
		k := (i + 1) % n
		b.quad(bottom.vertex[i], low.vertex[i], low.vertex[k], bottom.vertex[k])
		b.quad(low.vertex[i], high.vertex[i], high.vertex[k], low.vertex[k])
		b.quad(high.vertex[i], top.vertex[i], top.vertex[k], high.vertex[k])
	}
}
