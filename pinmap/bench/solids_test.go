package bench

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
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

	"pinwright/pinmap"
	"pinwright/pinmap/project"
	"pinwright/pinmap/solid"
)

var solids = []string{"cylinder.stl", "cylinder.3mf", "end-discs.stl", "comb-trial.stl"}

// solidOf gives a file of a result.
func solidOf(t fataler, name string, r *project.Result) []byte {
	t.Helper()
	maker, ok := File(name)
	if !ok {
		t.Fatalf("there is no %s", name)
	}
	var b bytes.Buffer
	if err := maker.Write(&b, Job{Result: r}); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return b.Bytes()
}

// triangles are the corners of facets.
type triangles [][3]solid.Vertex

// readSTL reads binary STL by the structure in values.md: 84 + 50 n bytes, exact, and checks that each normal has length 1 and faces outwards.
func readSTL(t fataler, data []byte) (all triangles) {
	t.Helper()
	if len(data) < 84 || bytes.HasPrefix(data, []byte("solid")) {
		t.Fatalf("no binary STL: %d bytes, %.20q", len(data), data)
	}
	n := int(binary.LittleEndian.Uint32(data[80:]))
	if len(data) != 84+50*n {
		t.Fatalf("%d bytes for %d triangles, want %d", len(data), n, 84+50*n)
	}
	for at := 84; at < len(data); at += 50 {
		var v [4]solid.Vertex
		for i := range 12 {
			v[i/3][i%3] = math.Float32frombits(binary.LittleEndian.Uint32(data[at+4*i:]))
		}
		length, along := 0.0, 0.0
		for i, x := range normal(v[1], v[2], v[3]) {
			length += float64(v[0][i]) * float64(v[0][i])
			along += float64(v[0][i]) * float64(x)
		}
		if math.Abs(length-1) > 1e-5 || along < 0.999 || data[at+48] != 0 || data[at+49] != 0 {
			t.Fatalf("triangle %d: % x", len(all), data[at:at+50])
		}
		all = append(all, [3]solid.Vertex(v[1:]))
	}
	return all
}

// What may stand in a model: for each element where it stands, and its attributes with their patterns (3MF Core Specification 1.4.0, appendix B.1, as far
// as it is used here).
var schema3MF = map[string]struct {
	in         string
	attributes map[string]string
}{
	"model":     {"", map[string]string{"unit": "millimeter", "xmlns": "http://schemas.microsoft.com/3dmanufacturing/core/2015/02", "lang": "en"}},
	"metadata":  {"model", map[string]string{"name": "Title|Application"}},
	"resources": {"model", nil},
	"object":    {"resources", map[string]string{"id": "1", "type": "model"}},
	"mesh":      {"object", nil},
	"vertices":  {"mesh", nil},
	"vertex":    {"vertices", map[string]string{"x": number3MF, "y": number3MF, "z": number3MF}},
	"triangles": {"mesh", nil},
	"triangle":  {"triangles", map[string]string{"v1": index3MF, "v2": index3MF, "v3": index3MF}},
	"build":     {"model", nil},
	"item":      {"build", map[string]string{"objectid": "1"}},
}

const (
	number3MF = `-?\d+(\.\d+)?`
	index3MF  = `\d{1,9}`
)

