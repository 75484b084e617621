package main

import (
	"bytes"
	"compress/gzip"
	"io"
	"net/http"
	"path"
	"regexp"
	"strings"
	"testing"

	"pinwright/static"
)

// TestDemoIsLight adds up what a browser fetches for the demo's page, compressed as it is sent: the page, its style sheet, its pictures and every
// script that they name. The bound is our own: some three seconds on a slow telephone line of 400 kbit/s.
func TestDemoIsLight(t *testing.T) {
	const most = 150_000
	s := newSite(t)
	page := s.fill("/demo", nil, nil).leads(t)
	named := regexp.MustCompile(`(?:from |import |new URL\()"(?:\./)?([a-z]+\.js)"|` + static.Prefix + `[^/"]+/([a-z]+\.(?:js|css|svg))`)
	weight := make(map[string]int)
	var fetch func(address string)
	fetch = func(address string) {
		if _, ok := weight[address]; ok {
			return
		}
		g := s.do(ask{method: http.MethodGet, path: address, header: map[string]string{"Accept-Encoding": "gzip"}}).wantStatus(t, http.StatusOK)
		weight[address] = len(g.body)
		if g.Header.Get("Content-Encoding") != "gzip" {
			if len(g.body) > 1500 {
				t.Errorf("%s is sent as it is, %d bytes", address, len(g.body))
			}
			return
		}
		r, err := gzip.NewReader(bytes.NewReader(g.body))
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range named.FindAllStringSubmatch(string(text), -1) {
			fetch(static.Path(m[1] + m[2]))
		}
	}
	fetch(page)
	total, scripts := 0, 0
	for address, n := range weight {
		total += n
		if strings.HasSuffix(address, ".js") {
			scripts++
		}
		t.Logf("%6d %s", n, path.Base(address))
	}
	t.Logf("%6d in all, %d scripts", total, scripts)
	if scripts < 15 {
		t.Errorf("%d scripts were found; the page has more", scripts)
	}
	if total > most {
		t.Errorf("the demo's page weighs %d bytes; want %d at most", total, most)
	}
}
