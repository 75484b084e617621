package store

import "testing"

// Pragma gives how a connection of s is set.
func Pragma(t *testing.T, s *SQLite, name string) (value string) {
	t.Helper()
	if err := s.db.QueryRow(`PRAGMA ` + name).Scan(&value); err != nil {
		t.Fatal(err)
	}
	return value
}
