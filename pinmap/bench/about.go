package bench

// about says in a few words what each file is.
var about = map[string]string{
	"drill-map.html":  "the map at true scale, to wrap round the cylinder, with hole table and comb list",
	"holes.csv":       "every hole: angle, arc, distance from the bass-end face",
	"map.svg":         "the map in millimetres, for a drawing program or a cutter",
	"map.dxf":         "the map in millimetres, for CAD",
	"drill.ngc":       "drilling program for a rotary axis, RS274/NGC",
	"cylinder.stl":    "the pinned cylinder as a solid",
	"cylinder.3mf":    "the pinned cylinder as a solid, with its unit",
	"arrangement.mid": "what the cylinder plays, as a MIDI file",
	"audition.wav":    "what the cylinder plays, as sound",
	"comb.csv":        "the comb: teeth, pitches and repeats",
	"project.json":    "the whole project, to keep or to move to another server",
	"bench.zip":       "all files in one, with their checksums",
}

// About says in a few words what the file of that name is; nothing where there is none.
func About(name string) string { return about[name] }
