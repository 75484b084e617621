package main

import (
	"bytes"
	"fmt"
	"net/http"
	"net/http/httptest"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"pinwright/arrange/tune/tunetest"
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

// BenchmarkDecision400 posts decisions to stored projects of 400 notes, each of which leaves another note out or takes it back in, on a
// comb to be cut: all in one turn of a compact movement, and on a large cylinder. ms/median is what half of them take at most.
func BenchmarkDecision400(b *testing.B) {
	for _, row := range []struct{ name, setup string }{
		{"18 teeth, all in one turn", `{}`},
		{"36 teeth, a turn of 45 s", `{"comb":{"teeth":36,"low":"C3","high":"C7"},"tempo":{"revolutionMs":45000}}`},
	} {
		b.Run(row.name, func(b *testing.B) {
			s := newSite(b)
			p := s.create(part{"tune", "a.mid", string(quick(400))}, part{"setup", "", row.setup})
			var took []time.Duration
			revision := 0
			for b.Loop() {
				decision := fmt.Sprintf(`{"kind":"leave-out","note":%q}`, p.Tune.Notes[revision/2*7%len(p.Tune.Notes)].ID)
				if revision%2 == 1 {
					decision = strings.Replace(decision, "leave-out", "release", 1)
				}
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
				revision++
			}
			slices.Sort(took)
			b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "ms/median")
		})
	}
}