// read3MF reads a 3MF package, holds its markup to the schema, and gives its facets and title.
func read3MF(t fataler, data []byte) (all triangles, title string) {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatalf("no zip: %v", err)
	}
	parts := map[string][]byte{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatalf("%s: %v", f.Name, err)
		}
		if parts[f.Name], err = io.ReadAll(r); err != nil {
			t.Fatalf("%s: %v", f.Name, err)
		}
	}
	const model = "3D/3dmodel.model"
	if len(z.File) != 3 || !bytes.Contains(parts["[Content_Types].xml"], []byte(`Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"`)) ||
		!bytes.Contains(parts["_rels/.rels"], []byte(`Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel" Target="/`+model+`"`)) {
		t.Fatalf("the package lacks a part or says not what the model is: %q %q", parts["[Content_Types].xml"], parts["_rels/.rels"])
	}
	patterns := map[string]*regexp.Regexp{}
	for name, element := range schema3MF {
		for key, pattern := range element.attributes {
			patterns[name+" "+key] = regexp.MustCompile("^(" + pattern + ")$")
		}
	}
	var open, order []string
	var vertices []solid.Vertex
	places := map[solid.Vertex]int{}
	decoder := xml.NewDecoder(bytes.NewReader(parts[model]))
	for {
		token, err := decoder.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("no XML: %v", err)
		}
		switch e := token.(type) {
		case xml.StartElement:
			rule, known := schema3MF[e.Name.Local]
			if parent := append([]string{""}, open...)[len(open)]; !known || parent != rule.in || len(e.Attr) != len(rule.attributes) {
				t.Fatalf("%s stands in %q with %v", e.Name.Local, parent, e.Attr)
			}
			var values [3]string
			for i, a := range e.Attr {
				if p := patterns[e.Name.Local+" "+a.Name.Local]; p == nil || !p.MatchString(a.Value) {
					t.Fatalf("%s has %s=%q", e.Name.Local, a.Name.Local, a.Value)
				}
				values[i] = a.Value
			}
			switch e.Name.Local {
			case "vertex":
				var v solid.Vertex
				for i, s := range values {
					x, _ := strconv.ParseFloat(s, 32) // it matched
					v[i] = float32(x)
				}
				places[v]++
				vertices = append(vertices, v)
			case "triangle":
				var corners [3]solid.Vertex
				for i, s := range values {
					k, _ := strconv.Atoi(s) // it matched
					if k >= len(vertices) || slices.Index(values[:], s) != i {
						t.Fatalf("a triangle of %v among %d vertices", values, len(vertices))
					}
					corners[i] = vertices[k]
				}
				all = append(all, corners)
			default:
				order = append(order, e.Name.Local)
			}
			open = append(open, e.Name.Local)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			if len(open) == 2 && open[1] == "metadata" {
				if title == "" {
					title = string(e)
				}
			} else if len(bytes.TrimSpace(e)) > 0 {
				t.Fatalf("text in %v: %q", open, e)
			}
		}
	}
	if got, want := strings.Join(order, " "), "model metadata metadata resources object mesh vertices triangles build item"; got != want {
		t.Fatalf("the model holds %s, want %s", got, want)
	}
	if len(places) != len(vertices) {
		t.Fatalf("%d of %d vertices are different", len(places), len(vertices))
	}
	return all, title
}

// closed checks that each edge, told by the places of its ends as a reader of STL has to, runs as often one way as the other, that no facet is a line, and
// that what they enclose is on their inner side; it gives the volume.
func closed(t fataler, all triangles) (volume float64) {
	t.Helper()
	edges := map[[2]solid.Vertex]int{}
	for _, f := range all {
		for i, v := range f {
			next := f[(i+1)%3]
			if v == next {
				t.Fatalf("a facet has two corners at %v", v)
			}
			edges[[2]solid.Vertex{v, next}]++
			edges[[2]solid.Vertex{next, v}]--
		}
		var c [3][3]float64
		for i := range 3 {
			for k := range 3 {
				c[i][k] = float64(f[i][k])
			}
		}
		volume += (c[0][0]*(c[1][1]*c[2][2]-c[1][2]*c[2][1]) + c[0][1]*(c[1][2]*c[2][0]-c[1][0]*c[2][2]) + c[0][2]*(c[1][0]*c[2][1]-c[1][1]*c[2][0])) / 6
	}
	for e, n := range edges {
		if n != 0 {
			t.Fatalf("the edge from %v to %v is open", e[0], e[1])
		}
	}
	if volume <= 0 {
		t.Fatalf("the facets enclose %g mm³", volume)
	}
	return volume
}

func TestSolidLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyResult(t)
		c := r.Cylinder
		r.Setup.Bench.BoreMm = rapid.SampledFrom([]pinmap.Bench{{}, {BoreMm: 0.4 * c.DiameterMm}}).Draw(t, "bench").BoreMm
		r.Setup.Bench.PinShape = rapid.SampledFrom([]pinmap.PinShape{pinmap.Cone, pinmap.Round}).Draw(t, "shape")
		if (c.PinDiameterMm+c.HoleWebMm)*4 > c.CircumferenceMm {
			t.Skip("no setup has such pins")
		}
		r.Title = rapid.SampledFrom([]string{"Tinker", `</metadata><item objectid="2"/>&amp;`, "<!--", "]]>", "it's \"so\""}).Draw(t, "title")
		for _, name := range solids {
			data := solidOf(t, name, r)
			if !bytes.Equal(data, solidOf(t, name, r)) {
				t.Fatalf("%s differs when it is made again", name)
			}
			if name != "cylinder.3mf" {
				closed(t, readSTL(t, data))
				continue
			}
			all, title := read3MF(t, data)
			if stl := readSTL(t, solidOf(t, "cylinder.stl", r)); !slices.Equal(all, stl) {
				t.Fatal("the two files of the cylinder are not of one solid")
			}
			if title != r.Title {
				t.Fatalf("the title is %q, want %q", title, r.Title)
			}
		}
	})
}

