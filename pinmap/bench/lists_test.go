package bench

import (
	"bytes"
	"encoding/csv"
	"encoding/xml"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gitlab.com/gomidi/midi/v2/smf"
	"pgregory.net/rapid"

	"pinwright/arrange/unit"
	"pinwright/pinmap"
	"pinwright/pinmap/indexing"
	"pinwright/pinmap/project"
)

// file writes one file of a job.
func file(t fataler, name string, r *project.Result) []byte {
	t.Helper()
	maker, ok := File(name)
	if !ok {
		t.Fatalf("there is no maker of %s", name)
	}
	var b bytes.Buffer
	if err := maker.Write(&b, Job{Result: r, Paper: A4}); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return b.Bytes()
}

// table reads a CSV file back as rows by the names of its first row.
func table(t fataler, data []byte) (names []string, rows []map[string]string) {
	t.Helper()
	all, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	if err != nil {
		t.Fatalf("no CSV: %v", err)
	}
	for _, line := range all[1:] {
		row := map[string]string{}
		for i, name := range all[0] {
			row[name] = line[i]
		}
		rows = append(rows, row)
	}
	return all[0], rows
}

func TestHolesCSV(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyResult(t)
		names, rows := table(t, file(t, "holes.csv", r))
		var fields []string // of a pin, as its JSON names them
		for i := range reflect.TypeFor[pinmap.Pin]().NumField() {
			fields = append(fields, reflect.TypeFor[pinmap.Pin]().Field(i).Tag.Get("json"))
		}
		if !slices.Equal(names[:len(fields)], fields) {
			t.Fatalf("the first row is %v, want it to begin %v", names, fields)
		}
		if len(rows) != len(r.Pins) {
			t.Fatalf("%d rows, want one for each of %d pins", len(rows), len(r.Pins))
		}
		for i, pin := range r.Pins {
			for name, want := range map[string]float64{
				"pin": float64(pin.Pin), "tooth": float64(pin.Tooth), "angleDeg": float64(pin.AngleDeg), "arcMm": float64(pin.ArcMm),
				"axialMm": float64(pin.AxialMm), "timeMs": float64(pin.TimeMs), "bar": float64(pin.Bar), "beat": pin.Beat,
			} {
				if got, err := strconv.ParseFloat(rows[i][name], 64); err != nil || !near(got, want, 1e-6) {
					t.Fatalf("row %d: %s is %q, want %v", i+1, name, rows[i][name], want)
				}
			}
			if rows[i]["note"] != pin.Note {
				t.Fatalf("row %d: note is %q, want %q", i+1, rows[i]["note"], pin.Note)
			}
		}
	})
}

func TestCombCSV(t *testing.T) {
	r := result(compact(), 18, tuneful(18, 60, 18))
	_, rows := table(t, file(t, "comb.csv", r))
	if len(rows) != 18 {
		t.Fatalf("%d rows, want 18", len(rows))
	}
	for i, tooth := range r.Comb.Teeth {
		hz, err := strconv.ParseFloat(rows[i]["frequencyHz"], 64)
		if err != nil || !near(hz, float64(tooth.FrequencyHz), 1e-6) || rows[i]["note"] != tooth.Note || rows[i]["plucks"] != strconv.Itoa(tooth.Plucks) {
			t.Errorf("row %d is %v, want tooth %+v", i+1, rows[i], tooth)
		}
	}
}

func TestInert(t *testing.T) {
	for s, want := range map[string]string{
		"=1+1": "'=1+1", "+49": "'+49", "-2": "'-2", "@SUM(A1)": "'@SUM(A1)", "\t=1": " =1", "\r\n=1": "  =1", "C#5": "C#5", "": "", "n12": "n12",
	} {
		if got := inert(s); got != want {
			t.Errorf("inert(%q) = %q, want %q", s, got, want)
		}
	}
}

func TestMapSVG(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyResult(t)
		r.Title = rapid.String().Draw(t, "title")
		var doc struct {
			Width   string `xml:"width,attr"`
			Height  string `xml:"height,attr"`
			ViewBox string `xml:"viewBox,attr"`
			Group   struct {
				Transform string `xml:"transform,attr"`
				Circles   []struct {
					X float64 `xml:"cx,attr"`
					Y float64 `xml:"cy,attr"`
					R float64 `xml:"r,attr"`
				} `xml:"circle"`
			} `xml:"g"`
		}
		if err := xml.Unmarshal(file(t, "map.svg", r), &doc); err != nil {
			t.Fatalf("no XML: %v", err)
		}
		var flip [6]float64
		if _, err := sscan(doc.Group.Transform, &flip[0], &flip[1], &flip[2], &flip[3], &flip[4], &flip[5]); err != nil {
			t.Fatalf("transform %q: %v", doc.Group.Transform, err)
		}
		if want := [6]float64{1, 0, 0, -1, 0, unit.Round(float64(r.Cylinder.LengthMm))}; flip != want {
			t.Fatalf("transform is %v, want %v", flip, want)
		}
		if w, h := strings.TrimSuffix(doc.Width, "mm"), strings.TrimSuffix(doc.Height, "mm"); doc.ViewBox != "0 0 "+w+" "+h {
			t.Fatalf("viewBox %q is not %s by %s in mm", doc.ViewBox, w, h)
		}
		if len(doc.Group.Circles) != len(r.Pins) {
			t.Fatalf("%d circles, want %d", len(doc.Group.Circles), len(r.Pins))
		}
		for i, pin := range r.Pins {
			c := doc.Group.Circles[i]
			if !near(c.X, float64(pin.ArcMm), 1e-6) || !near(c.Y, float64(pin.AxialMm), 1e-6) || !near(2*c.R, float64(r.Cylinder.PinDiameterMm), 2e-6) {
				t.Fatalf("circle %+v is not pin %+v", c, pin)
			}
		}
	})
}

