package web

import (
	"cmp"
	"maps"
	"slices"

	"pinwright/arrange"
)

// roleChoices are what a part's select offers.
var roleChoices = []string{automatic, string(arrange.Lead), string(arrange.Bass), string(arrange.Fill), string(arrange.Off)}

func roleOf(choice string) arrange.Role { return arrange.Role(choice) }

func sortedKeys[K cmp.Ordered, V any](m map[K]V) []K { return slices.Sorted(maps.Keys(m)) }
