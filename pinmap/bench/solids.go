package bench

import (
	"io"

	"pinwright/pinmap/project"
	"pinwright/pinmap/solid"
)

func cylinderSTL(w io.Writer, j Job) error { return writeSTL(w, pinned(j.Result)) }

func cylinder3MF(w io.Writer, j Job) error { return write3MF(w, pinned(j.Result), j.Result.Title) }

func endDiscsSTL(w io.Writer, j Job) error {
	c := j.Result.Cylinder
	return writeSTL(w, solid.EndDiscs(c.Cylinder, c.LengthMm, j.Result.Setup.Bench.BoreMm))
}

func combTrialSTL(w io.Writer, j Job) error {
	c := j.Result.Cylinder
	return writeSTL(w, solid.CombTrial(c.Cylinder, c.LengthMm, j.Result.Setup.Bench.BoreMm, len(j.Result.Comb.Teeth)))
}

func pinned(r *project.Result) *solid.Mesh {
	return solid.Pinned(r.Cylinder.Cylinder, r.Cylinder.LengthMm, r.Setup.Bench.BoreMm, r.Setup.Bench.PinShape, r.Pins)
}