// TestArrangementMID reads the file back by the library: each pluck stands where its pin releases the tooth, every
// note ends, and the file lasts at least one turn.
func TestArrangementMID(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyResult(t)
		r.Cylinder.RevolutionMs = unit.Milliseconds(rapid.Float64Range(500, 300_000).Draw(t, "revolutionMs"))
		r.Tune.PlayedBPM = unit.BPM(rapid.SampledFrom([]float64{0, 5, 20, 61.37, 119.99, 240, 999, 1e9}).Draw(t, "playedBpm"))
		read, err := smf.ReadFrom(bytes.NewReader(file(t, "arrangement.mid", r)))
		if err != nil {
			t.Fatalf("no MIDI file: %v", err)
		}
		ticks, ok := read.TimeFormat.(smf.MetricTicks)
		if read.Format() != 0 || len(read.Tracks) != 1 || !ok {
			t.Fatalf("format %d with %d tracks in %v, want format 0 in ticks a quarter note", read.Format(), len(read.Tracks), read.TimeFormat)
		}
		type heard struct {
			key uint8
			ms  float64
		}
		var got, want []heard
		var bpm float64
		var at int64
		sounding := map[uint8]int{}
		for _, e := range read.Tracks[0] {
			at += int64(e.Delta)
			var channel, key, velocity uint8
			switch {
			case e.Message.GetMetaTempo(&bpm):
			case e.Message.GetNoteStart(&channel, &key, &velocity):
				got = append(got, heard{key, float64(at) / float64(ticks) * 60_000 / bpm})
				sounding[key]++
			case e.Message.GetNoteEnd(&channel, &key):
				sounding[key]--
			}
		}
		for key, n := range sounding {
			if n != 0 {
				t.Fatalf("key %d is started %d times more than it is ended", key, n)
			}
		}
		if end := float64(at) / float64(ticks) * 60_000 / bpm; end < float64(r.Cylinder.RevolutionMs)-0.1 {
			t.Fatalf("the file lasts %.3f ms, want a turn of %.3f", end, r.Cylinder.RevolutionMs)
		}
		for _, pin := range r.Pins {
			want = append(want, heard{uint8(r.Comb.Teeth[pin.Tooth-1].Pitch), float64(pin.AngleDeg) / 360 * float64(r.Cylinder.RevolutionMs)})
		}
		if len(got) != len(want) {
			t.Fatalf("%d plucks, want %d", len(got), len(want))
		}
		for _, w := range want { // plucks within a tick may change places
			i := slices.IndexFunc(got, func(g heard) bool { return g.key == w.key && near(g.ms, w.ms, 0.1) })
			if i < 0 {
				t.Fatalf("key %d is not plucked at %.3f ms; what is left is %v", w.key, w.ms, got)
			}
			got = slices.Delete(got, i, i+1)
		}
	})
}

// TestSettingsOfTheHoles: the hole table and the map say how each hole is set with the tools of the setup, and the same.
func TestSettingsOfTheHoles(t *testing.T) {
	for _, method := range pinmap.Methods() {
		t.Run(string(method), func(t *testing.T) {
			j := demoJob(t)
			j.Result.Setup.Bench.Method = method
			r := j.Result
			set := indexing.Of(r.Setup.Bench, r.Cylinder.Cylinder, r.Cylinder.RevolutionMs, r.Pins)
			_, rows := table(t, made(t, "holes.csv", j))
			worst, seen := 0.0, map[string]bool{}
			for i, row := range rows {
				off, err := strconv.ParseFloat(row["offMs"], 64)
				if err != nil {
					t.Fatal(err)
				}
				worst = max(worst, math.Abs(off))
				seen[row["hole"]] = true
				if (row["setToAlone"] != "") != (method == pinmap.Head) {
					t.Errorf("alone, hole %s is set to %q", row["hole"], row["setToAlone"])
				}
				if row["setTo"] != set.Setting(set.Rows[i]) || (row["setTo"] == "") != (method == pinmap.Wrap) {
					t.Errorf("hole %s is set to %q", row["hole"], row["setTo"])
				}
			}
			if !near(worst, float64(set.WorstMs), 1e-6) || len(seen) != len(r.Pins) {
				t.Errorf("the worst error is %v ms of %d holes; want %v of %d", worst, len(seen), set.WorstMs, len(r.Pins))
			}
			page := string(made(t, "drill-map.html", j))
			for head, want := range map[string]bool{"<th>on, turns</th>": method == pinmap.Head, "<th>division</th>": method == pinmap.Wheel, "<th>step</th>": method == pinmap.Stepper,
				"<th>set to</th>": method == pinmap.Degrees || method == pinmap.Sixties || method == pinmap.Vernier, "<th>off, ms</th>": method != pinmap.Wrap} {
				if strings.Contains(page, head) != want {
					t.Errorf("the map has the column %s: %v", head, !want)
				}
			}
			if method == pinmap.Head {
				first := set.Rows[indexing.Order(r.Pins)[1]]
				if want := fmt.Sprintf("<td>%d</td><td>%d</td>", set.Crank(first.Count).Turns, set.Crank(first.Count).Holes); !strings.Contains(page, want) {
					t.Errorf("the map does not set the second hole to %s", want)
				}
			}
		})
	}
}
