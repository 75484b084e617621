// Package arrange reduces a tune to a comb: it gives each note its role, chooses the key, the teeth and the octave of
// each note, and keeps the plucks of every tooth apart. It also holds the terms in which the result is discussed:
// findings, remedies and decisions.
//
// # The optimisation
//
// Given notes with times on a cylinder that turns once in T, choose a transposition x and for each note at most one of
// the pitches p + x + {0, ±12, ±24}, so that the sum of role value × shift factor is greatest: a lead is worth 10, a bass 5, a
// fill 3, and of that a note keeps all at its own pitch, 0.6 an octave and 0.45 two octaves from it. Subject to
//
//   - every pitch is on the comb: one that is given, or one to be cut, of n teeth chosen among low..high, at most maxTwins of
//     them alike;
//   - at one onset, that is within 10 ms as they are plucked, a pitch is plucked once;
//   - the plucks of a pitch with k teeth can be shared among them so that each tooth's plucks lie at least repeatMs apart
//     round the circle.
//
// # How it is solved, and why the answer is the best
//
// An octave keeps the pitch class, so for one x the notes fall into twelve classes that share nothing but the number of
// teeth. A row is a pitch of a class that the comb has or may have; a way is a number of teeth for each row. The best value of a
// key is the greatest sum of one way of each class that has no more teeth than the comb: a knapsack, which is solved exactly. It
// remains to know what each way is worth.
//
// The worth of one way (sweep.go). A sweep in order of time keeps, for every way in which the notes of the last repeat
// time can stand, the best value that leads there. A pluck holds its tooth from its moment up to, and not including, the moment one
// repeat time later. Such intervals of equal length on a line can be shared among k teeth if and only if no moment is covered by
// more than k of them, so the sweep need only count. The circle is cut in the class's widest pause. Where that is a repeat time
// long, no interval crosses the cut, and the circle is a line; where it is shorter, the sweep remembers the first plucks and meets
// them again at the end. A state is dropped where another is worth as much and whatever may follow the one may follow the other,
// which cannot change the greatest value at the end. So the sweep finds the most that counting allows.
//
// Round the circle, cut where no pause is long enough, counting allows at least what teeth can do, and now and then more: five
// plucks of which each reaches the next never cover a moment more than twice, and are yet too many for two teeth. So what the
// sweep chose is then shared out for a test. Where that works, it is the best; where it fails, the class is swept with a row for
// each tooth, on which no two plucks may overlap, and there counting is exact (circle.go).
//
// Bounds on all ways (prices.go). Where states are many, and to look at few ways only, each note gets a price: the rule that
// a note is plucked once is lifted, and a row that takes the note pays for it. By weak duality the prices and what each row
// alone would then bring are together at least what any choice is worth. One set of prices bounds every way of the class. It
// also bounds what the rest of a tune can bring; a sweep that looks only for something better than what is known drops the states
// that cannot lead there, and where it ends with none, what is known is the best.
//
// Putting it together (ways.go, knapsack.go, solve.go). The knapsack is solved with the bounds of the ways; the ways that it takes
// are priced or swept, each at most once, which lowers their bounds or makes them known; and so on until it takes only ways that
// are known. Its sum is then both what can be had and a bound on all the others: it is the best. Then the ways that might make up the same
// sum with as few teeth are looked at too, so that which of equals is taken does not depend on the order in which they were found. Where a class has too many ways
// to list them, one stands for all that have as many teeth, with the greatest of their bounds, and gives way to them one by one
// when the knapsack takes it.
//
// Keys are outlined first by what they would be worth if a tooth could be plucked again at once, and solved in that order. One is
// left as soon as its bound is less than what another key has, or as much where the tie would go against it. Values are whole
// hundredths, so sums are exact and ties are true ties: they go to the smaller change of key, then upwards.
//
// A comb of which some teeth may be retuned, or to which some are added, is the same with a second figure in the knapsack: the
// teeth that are not among those given. One comb for several tunes, each in a key of its own, is the same with ways whose worth is
// summed over the tunes (joint.go). Locked notes have a single place, which a sweep must take; two of them may stand nearer to each
// other than free notes, since the user has decided it and a finding says what is wrong with it, and no free note is put where
// they leave no room.
//
// Keys differ in little: most classes of one are those of the next a semitone higher. A repeat time counts only by which notes stand too near
// to each other, so it is rounded to half-way between the distances of notes that are and those that are not; then classes that
// differ in their pitches alone share all that is found out about them (class.go).
//
// After a decision (again.go) only the classes of the notes that it speaks of are new, and what bounded a key or a way before bounds it
// still, or falls short by no more than the notes can gain: nothing, where each stands as near to the others as it did or has fewer places.
// So most keys fall at once, and few ways are left to look at.
//
// The answer is not proven where the work allowed was spent (Problem.Work: a count of steps, so that the result is the same on any
// machine), where a class has more than 31 notes within one repeat time, or where the states of a sweep are too many in spite of the
// prices. Then the best that was found is given, with the greatest bound of any key as its upper bound; a key that was not reached
// counts with its outline.
//
// Twins share their plucks so that the shortest ring is as long as it can be, then the next (twins.go, turns.go): by taking turns where the
// teeth divide the plucks, which is optimal by exchange; else, up to four teeth and 128 plucks of a pitch, by the best walk through all ways in which
// the teeth can stand. Teeth left over go where they lengthen the shortest rings most, by another knapsack.
//
// # Cost
//
// A key takes about n log n for sorting and, for each way that is swept, n times the square of the states, which depend on
// the density of the tune and not on its length. An outline depends on how many different pitches and roles there are, not on how
// many notes. Measured (BenchmarkGrowth, two
// cores): seven notes a second on a cylinder with 144 teeth, however long its turn, all 49 keys, proven.
//
//	notes    time    a note   allocated
//	100        6 ms   56 µs     4.1 MB
//	1 000     42 ms   42 µs    39.0 MB
//	10 000    35 ms    4 µs    24.3 MB
//	100 000  298 ms    3 µs   222.4 MB
//
// The shorter tunes take longer a note: teeth are in plenty there, where each of the spare ones lengthens a ring most is tried out, and
// the plucks of a pitch are few enough that the best turn of its teeth is searched for.
package arrange
