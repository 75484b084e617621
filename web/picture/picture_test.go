package picture

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/png"
	"io"
	"math"
	"strings"
	"testing"

	"golang.org/x/image/font"
	"pgregory.net/rapid"

	"pinwright/arrange/unit"
	"pinwright/pinmap"
	"pinwright/pinmap/project"
)

const facts = "18 teeth cut for this tune · one turn in 14.55 s · 54 pins · bars 1–8 of 8 · 66.0 bpm, written 66.1"

// sample is a cylinder with pins all over, made by hand.
func sample(title string, teeth, pins int) *project.Result {
	r := &project.Result{Title: title}
	r.Cylinder = project.CylinderView{Cylinder: pinmap.DefaultCylinder(), RevolutionMs: 14_545}
	for i := range teeth {
		p := unit.Pitch(48 + i*48/max(1, teeth))
		r.Comb.Teeth = append(r.Comb.Teeth, project.ToothView{Tooth: i + 1, Pitch: p, Note: p.String(), FrequencyHz: p.Frequency(), RepeatMs: 200})
	}
	for i := range pins {
		angle := 9 + 342*float64(i)/float64(pins)
		r.Pins = append(r.Pins, pinmap.Pin{Pin: i + 1, Tooth: 1 + (i*7+i*i/5)%teeth, AngleDeg: unit.Degrees(angle)})
	}
	return r
}

func painted(t testing.TB, r *project.Result) *canvas {
	t.Helper()
	c, err := paint(r, facts)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestWrite(t *testing.T) {
	r := sample("The tin lighthouse", 18, 54)
	var first, second bytes.Buffer
	if err := errors.Join(Write(&first, r, facts), Write(&second, r, facts)); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(first.Bytes(), second.Bytes()) {
		t.Error("the same result gave two different files")
	}
	if first.Len() > 300_000 {
		t.Errorf("the file has %d bytes, more than those who preview links like to take", first.Len())
	}
	img, err := png.Decode(&first)
	if err != nil {
		t.Fatal(err)
	}
	if img.Bounds() != image.Rect(0, 0, 1200, 630) {
		t.Errorf("the picture is %v", img.Bounds())
	}
}

// TestPinsStandWhereTheyRelease compares the picture with the one without a pin: they differ round the pin, and nowhere else.
func TestPinsStandWhereTheyRelease(t *testing.T) {
	for _, test := range []struct {
		name    string
		bassEnd pinmap.Side
		turns   pinmap.Turn
		bassUp  bool // on the page, by section 3 of the design: the bass end lies at the bottom where left goes with up
	}{
		{"defaults", pinmap.Left, pinmap.Up, false},
		{"bass at the right", pinmap.Right, pinmap.Up, true},
		{"turning down", pinmap.Left, pinmap.Down, true},
		{"both", pinmap.Right, pinmap.Down, false},
	} {
		t.Run(test.name, func(t *testing.T) {
			r := sample("A tune", 18, 0)
			r.Cylinder.BassEnd, r.Cylinder.Turns = test.bassEnd, test.turns
			bare := painted(t, r)
			r.Pins = []pinmap.Pin{{Pin: 1, Tooth: 1, AngleDeg: 90}}
			pinned := painted(t, r)
			x1, y1, x2, y2 := Width, Height, 0, 0
			for y := range Height {
				for x := range Width {
					if bare.RGBAAt(x, y) != pinned.RGBAAt(x, y) {
						x1, y1, x2, y2 = min(x1, x), min(y1, y), max(x2, x), max(y2, y)
					}
				}
			}
			if want := turnLeft + turnWidth/4; math.Abs(float64(x1)-want) > 9 || math.Abs(float64(x2)-want) > 24 || y2-y1 > 20 {
				t.Errorf("a pin at 90° changes x %d to %d and y %d to %d; want it at x %.0f", x1, x2, y1, y2, want)
			}
			if up := (y1+y2)/2 < (top+bottom)/2; up != test.bassUp {
				t.Errorf("the track of tooth 1 lies at %d", (y1+y2)/2)
			}
		})
	}
}

// TestOddResultsHaveAPicture draws what no maker would, twice, and gets the same bytes.
func TestOddResultsHaveAPicture(t *testing.T) {
	for name, change := range map[string]func(*project.Result){
		"as it is":         func(*project.Result) {},
		"no comb":          func(r *project.Result) { r.Comb.Teeth = nil },
		"no pins":          func(r *project.Result) { r.Pins = nil },
		"one tooth":        func(r *project.Result) { r.Comb.Teeth = r.Comb.Teeth[:1] },
		"a wide gap":       func(r *project.Result) { r.Cylinder.GapDeg = 350 },
		"no turn":          func(r *project.Result) { r.Cylinder.RevolutionMs = 0 },
		"a tooth too far":  func(r *project.Result) { r.Pins[0].Tooth = 99 },
		"no angle":         func(r *project.Result) { r.Pins[0].AngleDeg = unit.Degrees(math.NaN()) },
		"a silent tooth":   func(r *project.Result) { r.Comb.Teeth[0].FrequencyHz = 0 },
		"never free again": func(r *project.Result) { r.Comb.Teeth[0].RepeatMs = unit.Milliseconds(math.Inf(1)) },
		"many pins":        func(r *project.Result) { *r = *sample("Many", 144, mostDomes+1) },
	} {
		t.Run(name, func(t *testing.T) {
			r := sample("A tune", 18, 54)
			change(r)
			if first, second := painted(t, r), painted(t, r); !bytes.Equal(first.Pix, second.Pix) {
				t.Error("the same result gave two different pictures")
			}
		})
	}
}

// TestWordsKeepToTheirRoom holds for any title and facts: nothing is written on the margins or on the cylinder.
func TestWordsKeepToTheirRoom(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		title := rapid.String().Draw(t, "title") + strings.Repeat(rapid.StringN(0, 8, -1).Draw(t, "again"), rapid.IntRange(0, 300).Draw(t, "times"))
		c := &canvas{image.NewRGBA(image.Rect(0, 0, Width, Height))}
		if err := c.words(title, rapid.String().Draw(t, "facts")); err != nil {
			t.Fatal(err)
		}
		blank := func(x1, y1, x2, y2 int) bool {
			for y := y1; y < y2; y++ {
				if row := c.Pix[c.PixOffset(x1, y):][:4*(x2-x1)]; bytes.Count(row, []byte{0}) < len(row) {
					return false
				}
			}
			return true
		}
		const overhang = 16 // of letters beyond their own room
		if !blank(0, 0, Width, 24) || !blank(0, 215, Width, Height) || !blank(0, 0, margin-overhang, Height) || !blank(Width-margin+overhang, 0, Width, Height) {
			t.Fatal("something is written on the margins or on the cylinder")
		}
		if blank(0, 70, Width, 170) {
			t.Fatal("there is no title")
		}
	})
}

