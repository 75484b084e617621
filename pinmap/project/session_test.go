package project_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"pgregory.net/rapid"

	"pinwright/arrange"
	"pinwright/pinmap/project"
)

// TestSession: what a session remembers of earlier decisions changes no byte of what follows from later ones.
func TestSession(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tn, s, log := anyCase(t)
		session := project.NewSession(tn, s)
		o := project.Options{Remedies: rapid.Bool().Draw(t, "remedies"), Few: rapid.Bool().Draw(t, "few")}
		for n := range len(log) + 1 {
			fresh, fault := project.Derive(context.Background(), tn, s, log[:n], o)
			again, ownFault := session.Derive(context.Background(), log[:n], o)
			if (fault == nil) != (ownFault == nil) || fault != nil && fault.Error() != ownFault.Error() {
				t.Fatalf("after %d decisions: %v, remembered %v", n, fault, ownFault)
			}
			if a, b := toJSON(t, fresh), toJSON(t, again); a != b {
				t.Fatalf("after %d decisions: %s, remembered %s", n, a, b)
			}
			if n == len(log) {
				break
			}
			d, fault := project.Accept(context.Background(), tn, s, log[:n], log[n])
			own, ownFault := session.Accept(context.Background(), log[:n], log[n])
			if toJSON(t, own) != toJSON(t, d) || (fault == nil) != (ownFault == nil) || fault != nil && fault.Error() != ownFault.Error() {
				t.Fatalf("%s is accepted as %s: %v; %v", toJSON(t, d), toJSON(t, own), fault, ownFault)
			}
		}
	})
}

// TestSessionOfRealTunes: on real tunes, after forty decisions made one after another, a session gives what is derived from them as if for the first
// time, each with the remedies that make the next one quick.
func TestSessionOfRealTunes(t *testing.T) {
	files := realTunes(t)
	setup := parse(t, `{"tempo":{"revolutionMs":30000}}`)
	for i := 0; i < len(files); i += 7 {
		data, err := os.ReadFile(files[i])
		if err != nil {
			t.Fatal(err)
		}
		t.Run(filepath.Base(files[i]), func(t *testing.T) {
			tn := read(t, data)
			session := project.NewSession(tn, setup)
			r := rand.New(rand.NewPCG(uint64(i), 1))
			notes := derive(t, tn, setup, nil, false).Tune.Notes
			var log []arrange.Decision
			for n := range 40 {
				d := decide(t, fmt.Sprintf([]string{`{"kind":"leave-out","note":%q}`, `{"kind":"shift","note":%q,"ms":12}`, `{"kind":"release","note":%q}`,
					`{"kind":"octave","note":%q,"octaves":-1}`}[r.IntN(4)], notes[r.IntN(len(notes))].ID))[0]
				if d, err = session.Accept(context.Background(), log, d); err != nil {
					continue // no tooth there
				}
				log = append(log, d)
				again, err := session.Derive(context.Background(), log, project.Options{Remedies: true, Few: true})
				if err != nil {
					t.Fatal(err)
				}
				if n%8 != 7 {
					continue
				}
				fresh, err := project.Derive(context.Background(), tn, setup, log, project.Options{Remedies: true, Few: true})
				if err != nil {
					t.Fatal(err)
				}
				if a, b := toJSON(t, fresh), toJSON(t, again); a != b {
					t.Fatalf("after %d decisions: %s, remembered %s", len(log), a, b)
				}
			}
		})
	}
}
