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
// of teeth. For a class and a number of teeth for each of its pitches, a sweep in order of time keeps, for every way
// the notes of the last recovery time can stand, the best value (class.go). Intervals of equal length on a line can be
// shared among k teeth if and only if no moment is covered by more than k of them, so the sweep need only count. Round the
// circle the sweep starts in the class's widest pause; where even that is shorter than the recovery, it remembers the
// first plucks and meets them again at the end. The best values of the classes by number of teeth are put together by
// a knapsack (solve.go). Keys are taken in order of a bound that ignores recovery, and the rest are passed over as soon
// as none of them can do better. Values are whole hundredths, so sums are exact and ties are true ties.
//
// The sweep is exact; its answer is proven unless a class is so dense that its states outgrow a fixed limit, or counting
// was not enough round the circle. Then the best that was found is given with an upper bound that holds all the same.
package arrange
