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
// # How it is solved
//
// An octave keeps the pitch class, so for one x the notes fall into twelve classes that share nothing but the number
// of teeth.
//
// A class with a number of teeth for each of its pitches is solved by a sweep in order of time (sweep.go), which keeps,
// for every way the notes of the last repeat time can stand, the best value. Intervals of equal length on a line can be
// shared among k teeth if and only if no moment is covered by more than k of them, so the sweep need only count. Round
// the circle it starts in the class's widest pause; where even that is shorter than the repeat time, it remembers the
// first plucks and meets them again at the end. A state is dropped where another allows all that it allows and is worth
// as much. Where a class is so dense that the states are still too many, prices on the notes (prices.go, Lagrangian
// duality) bound what the rest of the tune can bring, and states that cannot better what is known are dropped too.
//
// The classes are put together by a knapsack over the teeth (solve.go). It is solved with bounds first; the ways of
// sharing teeth that it takes are then swept, which lowers their bounds, until it takes only ways that are known: no
// other can do better then. Keys are taken in order of a bound, and left as soon as they cannot win. Values are whole
// hundredths, so sums are exact and ties are true ties.
//
// The answer is proven unless the states of a class outgrow a fixed limit in spite of the prices, or counting was not
// enough round the circle. Then the best that was found is given with an upper bound that holds all the same.
//
// Cost: a key takes about n log n for sorting and, for each way that is swept, n times the square of the states, which
// depend on the density of the tune and not on its length.
package arrange
