// Package bench writes the files that go to the bench: the drill map, the hole list, the comb's list and the rest.
package bench