// onDisk writes a file of a job and gives its path.
func onDisk(t *testing.T, folder, name string, r *project.Result) string {
	t.Helper()
	path := filepath.Join(folder, name)
	if err := os.WriteFile(path, solidOf(t, name, r), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// variants are the results whose solids are read back from outside: the demo and ten real tunes, and the demo for the other hands, with round pins and a bore.
func variants(t *testing.T) map[string]*project.Result {
	t.Helper()
	all := map[string]*project.Result{}
	for name, j := range realJobs(t) {
		all[name] = j.Result
	}
	for _, row := range []struct {
		end   pinmap.Side
		turns pinmap.Turn
		bench pinmap.Bench
	}{
		{pinmap.Right, pinmap.Up, pinmap.Bench{PinShape: pinmap.Round}},
		{pinmap.Left, pinmap.Down, pinmap.Bench{PinShape: pinmap.Cone, BoreMm: 6}},
		{pinmap.Right, pinmap.Down, pinmap.Bench{PinShape: pinmap.Round, BoreMm: 10}},
	} {
		r := *demoJob(t).Result
		r.Cylinder.BassEnd, r.Cylinder.Turns, r.Setup.Bench = row.end, row.turns, row.bench
		all[fmt.Sprintf("demo, bass end %s, turning %s, %s, bore %g", row.end, row.turns, row.bench.PinShape, float64(row.bench.BoreMm))] = &r
	}
	return all
}

// TestSolidsAsOthersReadThem has ADMesh and PrusaSlicer read the solids: one closed surface a part, no facet the wrong way round or without area, the size
// of the cylinder, and the volume that ours counts.
func TestSolidsAsOthersReadThem(t *testing.T) {
	judged(t, "reading the solids", "admesh", "prusa-slicer")
	for name, r := range variants(t) {
		t.Run(name, func(t *testing.T) {
			folder := t.TempDir()
			for _, file := range solids {
				path := onDisk(t, folder, file, r)
				parts := 2.0
				if strings.HasPrefix(file, "cylinder") {
					parts = 1
				}
				volume := closed(t, readSTL(t, solidOf(t, strings.Replace(file, ".3mf", ".stl", 1), r)))
				if file != "cylinder.3mf" {
					out, err := exec.Command("admesh", path).CombinedOutput()
					if err != nil {
						t.Fatalf("admesh: %v\n%s", err, out)
					}
					for what, want := range map[string]float64{"Total disconnected facets": 0, "Number of parts": parts, "Degenerate facets": 0, "Edges fixed": 0,
						"Facets removed": 0, "Facets added": 0, "Facets reversed": 0, "Backwards edges": 0, "Normals fixed": 0} {
						if got := figure(t, out, what, ":"); got != want {
							t.Errorf("%s: %s: %v, want %v", file, what, got, want)
						}
					}
					if got := figure(t, out, "Volume", ":"); math.Abs(got/volume-1) > 1e-4 {
						t.Errorf("%s: admesh finds %g mm³, want %g", file, got, volume)
					}
				}
				slicer := exec.Command("prusa-slicer", "--info", path)
				slicer.Env = append(os.Environ(), "HOME="+folder)
				out, err := slicer.CombinedOutput()
				if err != nil {
					t.Fatalf("prusa-slicer: %v\n%s", err, out)
				}
				if !bytes.Contains(out, []byte("manifold = yes")) || figure(t, out, "number_of_parts", "=") != parts {
					t.Errorf("%s: prusa-slicer says\n%s", file, out)
				}
				if got := figure(t, out, "volume", "="); math.Abs(got/volume-1) > 1e-4 {
					t.Errorf("%s: prusa-slicer finds %g mm³, want %g", file, got, volume)
				}
				if strings.HasPrefix(file, "cylinder") && (math.Abs(figure(t, out, "size_z", "=")-float64(r.Cylinder.LengthMm)) > 1e-4 ||
					figure(t, out, "max_x", "=") > float64(r.Cylinder.TipRadiusMm())+1e-4) {
					t.Errorf("%s: prusa-slicer finds the size\n%s", file, out)
				}
			}
		})
	}
}

// figure gives the number after a name and a sign in what a tool says.
func figure(t *testing.T, out []byte, name, sign string) float64 {
	t.Helper()
	m := regexp.MustCompile(regexp.QuoteMeta(name) + ` *` + sign + ` *([-+.\de]+)`).FindSubmatch(out)
	if m == nil {
		t.Fatalf("there is no %q in\n%s", name, out)
	}
	v, err := strconv.ParseFloat(string(m[1]), 64)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return v
}

// tips reads a solid with nothing but Python's own modules and finds where pins end: places at the radius of the tips, joined by facets. It writes for each
// the middle of what it covers, as angle in degrees against the sense of y for a mirrored hand, and z.
const tips = `
import math, struct, sys, zipfile
import xml.etree.ElementTree as tree
path, radius, sense = sys.argv[1], float(sys.argv[2]), int(sys.argv[3])
facets = []
if path.endswith(".stl"):
    data = open(path, "rb").read()
    for record in struct.iter_unpack("<12fH", data[84:]):
        facets.append([record[3:6], record[6:9], record[9:12]])
    assert len(facets) == struct.unpack("<I", data[80:84])[0]
else:
    core = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
    model = tree.fromstring(zipfile.ZipFile(path).read("3D/3dmodel.model"))
    assert model.get("unit") == "millimeter"
    vertices = [tuple(float(v.get(k)) for k in "xyz") for v in model.iter(core + "vertex")]
    for f in model.iter(core + "triangle"):
        facets.append([vertices[int(f.get(k))] for k in ("v1", "v2", "v3")])
parent = {}
def root(v):
    while parent[v] != v:
        v = parent[v]
    return v
for facet in facets:
    tip = [v for v in facet if abs(math.hypot(v[0], v[1]) - radius) < 1e-4]
    for v in tip:
        parent.setdefault(v, v)
        parent[root(v)] = root(tip[0])
groups = {}
for v in parent:
    groups.setdefault(root(v), []).append(v)
for group in groups.values():
    start = math.atan2(group[0][1], group[0][0])
    turns = [math.remainder(math.atan2(v[1], v[0]) - start, 2 * math.pi) for v in group]
    heights = [v[2] for v in group]
    angle = math.degrees(start + (min(turns) + max(turns)) / 2) * sense % 360
    print(repr(angle), repr((min(heights) + max(heights)) / 2))
`

// TestSolidsHoldEachPin finds the pins in the files with a reader of its own: each within 0.001 mm and 0.001°, and no other.
func TestSolidsHoldEachPin(t *testing.T) {
	judged(t, "finding the pins in the solids", "python3")
	for name, r := range variants(t) {
		t.Run(name, func(t *testing.T) {
			folder := t.TempDir()
			sense := "1"
			if (r.Cylinder.BassEnd == pinmap.Left) != (r.Cylinder.Turns == pinmap.Up) {
				sense = "-1"
			}
			for _, file := range []string{"cylinder.stl", "cylinder.3mf"} {
				out, err := exec.Command("python3", "-c", tips, onDisk(t, folder, file, r), fmt.Sprint(float64(r.Cylinder.TipRadiusMm())), sense).CombinedOutput()
				if err != nil {
					t.Fatalf("%s: %v\n%s", file, err, out)
				}
				lines := strings.Fields(string(out))
				if len(lines) != 2*len(r.Pins) {
					t.Fatalf("%s: %d tips, want %d", file, len(lines)/2, len(r.Pins))
				}
				found := make([]bool, len(r.Pins))
				for i := 0; i < len(lines); i += 2 {
					angle, _ := strconv.ParseFloat(lines[i], 64)
					axial, _ := strconv.ParseFloat(lines[i+1], 64)
					pin := slices.IndexFunc(r.Pins, func(p pinmap.Pin) bool {
						return math.Abs(math.Remainder(angle-float64(p.AngleDeg), 360)) <= 0.001 && math.Abs(axial-float64(p.AxialMm)) <= 0.001
					})
					if pin < 0 || found[pin] {
						t.Fatalf("%s: a tip at %g° and %g mm, where no pin is or that of another", file, angle, axial)
					}
					found[pin] = true
				}
			}
		})
	}
}

func BenchmarkSolids(b *testing.B) {
	big := compact()
	big.DiameterMm = 400
	r := result(big, 144, tuneful(144, 20_000, 18))
	for _, name := range solids {
		b.Run(name, func(b *testing.B) {
			maker, _ := File(name)
			b.ReportAllocs()
			for b.Loop() {
				if err := maker.Write(io.Discard, Job{Result: r}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
