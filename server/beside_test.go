package main

import (
	"bytes"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"net/http"
	"path"
	"strings"
	"testing"

	"pinwright/fixtures"
)

// TestATuneIsPutBeside puts a project beside another by a decision longer than any setup was, takes it off again, and carries both to another place in
// the project's file.
func TestATuneIsPutBeside(t *testing.T) {
	s := newSite(t)
	demo := path.Base(s.fill("/demo", nil, nil).leads(t))
	file := s.get("/api/projects/"+demo+"/files/project.json").wantStatus(t, http.StatusOK).body
	long := binary.BigEndian.AppendUint32([]byte("junk"), 100<<10) // a chunk that is passed over
	long = append(append(bytes.Clone(fixtures.DemoTune), long...), make([]byte, 100<<10)...)
	file = bytes.Replace(file, []byte(base64.StdEncoding.EncodeToString(fixtures.DemoTune)), []byte(base64.StdEncoding.EncodeToString(long)), 1)
	token := path.Base(s.upload("/tunes", tunePart).leads(t))
	alone := s.get("/api/projects/" + token + "/files/holes.csv").body

	answer := s.decide(token, 0, `{"kind": "setup", "setup": {"beside": {"layout": "shift", "projects": [`+string(file)+`]}}}`).wantStatus(t, http.StatusOK)
	var got struct {
		Pins   []struct{ Note string }
		Beside []struct {
			Title string
			Pins  []struct{ Note string }
		}
		Decisions []struct{ Text string }
	}
	if err := json.Unmarshal(answer.body, &got); err != nil {
		t.Fatal(err)
	}
	if len(got.Beside) != 1 || len(got.Beside[0].Pins) == 0 || got.Beside[0].Title == "" || len(got.Decisions[0].Text) > 200 {
		t.Fatalf("beside it stand %+v; %+v", got.Beside, got.Decisions)
	}
	page := s.get("/edit/"+token).wantStatus(t, http.StatusOK).body
	if bytes.Contains(page, []byte(base64.StdEncoding.EncodeToString(long)[:200])) {
		t.Error("the page holds the tune of the other project")
	}

	whole := s.get("/api/projects/"+token+"/files/project.json").wantStatus(t, http.StatusOK).body
	again := path.Base(s.create(part{"tune", "project.json", string(whole)}).EditURL)
	if back := s.get("/api/projects/" + again + "/files/project.json").body; !bytes.Equal(back, whole) {
		t.Errorf("it comes back as %.300s, want %.300s", back, whole)
	}
	s.decide(token, 1, `{"kind": "undo"}`).wantStatus(t, http.StatusOK)
	if then := s.get("/api/projects/" + token + "/files/holes.csv").body; !bytes.Equal(then, alone) {
		t.Error("the holes are others after it was taken back")
	}
	refused := s.decide(token, 2, `{"kind": "setup", "setup": {"beside": {"layout": "shift", "projects": [{"schema": "pinwright/project/1"}]}}}`).wantStatus(t, http.StatusUnprocessableEntity)
	if !strings.Contains(string(refused.body), `"/setup/beside/projects/0/tune"`) {
		t.Errorf("%s", refused.body)
	}
}
