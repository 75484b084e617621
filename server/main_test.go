package main

import (
	"bufio"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"strings"
	"testing"
)

// listening reads a log until the server says where it listens, and reads the rest away.
func listening(t testing.TB, journal io.Reader) (addr string) {
	t.Helper()
	lines := bufio.NewScanner(journal)
	for lines.Scan() {
		var line struct{ Msg, Addr string }
		if json.Unmarshal(lines.Bytes(), &line) == nil && line.Msg == "listening" {
			go func() { _, _ = io.Copy(io.Discard, journal) }()
			return line.Addr
		}
		t.Logf("the server says: %s", lines.Text())
	}
	t.Fatal("the server does not say where it listens")
	return ""
}

func TestServeStopsWhenItIsTold(t *testing.T) {
	env := map[string]string{"PINWRIGHT_ADDR": "127.0.0.1:0", "PINWRIGHT_DATA": t.TempDir()}
	ctx, stop := context.WithCancel(t.Context())
	r, w := io.Pipe()
	ended := make(chan error, 1)
	go func() {
		err := serve(ctx, func(name string) string { return env[name] }, w)
		w.Close()
		ended <- err
	}()
	addr := listening(t, r)
	response, err := http.Get("http://" + addr + "/readyz")
	if err != nil {
		t.Fatal(err)
	}
	response.Body.Close()
	if response.StatusCode != http.StatusOK {
		t.Errorf("status %d", response.StatusCode)
	}
	env["PINWRIGHT_ADDR"] = strings.Replace(addr, "127.0.0.1", "0.0.0.0", 1)
	if err := askHealth(t.Context(), func(name string) string { return env[name] }, nil); err != nil {
		t.Errorf("a living server is not healthy: %v", err)
	}
	stop()
	if err := <-ended; err != nil {
		t.Errorf("serve ends with %v", err)
	}
	if err := askHealth(t.Context(), func(name string) string { return env[name] }, nil); err == nil {
		t.Error("a stopped server is healthy")
	}
}

func TestServeFailsWithAReason(t *testing.T) {
	for name, env := range map[string]map[string]string{
		"embedded database": {"PINWRIGHT_DATABASE_URL": "postgres://localhost/pins"},
		"listen":            {"PINWRIGHT_ADDR": "256.0.0.1:0", "PINWRIGHT_DATA": t.TempDir()},
		"data folder":       {"PINWRIGHT_ADDR": "127.0.0.1:0", "PINWRIGHT_DATA": "/dev/null"},
	} {
		t.Run(name, func(t *testing.T) {
			err := serve(t.Context(), func(name string) string { return env[name] }, io.Discard)
			if err == nil || !strings.Contains(err.Error(), name) {
				t.Errorf("got %v; want an error about %q", err, name)
			}
		})
	}
}
