package tune

import (
	"encoding/hex"
	"strings"
	"testing"
)

// Standard MIDI Files 1.0 (RP-001), the table of examples; then what is beyond it.
func TestVLQ(t *testing.T) {
	tests := []struct {
		name  string
		bytes string
		value uint32
		n     int
	}{
		{"RP-001", "00", 0x00000000, 1},
		{"RP-001", "40", 0x00000040, 1},
		{"RP-001", "7F", 0x0000007F, 1},
		{"RP-001", "81 00", 0x00000080, 2},
		{"RP-001", "C0 00", 0x00002000, 2},
		{"RP-001", "FF 7F", 0x00003FFF, 2},
		{"RP-001", "81 80 00", 0x00004000, 3},
		{"RP-001", "C0 80 00", 0x00100000, 3},
		{"RP-001", "FF FF 7F", 0x001FFFFF, 3},
		{"RP-001", "81 80 80 00", 0x00200000, 4},
		{"RP-001", "C0 80 80 00", 0x08000000, 4},
		{"RP-001", "FF FF FF 7F", 0x0FFFFFFF, 4},
		{"more follows", "40 81", 0x40, 1},
		{"longer than it need be", "80 80 80 05", 5, 4},
		{"nothing", "", 0, 0},
		{"cut", "81", 0, 0},
		{"cut", "81 80 80", 0, 0},
		{"too long", "81 80 80 80 00", 0, 5},
		{"too long and cut", "FF FF FF FF", 0, 5},
	}
	for _, row := range tests {
		b, err := hex.DecodeString(strings.ReplaceAll(row.bytes, " ", ""))
		if err != nil {
			t.Fatal(err)
		}
		if value, n := vlq(b); value != row.value || n != row.n {
			t.Errorf("%s: vlq(%s) = %#x, %d; want %#x, %d", row.name, row.bytes, value, n, row.value, row.n)
		}
	}
}

// Every remark has words of its own.
func TestRemarksHaveWords(t *testing.T) {
	seen := map[string]remark{}
	for r := range remarkKinds {
		for count := 1; count <= 2; count++ {
			rs := &remarks{}
			for range count {
				rs.add(r, 3, 77)
			}
			list := rs.list()
			if len(list) != 1 || !strings.HasSuffix(list[0].String(), ".") {
				t.Errorf("remark %d: %q", r, list)
				continue
			}
			said := list[0].String()
			if other, ok := seen[said]; ok && other != r {
				t.Errorf("remarks %d and %d say the same: %s", other, r, said)
			}
			seen[said] = r
		}
	}
}
