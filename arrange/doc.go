// Package arrange reduces a tune to a comb: it gives each note its role, chooses the key, the teeth and the octave of
// each note, and keeps the plucks of every tooth apart. It also holds the terms in which the result is discussed:
// findings, remedies and decisions.
//
// # The optimisation
//
// Given notes with times on a cylinder that turns once in T, choose a transposition x and for each note at most one of
// the pitches p + x + {0, ±12, ±24}, so that the sum of role value × shift factor is greatest, subject to
//
//   - every pitch is on the comb: given (fixed), or chosen among low..high with n teeth, at most maxTwins alike (cut);
//   - at one onset a pitch is plucked once;
//   - the plucks of a pitch with k teeth can be shared among them so that each tooth's plucks lie repeatMs apart round
//     the circle.
//
// # How it is solved, and why the answer is the best
//
// An octave keeps the pitch class, so for one x the notes fall into twelve classes that share nothing but the number of
// teeth. A way is a number of teeth for each pitch of a class. The best value of a key is the greatest sum of one way of
// each class that has no more teeth than the comb: a knapsack, which is solved exactly. It remains to know what each way
// is worth.
//
// The worth of one way (sweep.go). A sweep in order of time keeps, for every way in which the notes of the last repeat
// time can stand, the best value that leads there. Intervals of equal length on a line can be shared among k teeth if and
// only if no moment is covered by more than k of them, so the sweep need only count. Round the circle it starts in the
// class's widest pause; where even that is shorter than the repeat time, it remembers the first plucks and meets them again
// at the end. A state is dropped only where another allows all that it allows and is worth as much. So what a sweep that
// kept all other states finds is exact.
//
// Bounds on all ways (prices.go). Where states are many, and to look at few ways only, each note gets a price: the rule that
// a note is plucked once is lifted, and a row that takes the note pays for it. By weak duality the prices and what each row
// alone would then bring are together at least what any choice is worth. One set of prices bounds every way of the class, and
// bounds what the rest of a tune can bring, so that a sweep may drop the states that cannot better what is known.
//
// Putting it together (solve.go). The knapsack is solved with the bounds of the ways; the ways that it takes are priced or
// swept, which lowers their bounds or makes them known; and so on until it takes only ways that are known. Its sum is then
// both what can be had and a bound on all the others: it is the best. Where a class has too many ways to list them, one
// stands for all that cost as much, with their common bound, and they are told apart only when the knapsack takes it.
//
// Keys are outlined first by what they would be worth if every tooth recovered at once, and solved in that order; one is left
// as soon as its bound cannot win. Values are whole hundredths, so sums are exact and ties are true ties: they go to the
// smaller change of key, then upwards.
//
// A comb of which some teeth may be retuned, or to which some are added, is the same with a second figure in the knapsack: the
// teeth that are not among those given. One comb for several tunes is the same with ways whose worth is summed over the tunes
// (joint.go). Locked notes have a single place, which a sweep must take; they may stand nearer to each other than free notes,
// since the user has decided it and a finding says what is wrong with it.
//
// Round the circle counting may not be enough: five plucks of which each reaches the next never cover a moment more than twice, and
// are yet too many for two teeth. Where the class has no pause as long as a repeat time, what was chosen is shared out for a
// test; where that fails, the class is swept with a row for each tooth, on which counting is exact (circle.go).
//
// The answer is not proven, and says so with an upper bound that holds all the same, where the work allowed was spent
// (Problem.Work: a count of steps, so that the result is the same on any machine), where a class has more than 31 notes within one
// repeat time, or where the states of a sweep are too many in spite of the prices.
//
// Twins share their plucks so that the shortest ring is as long as it can be, then the next (twins.go, turns.go); teeth left over
// go where they lengthen the shortest rings most, by another knapsack.
//
// # Cost
//
// A key takes about n log n for sorting and, for each way that is swept, n times the square of the states, which depend on
// the density of the tune and not on its length; outlining a key takes no longer for a longer tune. Measured (BenchmarkGrowth, two
// cores): seven notes a second on a cylinder with 144 teeth, however long its turn, all 49 keys, proven.
//
//	notes    time    a note   allocated
//	100       13 ms  130 µs     7.0 MB
//	1 000     36 ms   36 µs    17.9 MB
//	10 000    48 ms    5 µs    28.1 MB
//	100 000  314 ms    3 µs   227.5 MB
//
// The shorter tunes take longer a note, since with teeth in plenty the spare ones are shared out with care.
package arrange
