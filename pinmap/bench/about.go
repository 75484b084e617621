package bench

// about says in a few words what each file is.
var about = map[string]string{
	"drill-map.html":  "the map at true scale, to wrap round the cylinder, with hole table and comb list",
	"holes.csv":       "every hole: angle, arc, distance from the bass-end face",
	"map.svg":         "the map in millimetres, for a drawing program or a cutter",
	"map.dxf":         "the map in millimetres, for CAD",
	"drill.ngc":       "drilling program for a rotary axis, RS274/NGC",
	"drill-dry.ngc":   "the same moves above the surface, spindle off: to watch before metal is cut",
	"cylinder.stl":    "the pinned cylinder as a solid",
	"cylinder.3mf":    "the pinned cylinder as a solid, with its unit",
	"end-discs.stl":   "two discs that close a printed or tubular cylinder, with arbor hole and keyway, to print: a starting point",
	"comb-trial.stl":  "a comb and a base to print, to check positions with and not the sound: a starting point",
	"arrangement.mid": "what the cylinder plays, as a MIDI file",
	"audition.wav":    "what the cylinder plays, as sound",
	"comb.csv":        "the comb: teeth, pitches and repeats",
	"project.json":    "the whole project, to keep or to move to another server",
	"bench.zip":       "all files in one, with their checksums",
}

// About says in a few words what the file of that name is; nothing where there is none.
func About(name string) string { return about[name] }
