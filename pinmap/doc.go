// Package pinmap says where each pin of the cylinder goes, and which holes lie too near each other.
//
// Angles grow in the order in which pins reach the comb; the datum line, angle 0, lies in the middle of the silent gap, and
// the first onset of the excerpt stands at half the gap. Arcs are measured at the bare surface from the datum line,
// axial distances from the bass-end face.
package pinmap
