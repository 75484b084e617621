package bench

import (
	"cmp"
	"slices"

	"pinwright/pinmap"
)

// DrillingOrder gives the indices of the pins in the order in which their holes are drilled: track by track from the bass
// end, on each from the datum line on by angle. The cylinder always turns the same way, over the datum line to the next
// track, so that backlash does not matter, and the axial setting changes once a track.
func DrillingOrder(pins []pinmap.Pin) []int {
	order := make([]int, len(pins))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Or(cmp.Compare(pins[a].Tooth, pins[b].Tooth), cmp.Compare(pins[a].AngleDeg, pins[b].AngleDeg))
	})
	return order
}

// drillingNumbers gives, by index of the pin, the place of its hole in the drilling order, counted from 1.
func drillingNumbers(pins []pinmap.Pin) []int {
	return numbersOf(DrillingOrder(pins))
}

func numbersOf(order []int) []int {
	numbers := make([]int, len(order))
	for n, k := range order {
		numbers[k] = n + 1
	}
	return numbers
}
