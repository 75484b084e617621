package project_test

import (
	"context"
	"testing"

	"pgregory.net/rapid"

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
