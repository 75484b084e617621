package main

import (
	"bytes"
	"net/http"
	"net/http/httptest"
	"runtime"
	"testing"

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
