package main

import (
	"context"
	"errors"
	"strings"
	"testing"
)

func TestLRUKeepsWhatWasUsedLast(t *testing.T) {
	c := newLRU[string, int](3, 100)
	has := func(want string) {
		t.Helper()
		got := ""
		for _, key := range []string{"a", "b", "c", "d", "e"} {
			if _, ok := c.byKey[key]; ok {
				got += key
			}
		}
		if got != want || c.order.Len() != len(want) {
			t.Errorf("kept %q; want %q", got, want)
		}
	}
	c.put("a", 1, 10)
	c.put("b", 2, 10)
	c.put("c", 3, 10)
	if v, ok := c.get("a"); !ok || v != 1 {
		t.Errorf("a is %d, %v", v, ok)
	}
	c.put("d", 4, 10)
	has("acd")
	c.put("e", 5, 85)
	has("de")
	c.put("a", 6, 101)
	has("de")
	c.put("d", 7, 15)
	has("de")
	if v, _ := c.get("d"); v != 7 || c.size != 100 {
		t.Errorf("d is %d and all are %d large; want 7 and 100", v, c.size)
	}
	c.put("d", 8, 16)
	has("d")
	if _, ok := c.get("a"); ok {
		t.Error("a was too large and is there")
	}
}

func TestGateEndsAWaitWithItsContext(t *testing.T) {
	g := newGate(1, 1)
	ctx, cancel := context.WithCancel(t.Context())
	err := g.do(t.Context(), func() error {
		cancel()
		return g.do(ctx, func() error { return errors.New("it ran") })
	})
	if !errors.Is(err, context.Canceled) || len(g.inside) != 0 || len(g.running) != 0 {
		t.Errorf("got %v, %d inside, %d running; want a cancelled wait and an empty gate", err, len(g.inside), len(g.running))
	}
}

func TestCleanName(t *testing.T) {
	for name, want := range map[string]string{
		"":                       "",
		"a tune.mid":             "a tune.mid",
		`C:\tunes\a.mid`:         "a.mid",
		"../../etc/a.mid":        "a.mid",
		"..":                     "..",
		"/":                      "",
		"a\x00\n\u202e.mid":      "a.mid",
		"a\xff.mid":              "a�.mid",
		"Walzer für Grete.mid":   "Walzer für Grete.mid",
		strings.Repeat("ü", 200): strings.Repeat("ü", 119) + "…",
	} {
		if got := cleanName(name); got != want {
			t.Errorf("cleanName(%q) = %q; want %q", name, got, want)
		}
	}
}

func TestAmountOfBytes(t *testing.T) {
	for n, want := range map[int64]string{700: "700 bytes", 64 << 10: "64 KiB", 8 << 20: "8 MiB", 8<<20 + 64<<10: "8.06 MiB"} {
		if got := amountOfBytes(n); got != want {
			t.Errorf("amountOfBytes(%d) = %q; want %q", n, got, want)
		}
	}
}
