package main

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/go-chi/chi/v5"

	"pinwright/arrange/tune/tunetest"
	"pinwright/fixtures"
)

// quick is a tune of n notes in one turn of the cylinder, two voices.
func quick(n int) []byte {
	steps := []byte{72, 76, 79, 84, 81, 77, 74, 83, 86, 79, 76, 72}
	var events [][]byte
	for i := range n / 2 {
		upper, lower := steps[i%len(steps)]+byte(i/7%3), steps[(i*5)%len(steps)]-12
		events = append(events, tunetest.On(0, 1, upper, 80), tunetest.On(0, 1, lower, 80), tunetest.Off(7, 1, upper), tunetest.Off(0, 1, lower))
	}
	return tunetest.File(96, tunetest.Track(events...))
}

// oneMiB is a tune of 1 MiB.
func oneMiB() []byte {
	perNote := len(scale(1001)) - len(scale(1000))
	return scale((1 << 20) / perNote)[: 1<<20 : 1<<20]
}

// mapMaker gives a function that posts a tune and wants its drill map.
func mapMaker(t testing.TB, tune []byte) func() {
	t.Helper()
	s := newSite(t)
	body, contentType := form(t, part{"tune", "a.mid", string(tune)})
	return func() {
		request := httptest.NewRequest("POST", "/api/files/drill-map.html", bytes.NewReader(body))
		request.Header.Set("Content-Type", contentType)
		answer := httptest.NewRecorder()
		s.app.routes.ServeHTTP(answer, request)
		if answer.Code != http.StatusOK || !bytes.Contains(answer.Body.Bytes(), []byte("</html>")) {
			t.Fatalf("status %d: %.300s", answer.Code, answer.Body)
		}
	}
}

func BenchmarkDrillMap400(b *testing.B) {
	for name, tune := range map[string][]byte{"all in one turn": quick(400), "an excerpt in one turn": scale(400)} {
		b.Run(name, func(b *testing.B) {
			once := mapMaker(b, tune)
			b.ReportAllocs()
			for b.Loop() {
				once()
			}
		})
	}
}

func BenchmarkDrillMapOneMiB(b *testing.B) {
	once := mapMaker(b, oneMiB())
	b.ReportAllocs()
	for b.Loop() {
		once()
	}
}

func TestDrillMapOfOneMiBAllocatesLessThan64MiB(t *testing.T) {
	once := mapMaker(t, oneMiB())
	once()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	once()
	runtime.ReadMemStats(&after)
	if bytes := after.TotalAlloc - before.TotalAlloc; bytes >= 64<<20 {
		t.Errorf("%.1f MiB were allocated; want less than 64", float64(bytes)/(1<<20))
	} else {
		t.Logf("%.1f MiB were allocated", float64(bytes)/(1<<20))
	}
}

// BenchmarkDecision400 posts decisions to stored projects of some 400 notes, each of which leaves another note out, on combs to be cut.
// ms/median is what half of them take at most; later/finding is the share of findings whose remedies the answer leaves for another request.
func BenchmarkDecision400(b *testing.B) {
	type row struct {
		name  string
		tune  []byte
		setup string
	}
	rows := []row{
		{"made, 18 teeth", quick(400), `{}`},
		{"made, 24 teeth, all keys alike", quick(400), `{"comb":{"teeth":24,"low":"C3","high":"C7"}}`},
		{"made, 36 teeth, a turn of 45 s", quick(400), `{"comb":{"teeth":36,"low":"C3","high":"C7"},"tempo":{"revolutionMs":45000}}`},
	}
	files, _ := filepath.Glob("/usr/share/games/simutrans/music/*.mid")
	if len(files) == 0 {
		b.Log("SKIPPED: Debian's simutrans-data is not installed, so decisions are timed on made tunes alone")
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			b.Fatal(err)
		}
		rows = append(rows, row{strings.TrimSuffix(filepath.Base(file), ".mid"), data, `{"tempo":{"revolutionMs":30000}}`})
	}
	for _, row := range rows {
		s := newSite(b)
		p := s.create(part{"tune", "a.mid", string(row.tune)}, part{"setup", "", row.setup})
		if n := len(p.Tune.Notes); n < 300 || n > 500 {
			continue
		}
		var took []time.Duration
		var findings, later int
		revision := 0
		b.Run(row.name, func(b *testing.B) {
			for b.Loop() {
				decision := fmt.Sprintf(`{"kind":"leave-out","note":%q}`, p.Tune.Notes[revision*17%len(p.Tune.Notes)].ID)
				request := httptest.NewRequest("POST", "/api/projects/"+p.edit()+"/decisions", strings.NewReader(decision))
				request.Header.Set("Content-Type", "application/json")
				request.Header.Set("If-Match", strconv.Quote(strconv.Itoa(revision)))
				answer := httptest.NewRecorder()
				start := time.Now()
				s.app.routes.ServeHTTP(answer, request)
				took = append(took, time.Since(start))
				if answer.Code != http.StatusOK {
					b.Fatalf("status %d: %.300s", answer.Code, answer.Body)
				}
				findings += bytes.Count(answer.Body.Bytes(), []byte(`"blocks":`))
				later += bytes.Count(answer.Body.Bytes(), []byte(`"remediesLater":true`))
				revision++
			}
			slices.Sort(took)
			b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "ms/median")
			b.ReportMetric(float64(later)/float64(max(findings, 1)), "later/finding")
		})
	}
}

// BenchmarkMapBesideBareHandler posts the demo for its drill map, and gets the same bytes from a bare handler of the router, over one connection each.
// ratio is how many of our answers come in the time of one of the bare handler's, at least 0.3 by the issue of the bench.
func BenchmarkMapBesideBareHandler(b *testing.B) {
	s := newSite(b)
	body, contentType := form(b, part{"tune", fixtures.DemoName, string(fixtures.DemoTune)}, part{"setup", "", string(fixtures.DemoSetup)})
	bytesOfMap := s.upload("/api/files/drill-map.html", part{"tune", fixtures.DemoName, string(fixtures.DemoTune)}, part{"setup", "", string(fixtures.DemoSetup)}).wantStatus(b, http.StatusOK).body
	bare := chi.NewRouter()
	bare.Post("/api/files/{name}", func(w http.ResponseWriter, r *http.Request) {
		_, _ = io.Copy(io.Discard, r.Body)
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_, _ = w.Write(bytesOfMap)
	})
	other := httptest.NewServer(bare)
	b.Cleanup(other.Close)
	once := func(base string) time.Duration {
		start := time.Now()
		response, err := s.Client().Post(base+"/api/files/drill-map.html", contentType, bytes.NewReader(body))
		if err != nil {
			b.Fatal(err)
		}
		defer response.Body.Close()
		if n, err := io.Copy(io.Discard, response.Body); err != nil || n != int64(len(bytesOfMap)) {
			b.Fatalf("%d bytes of %d came: %v", n, len(bytesOfMap), err)
		}
		return time.Since(start)
	}
	var ours, theirs []float64
	for b.Loop() {
		for range 200 { // by turns, so that both meet the same machine
			ours, theirs = append(ours, float64(once(s.URL))), append(theirs, float64(once(other.URL)))
		}
	}
	b.ReportMetric(middle(ours)/1e6, "ms/ours")
	b.ReportMetric(middle(theirs)/1e6, "ms/bare")
	b.ReportMetric(middle(theirs)/middle(ours), "ratio")
}
