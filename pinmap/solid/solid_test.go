package solid

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange/unit"
	"pinwright/pinmap"
)

// shell is one closed surface of a mesh.
type shell struct {
	euler  int // vertices − edges + triangles
	volume float64
}

// shells takes a mesh apart, the shell of the first vertex first, and fails where it is not what Mesh promises.
func shells(t interface {
	Helper()
	Fatalf(string, ...any)
}, m *Mesh) (all []shell) {
	t.Helper()
	parent := make([]int32, len(m.Vertices))
	for i := range parent {
		parent[i] = int32(i)
	}
	root := func(i int32) int32 {
		for parent[i] != i {
			parent[i] = parent[parent[i]]
			i = parent[i]
		}
		return i
	}
	edges := map[[2]int32]bool{}
	for _, f := range m.Triangles {
		for i := range 3 {
			a, b := f[i], f[(i+1)%3]
			if a == b || edges[[2]int32{a, b}] {
				t.Fatalf("the edge from %v to %v is used twice in one direction", m.Vertices[a], m.Vertices[b])
			}
			edges[[2]int32{a, b}] = true
			parent[root(a)] = root(b)
		}
		if area(m, f) <= 0 {
			t.Fatalf("a triangle is a line: %v %v %v", m.Vertices[f[0]], m.Vertices[f[1]], m.Vertices[f[2]])
		}
	}
	number := map[int32]int{}
	places := map[Vertex]int32{}
	for i, v := range m.Vertices {
		r := root(int32(i))
		if _, known := number[r]; !known {
			number[r] = len(all)
			all = append(all, shell{})
		}
		all[number[r]].euler++
		if other, taken := places[v]; taken && root(other) == r {
			t.Fatalf("two vertices of a shell at %v", v)
		}
		places[v] = int32(i)
	}
	for e := range edges {
		if !edges[[2]int32{e[1], e[0]}] {
			t.Fatalf("the edge from %v to %v is open", m.Vertices[e[0]], m.Vertices[e[1]])
		}
		if e[0] < e[1] {
			all[number[root(e[0])]].euler--
		}
	}
	for _, f := range m.Triangles {
		s := &all[number[root(f[0])]]
		s.euler++
		var c [3][3]float64
		for i := range 3 {
			for k := range 3 {
				c[i][k] = float64(m.Vertices[f[i]][k])
			}
		}
		s.volume += (c[0][0]*(c[1][1]*c[2][2]-c[1][2]*c[2][1]) + c[0][1]*(c[1][2]*c[2][0]-c[1][0]*c[2][2]) + c[0][2]*(c[1][0]*c[2][1]-c[1][1]*c[2][0])) / 6
	}
	return all
}

func area(m *Mesh, f Triangle) float64 {
	p, q, r := m.Vertices[f[0]], m.Vertices[f[1]], m.Vertices[f[2]]
	var u, v [3]float64
	for i := range 3 {
		u[i], v[i] = float64(q[i])-float64(p[i]), float64(r[i])-float64(p[i])
	}
	return math.Sqrt(math.Pow(u[1]*v[2]-u[2]*v[1], 2)+math.Pow(u[2]*v[0]-u[0]*v[2], 2)+math.Pow(u[0]*v[1]-u[1]*v[0], 2)) / 2
}

// pinsAt sets pins on teeth at angles.
func pinsAt(c pinmap.Cylinder, strikes ...[2]float64) (pins []pinmap.Pin) {
	for i, s := range strikes {
		pins = append(pins, pinmap.Pin{Pin: i + 1, Tooth: int(s[0]), AngleDeg: unit.Degrees(s[1]), ArcMm: c.ArcMm(unit.Degrees(s[1])), AxialMm: c.AxialMm(int(s[0]))})
	}
	return pins
}

