package bench

import (
	"pinwright/pinmap"
	"pinwright/pinmap/indexing"
)

// drillingNumbers gives, by index of the pin, the place of its hole in the drilling order, counted from 1.
func drillingNumbers(pins []pinmap.Pin) []int {
	return numbersOf(indexing.Order(pins))
}

func numbersOf(order []int) []int {
	numbers := make([]int, len(order))
	for n, k := range order {
		numbers[k] = n + 1
	}
	return numbers
}