func TestSettable(t *testing.T) {
	f, err := bold()
	if err != nil {
		t.Fatal(err)
	}
	for title, want := range map[string]string{
		"":                    "",
		"The tin lighthouse":  "The tin lighthouse",
		"  a\tb\u202fc\r\nd ": "a b c d",
		"Žluťoučký kůň, Ελλάδα, Щука":           "Žluťoučký kůň, Ελλάδα, Щука",
		"Zlut\u030couc\u030cky\u0301":           "Zluťoučký",
		"Tiếng Việt":                            "Tieng Viet",
		"Ｆｉｎｅ":                                  "Fine",
		"魔女の宅急便":                                "…",
		"Waltz 魔女 in three":                     "Waltz … in three",
		"\u202eevil\u202c \u200btext\ufeff\x00": "evil text",
		"🎵🎵 bell":                               "… bell",
		"bad \xff utf":                          "bad \ufffd utf",
	} {
		if got := settable(f, title); got != want {
			t.Errorf("settable(%q) = %q, want %q", title, got, want)
		}
	}
}

func TestWrap(t *testing.T) {
	f, err := bold()
	if err != nil {
		t.Fatal(err)
	}
	face, err := faceOf(f, 38)
	if err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct {
		text string
		most int
		want string
		all  bool
	}{
		{"short", 2, "short", true},
		{"a title that is rather long and goes on", 2, "a title that is rather|long and goes on", true},
		{"a title that is rather long and goes on without an end", 2, "a title that is rather|long and goes on w…", false},
		{"a title that is rather long", 1, "a title that is rather…", false},
		{strings.Repeat("m", 40), 2, "mmmmmmmmmmm|mmmmmmmmmm…", false},
		{"", 2, "", true},
	} {
		lines, all := wrap(face, test.text, 400, test.most)
		for _, line := range lines {
			if wide := font.MeasureString(face, line).Ceil(); wide > 400 {
				t.Errorf("%q is %d wide", line, wide)
			}
		}
		if got := strings.Join(lines, "|"); got != test.want || all != test.all {
			t.Errorf("wrap(%q) = %q, %v; want %q, %v", test.text, got, all, test.want, test.all)
		}
	}
}

// TestMemoryIsBounded: what is taken does not grow with the pins. The picture alone is 3 MB.
func TestMemoryIsBounded(t *testing.T) {
	r := sample("A great many pins", 144, 20_000)
	taken := testing.Benchmark(func(b *testing.B) {
		b.ReportAllocs()
		for range b.N {
			if err := Write(io.Discard, r, facts); err != nil {
				b.Fatal(err)
			}
		}
	}).AllocedBytesPerOp()
	if taken > 12<<20 {
		t.Errorf("20000 pins take %d bytes; want at most 12 MiB", taken)
	}
}

func BenchmarkWrite(b *testing.B) {
	for _, size := range [][2]int{{18, 54}, {144, 1500}, {144, 20_000}} {
		r := sample("The tin lighthouse", size[0], size[1])
		b.Run(fmt.Sprintf("%d teeth, %d pins", size[0], size[1]), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if err := Write(io.Discard, r, facts); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
