package bench

import (
	"io"

	"pinwright/arrange"
	"pinwright/pinmap/project"
)

// projectJSON writes the project itself, with the tune inside: what another server needs to carry on.
func projectJSON(w io.Writer, j Job) error {
	done, _ := arrange.Fold(j.Log)
	_, err := w.Write(project.Encode(project.File{FileName: j.FileName, Tune: j.Tune, Setup: j.Setup, Decisions: done}))
	return err
}
