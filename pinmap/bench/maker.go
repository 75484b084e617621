package bench

import (
	"io"

	"pinwright/arrange"
	"pinwright/pinmap/project"
)

// Job is everything that a file can be made from.
type Job struct {
	Result   *project.Result
	Paper    Paper  // of the drill map; empty is A4
	Revision int    // decisions made so far, undo and redo among them
	Tune     []byte // as uploaded
	FileName string // of the tune, as uploaded
	Setup    project.Setup
	Log      []arrange.Decision
	Link     string   // address at which the stored project can be looked at; empty for a tune that is not stored
	Files    []string // names of those that bench.zip may hold; nil: all

	several *several
}

// Maker writes one kind of file.
type Maker struct {
	MediaType string
	Write     func(w io.Writer, j Job) error
}

// names lists the files in the order in which they are offered.
var names = []string{"drill-map.html", "drill-map.pdf", "holes.csv", "map.svg", "map.dxf", "drill.ngc", "drill-dry.ngc", "cylinder.stl", "cylinder.3mf", "end-discs.stl", "comb-trial.stl", "arrangement.mid", "audition.wav", "comb.csv", "project.json", zipName}

// Names gives the names of all files, in the order in which they are offered.
func Names() []string { return append([]string(nil), names...) }

// File gives the maker of the file of that name; it reports whether there is one.
func File(name string) (Maker, bool) {
	switch name {
	case "drill-map.html":
		return Maker{"text/html; charset=utf-8", allTunes(drillMap)}, true
	case "drill-map.pdf":
		return Maker{"application/pdf", allTunes(drillMapPDF)}, true
	case "holes.csv":
		return Maker{"text/csv; charset=utf-8; header=present", allTunes(holesCSV)}, true
	case "map.svg":
		return Maker{"image/svg+xml", allTunes(mapSVG)}, true
	case "map.dxf":
		return Maker{"image/vnd.dxf", allTunes(mapDXF)}, true
	case "drill.ngc":
		return Maker{"text/plain; charset=us-ascii", allTunes(drillNGC)}, true
	case "drill-dry.ngc":
		return Maker{"text/plain; charset=us-ascii", allTunes(drillDryNGC)}, true
	case "cylinder.stl":
		return Maker{"model/stl", allTunes(cylinderSTL)}, true
	case "cylinder.3mf":
		return Maker{"model/3mf", allTunes(cylinder3MF)}, true
	case "end-discs.stl":
		return Maker{"model/stl", allTunes(endDiscsSTL)}, true
	case "comb-trial.stl":
		return Maker{"model/stl", allTunes(combTrialSTL)}, true
	case "arrangement.mid":
		return Maker{"audio/midi", arrangementMID}, true
	case "audition.wav":
		return Maker{"audio/wav", auditionWAV}, true
	case "comb.csv":
		return Maker{"text/csv; charset=utf-8; header=present", allTunes(combCSV)}, true
	case "project.json":
		return Maker{"application/json", projectJSON}, true
	case zipName:
		return Maker{"application/zip", benchZip}, true
	}
	return Maker{}, false
}