func TestPinned(t *testing.T) {
	usual := pinmap.DefaultCylinder()
	stout := usual
	stout.PinDiameterMm, stout.PinProjectionMm, stout.ToothSpacingMm, stout.FirstTrackMm = 2, 3, 3, 2
	close := usual
	close.ToothSpacingMm = 0.3
	edge := usual
	edge.FirstTrackMm = 0
	for _, row := range []struct {
		name         string
		c            pinmap.Cylinder
		length, bore unit.Millimetres
		shape        pinmap.PinShape
		strikes      [][2]float64
		loose        int // pins that are shells of their own
	}{
		{"no pin", usual, 20, 0, pinmap.Cone, nil, 0},
		{"no pin, a bore", usual, 20, 8, pinmap.Cone, nil, 0},
		{"a bore of no width", usual, 20, 1e-9, pinmap.Cone, nil, 0},
		{"one", usual, 20, 0, pinmap.Cone, [][2]float64{{3, 90}}, 0},
		{"on the datum line", usual, 20, 6, pinmap.Round, [][2]float64{{1, 0}, {2, 0}, {2, 359.9 - 3}}, 0},
		{"across the datum line", usual, 20, 0, pinmap.Cone, [][2]float64{{1, 1}, {1, 358.5}}, 1},
		{"as near as they may be", usual, 20, 0, pinmap.Cone, [][2]float64{{1, 90}, {1, 93.2}, {2, 93.2}}, 0},
		{"nearer on a track", usual, 20, 0, pinmap.Cone, [][2]float64{{1, 90}, {1, 91}, {1, 92}, {1, 94}}, 2},
		{"in one place", usual, 20, 0, pinmap.Cone, [][2]float64{{1, 90}, {1, 90}, {2, 90}}, 0},
		{"tracks nearer than a pin", close, 20, 0, pinmap.Round, [][2]float64{{1, 10}, {2, 20}, {3, 30}, {4, 40}}, 2},
		{"on the edge", edge, 20, 0, pinmap.Cone, [][2]float64{{1, 10}, {2, 20}}, 1},
		{"beyond the end", usual, 3, 0, pinmap.Cone, [][2]float64{{1, 10}, {4, 20}}, 1},
		{"no length", edge, 0, 0, pinmap.Cone, [][2]float64{{1, 10}}, 1},
		{"stout cones", stout, 20, 0, pinmap.Cone, [][2]float64{{1, 10}, {1, 90}, {2, 90}, {3, 200}}, 0},
		{"stout round pins", stout, 20, 5, pinmap.Round, [][2]float64{{1, 10}, {1, 90}, {2, 90}, {3, 200}}, 0},
	} {
		t.Run(row.name, func(t *testing.T) {
			m := Pinned(row.c, row.length, row.bore, row.shape, pinsAt(row.c, row.strikes...))
			all := shells(t, m)
			if len(all) != 1+row.loose {
				t.Fatalf("%d shells, want %d", len(all), 1+row.loose)
			}
			checkShells(t, m, all, row.c, row.length, row.bore)
			if len(row.strikes) < 4 || row.loose > 0 {
				return
			}
			// A cone holds a third of what a round pin does, and a polygon inscribed in a circle of radius 1 at least 0.96 of it where its sides lie
			// within 0.02 of it; the root is curved and adds up to a tenth.
			each := math.Pi * 3
			if row.shape == pinmap.Cone {
				each /= 3
			}
			bare := shells(t, Pinned(row.c, row.length, row.bore, row.shape, nil))[0].volume
			if got := (all[0].volume - bare) / float64(len(row.strikes)); got < 0.96*each || got > 1.1*each {
				t.Errorf("a pin holds %.3f mm³, want about %.3f", got, each)
			}
		})
	}
}

// checkShells holds shells to their topology, the first to the volume of the cylinder within what chords may take away and pins add.
func checkShells(t interface {
	Helper()
	Fatalf(string, ...any)
}, m *Mesh, all []shell, c pinmap.Cylinder, length, bore unit.Millimetres) {
	t.Helper()
	r, b, long := float64(c.DiameterMm)/2, float64(bore)/2, float64(max(length, c.PinDiameterMm))
	for i, s := range all {
		want := 2
		if i == 0 && bore >= clearMm {
			want = 0
		}
		if s.euler != want || s.volume <= 0 {
			t.Fatalf("shell %d has the Euler number %d, want %d, and %g mm³", i, s.euler, want, s.volume)
		}
	}
	bare := math.Pi * (r*r - b*b) * long
	pins := 0
	for _, v := range m.Vertices {
		if radius := math.Hypot(float64(v[0]), float64(v[1])); radius > r+float64(c.PinProjectionMm)/2 {
			pins++
		}
	}
	// No edge between two places on the surface runs deeper than a chord may. What lies in the end faces and what stands on a pin is left out.
	onSurface := func(v Vertex) bool { return math.Abs(math.Hypot(float64(v[0]), float64(v[1]))-r) < 1e-4 }
	for _, f := range m.Triangles {
		for i := range 3 {
			p, q := m.Vertices[f[i]], m.Vertices[f[(i+1)%3]]
			if onSurface(p) && onSurface(q) && onSurface(m.Vertices[f[(i+2)%3]]) {
				if depth := r - math.Hypot(float64(p[0]+q[0])/2, float64(p[1]+q[1])/2); depth > pinMm {
					t.Fatalf("the facet at %v lies %g mm deep", p, depth)
				}
			}
		}
	}
	most := bare + 2*math.Pi*b*long*surfaceMm + float64(pins)*math.Pi*math.Pow(float64(c.PinDiameterMm)/2, 2)*(float64(c.PinProjectionMm)+r)
	if least := bare - 2*math.Pi*r*long*pinMm; all[0].volume < least*(1-1e-6) || all[0].volume > most*(1+1e-6) {
		t.Fatalf("the cylinder holds %g mm³, want %g to %g", all[0].volume, least, most)
	}
}

