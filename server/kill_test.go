package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// anyPort is any free port of this machine alone.
const anyPort = "127.0.0.1:0"

// build makes the server's binary.
func build(t *testing.T) string {
	t.Helper()
	binary := filepath.Join(t.TempDir(), "pinwright")
	if out, err := exec.Command("go", "build", "-o", binary, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	return binary
}

// TestAcknowledgedDecisionsOutliveAKill kills the server, as kill -9 does, somewhere in the middle of fifty decisions, starts
// it again on the same data, and wants every decision that was acknowledged.
func TestAcknowledgedDecisionsOutliveAKill(t *testing.T) {
	binary := build(t)
	const rounds, decisions = 6, 50
	for round := range rounds {
		t.Run(fmt.Sprintf("round %d", round+1), func(t *testing.T) {
			data := t.TempDir()
			first := start(t, binary, data, anyPort)
			token := first.create(t)
			var acknowledged []string
			killAt := 1 + rand.IntN(decisions-1)
			for i := range decisions {
				title := fmt.Sprintf("decision %d", i+1)
				if i == killAt {
					go first.kill() // while the next decisions are under way
				}
				if err := first.decide(token, i, title); err != nil {
					break
				}
				acknowledged = append(acknowledged, title)
			}
			first.kill()
			if len(acknowledged) < killAt {
				t.Fatalf("%d decisions were acknowledged before the kill; want at least %d", len(acknowledged), killAt)
			}

			second := start(t, binary, data, anyPort)
			defer second.kill()
			got := second.read(t, token)
			// One more may have been written whose acknowledgement never came.
			if n := got.Revision; n != len(acknowledged) && n != len(acknowledged)+1 {
				t.Fatalf("%d decisions are there; %d were acknowledged", n, len(acknowledged))
			}
			for i, title := range acknowledged {
				var d struct{ Setup struct{ Title string } }
				if err := json.Unmarshal(got.Decisions[i].Decision, &d); err != nil {
					t.Fatal(err)
				}
				if d.Setup.Title != title {
					t.Errorf("decision %d is %q; want %q", i+1, d.Setup.Title, title)
				}
			}
			if err := second.decide(token, got.Revision, "after the kill"); err != nil {
				t.Errorf("no decision can be made after the kill: %v", err)
			}
			t.Logf("killed after %d acknowledged decisions, %d found", len(acknowledged), got.Revision)
		})
	}
}

// process is a server of its own.
type process struct {
	command *exec.Cmd
	base    string
	dead    chan struct{} // closed once the process is gone
}

func start(t *testing.T, binary, data, address string) *process {
	t.Helper()
	command := exec.Command(binary)
	command.Env = append(os.Environ(), "PINWRIGHT_ADDR="+address, "PINWRIGHT_DATA="+data, "PINWRIGHT_RATE=off", "PINWRIGHT_DATABASE_URL=")
	r, w := io.Pipe()
	command.Stderr = w
	if err := command.Start(); err != nil {
		t.Fatal(err)
	}
	p := &process{command: command, dead: make(chan struct{})}
	go func() {
		_ = command.Wait() // it was killed, so it always fails
		w.Close()
		close(p.dead)
	}()
	t.Cleanup(p.kill)
	p.base = "http://" + listening(t, r)
	return p
}

// kill ends the process with SIGKILL and waits until it is gone.
func (p *process) kill() {
	_ = p.command.Process.Kill() // it may be gone already
	<-p.dead
}

func (p *process) create(t *testing.T) (token string) {
	t.Helper()
	body, contentType := form(t, tunePart)
	response, err := http.Post(p.base+"/api/projects", contentType, bytes.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	var answer projectAnswer
	if err := json.NewDecoder(response.Body).Decode(&answer); err != nil || response.StatusCode != http.StatusCreated {
		t.Fatalf("status %d, %v", response.StatusCode, err)
	}
	return answer.edit()
}

// decide sets the title; it is acknowledged once the status has come.
func (p *process) decide(token string, revision int, title string) error {
	request, err := http.NewRequest("POST", p.base+"/api/projects/"+token+"/decisions", bytes.NewReader([]byte(setup(title))))
	if err != nil {
		return err
	}
	request.Header.Set("Content-Type", "application/json")
	request.Header.Set("If-Match", etag(revision))
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		return err
	}
	defer response.Body.Close()
	if response.StatusCode != http.StatusOK {
		return fmt.Errorf("status %d", response.StatusCode)
	}
	_, _ = io.Copy(io.Discard, response.Body) // the status alone acknowledges
	return nil
}

type killed struct {
	Revision  int
	Decisions []struct{ Decision json.RawMessage }
}

func (p *process) read(t *testing.T, token string) (k killed) {
	t.Helper()
	response, err := http.Get(p.base + "/api/projects/" + token)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	if err := json.NewDecoder(response.Body).Decode(&k); err != nil || response.StatusCode != http.StatusOK {
		t.Fatalf("status %d, %v", response.StatusCode, err)
	}
	return k
}