// TestPinnedLaws draws any cylinder that the setup allows with pins anywhere.
func TestPinnedLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := pinmap.DefaultCylinder()
		mm := func(name string, low, high float64) unit.Millimetres {
			return unit.Millimetres(rapid.Float64Range(low, high).Draw(t, name))
		}
		c.DiameterMm = mm("diameterMm", 3, 400)
		c.PinDiameterMm = mm("pinDiameterMm", 0.05, min(5, math.Pi*float64(c.DiameterMm)/4))
		c.PinProjectionMm = mm("pinProjectionMm", 0.05, 20)
		c.ToothSpacingMm = mm("toothSpacingMm", 0.1, 10)
		c.FirstTrackMm = mm("firstTrackMm", 0, 20)
		c.BassEnd = rapid.SampledFrom([]pinmap.Side{pinmap.Left, pinmap.Right}).Draw(t, "bassEnd")
		length := mm("lengthMm", 0, 200)
		bore := rapid.SampledFrom([]unit.Millimetres{0, 0.001, 0.5, 0.9 * c.DiameterMm, c.DiameterMm - 0.1001}).Draw(t, "boreMm")
		shape := rapid.SampledFrom([]pinmap.PinShape{pinmap.Cone, pinmap.Round}).Draw(t, "shape")
		strikes := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) [2]float64 {
			return [2]float64{float64(rapid.IntRange(1, 20).Draw(t, "tooth")), rapid.Float64Range(0, 359.999).Draw(t, "angle")}
		}), 0, 200).Draw(t, "strikes")
		m := Pinned(c, length, bore, shape, pinsAt(c, strikes...))
		checkShells(t, m, shells(t, m), c, length, bore)
	})
}

// TestMirror checks that the image of the other hand is the same but for the sign of y, and still the right way out.
func TestMirror(t *testing.T) {
	for _, row := range []struct {
		end    pinmap.Side
		turns  pinmap.Turn
		mirror bool
	}{{pinmap.Left, pinmap.Up, false}, {pinmap.Right, pinmap.Up, true}, {pinmap.Left, pinmap.Down, true}, {pinmap.Right, pinmap.Down, false}} {
		c := pinmap.DefaultCylinder()
		pins := pinsAt(c, [2]float64{1, 30}, [2]float64{5, 200})
		usual := Pinned(c, 20, 4, pinmap.Cone, pins)
		c.BassEnd, c.Turns = row.end, row.turns
		m := Pinned(c, 20, 4, pinmap.Cone, pins)
		shells(t, m)
		for i, v := range m.Vertices {
			want := usual.Vertices[i]
			if row.mirror {
				want[1] *= -1
			}
			if v != want {
				t.Fatalf("%s, %s: vertex %d is %v, want %v", row.end, row.turns, i, v, want)
			}
		}
	}
}

func TestPartsLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := pinmap.DefaultCylinder()
		c.DiameterMm = unit.Millimetres(rapid.Float64Range(3, 400).Draw(t, "diameterMm"))
		c.ToothSpacingMm = unit.Millimetres(rapid.Float64Range(0.1, 50).Draw(t, "toothSpacingMm"))
		c.FirstTrackMm = unit.Millimetres(rapid.Float64Range(0, 200).Draw(t, "firstTrackMm"))
		c.BassEnd = rapid.SampledFrom([]pinmap.Side{pinmap.Left, pinmap.Right}).Draw(t, "bassEnd")
		c.Turns = rapid.SampledFrom([]pinmap.Turn{pinmap.Up, pinmap.Down}).Draw(t, "turns")
		bore := rapid.SampledFrom([]unit.Millimetres{0, 1, 2, 2.5, c.DiameterMm - 0.1001}).Draw(t, "boreMm")
		teeth := rapid.IntRange(1, 144).Draw(t, "teeth")
		for name, m := range map[string]*Mesh{"discs": EndDiscs(c, 20, bore), "trial": CombTrial(c, 20, bore, teeth)} {
			all := shells(t, m)
			if len(all) != 2 {
				t.Fatalf("%s: %d shells, want 2", name, len(all))
			}
			for i, s := range all {
				want := 2
				if name == "discs" {
					want = 0
				}
				if s.volume <= 0 || s.euler != want {
					t.Fatalf("%s: shell %d has the Euler number %d, want %d, and %g mm³", name, i, s.euler, want, s.volume)
				}
			}
			for _, v := range m.Vertices {
				if v[0] < -1e-4 || v[1] < -1e-4 || v[2] < 0 {
					t.Fatalf("%s: %v lies off the bed", name, v)
				}
			}
		}
	})
}

// TestEndDiscs checks the volume of a disc against that of its parts: flange, spigot, hole and keyway.
func TestEndDiscs(t *testing.T) {
	c := pinmap.DefaultCylinder()
	for _, row := range []struct {
		name         string
		bore         unit.Millimetres
		arbor, stand float64 // diameter, height of the spigot
	}{{"no bore", 0, 3, 0}, {"a bore of 8 mm", 8, 3, 3}, {"a narrow bore", 4, 2, 3}} {
		t.Run(row.name, func(t *testing.T) {
			hole := row.arbor / 2
			// The keyway reaches from the hole's circle to that a third greater, between two parallel lines.
			half := hole / 3
			under := func(r float64) float64 { return half*math.Sqrt(r*r-half*half) + r*r*math.Asin(half/r) } // of a circle of radius r, between them, from the axis
			open := math.Pi*hole*hole + under(hole*4/3) - under(hole)
			spigot := math.Pi*math.Pow(max(float64(row.bore)/2-fitMm, 0), 2) - open
			want := (math.Pi*6.5*6.5-open)*flangeMm + spigot*row.stand
			for _, s := range shells(t, EndDiscs(c, 20, row.bore)) {
				if math.Abs(s.volume/want-1) > 0.002 {
					t.Errorf("%.3f mm³, want %.3f", s.volume, want)
				}
			}
		})
	}
}

// TestCombTrial checks where the teeth of the comb stand, and how far their tips lie from the rear wall.
func TestCombTrial(t *testing.T) {
	c := pinmap.DefaultCylinder()
	c.LiftMm = 2
	for _, end := range []pinmap.Side{pinmap.Left, pinmap.Right} {
		c.BassEnd = end
		m := CombTrial(c, 25, 0, 4) // longer than four teeth need
		bed, tips, rear := float32(0), map[float32]bool{}, float32(0)
		for _, v := range m.Vertices {
			rear = max(rear, v[1])
		}
		front := rear - teethMm - plateMm
		for _, v := range m.Vertices {
			if math.Abs(float64(v[1]-front)) < 1e-4 && v[2] == bed {
				tips[v[0]] = true
			}
		}
		if len(tips) != 8 {
			t.Fatalf("%d corners of tips, want 8", len(tips))
		}
		for k := range 4 {
			x := 1.5 + float64(k)
			if end == pinmap.Left {
				x = 25 - x
			}
			x += flangeMm + 2*fitMm + wallMm
			for _, side := range []float64{-0.35, 0.35} {
				if !tips[float32(x+side)] {
					t.Errorf("bass end %s: tooth %d has no side at %.2f: %v", end, k+1, x+side, tips)
				}
			}
		}
	}
}

func BenchmarkPinned(b *testing.B) {
	c := pinmap.DefaultCylinder()
	c.DiameterMm = 400
	var strikes [][2]float64
	for i := range 20_000 {
		strikes = append(strikes, [2]float64{float64(1 + i%144), float64(i/144) * 2.5})
	}
	pins := pinsAt(c, strikes...)
	b.ReportAllocs()
	for b.Loop() {
		_ = Pinned(c, c.LeastLengthMm(144), 0, pinmap.Cone, pins)
	}
}
