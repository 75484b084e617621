package bench

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// readByOthers reads the files of a folder with what Python has for each format, its own csv, xml, json and wave, and mido for MIDI; it says where a
// position is not that of the pin, to 0.001 mm and 0.001 degrees.
const readByOthers = `
import base64, csv, json, sys, wave, xml.etree.ElementTree as xml
import mido
folder = sys.argv[1]
want = json.load(open(folder + "/want.json"))
pins, turn = want["pins"], want["turnMs"]
wrong = []
def check(file, what, got, is_, most):
    if abs(float(got) - is_) > most: wrong.append("%s: %s is %s; want %s" % (file, what, got, is_))

rows = list(csv.DictReader(open(folder + "/holes.csv", newline="", encoding="utf-8")))
if len(rows) != len(pins): wrong.append("holes.csv has %d rows" % len(rows))
for row, pin in zip(rows, pins):
    for field, most in (("angleDeg", .001), ("arcMm", .001), ("axialMm", .001), ("timeMs", .01), ("tooth", 0), ("pin", 0)):
        check("holes.csv", field, row[field], pin[field], most)

teeth = list(csv.DictReader(open(folder + "/comb.csv", newline="", encoding="utf-8")))
if [int(t["pitch"]) for t in teeth] != want["pitches"]: wrong.append("comb.csv has other teeth")

svg = xml.parse(folder + "/map.svg").getroot()
space = "{http://www.w3.org/2000/svg}"
group = svg.find(space + "g")
a, b, c, d, e, f = map(float, group.get("transform")[len("matrix("):-1].split())
if (a, b, c, d, e) != (1, 0, 0, -1, 0) or svg.get("width")[-2:] != "mm" or abs(f - want["lengthMm"]) > .001: wrong.append("map.svg is not in mm, y up")
circles = group.findall(space + "circle")
if len(circles) != len(pins): wrong.append("map.svg has %d circles" % len(circles))
for circle, pin in zip(circles, pins):
    check("map.svg", "cx", circle.get("cx"), pin["arcMm"], .001)
    check("map.svg", "cy", circle.get("cy"), pin["axialMm"], .001)
    check("map.svg", "r", circle.get("r"), want["pinMm"] / 2, .001)

now, sounds = 0, []
for message in mido.MidiFile(folder + "/arrangement.mid"):
    now += message.time
    if message.type == "note_on" and message.velocity > 0: sounds.append((now * 1000 / turn * 360, message.note))
expected = sorted((pin["angleDeg"], want["pitches"][pin["tooth"] - 1]) for pin in pins)
if len(sounds) != len(expected): wrong.append("arrangement.mid has %d notes" % len(sounds))
for got, is_ in zip(sorted(sounds, key=lambda s: (round(s[0], 2), s[1])), sorted(expected, key=lambda s: (round(s[0], 2), s[1]))):
    check("arrangement.mid", "an angle", got[0], is_[0], .001)
    check("arrangement.mid", "a pitch", got[1], is_[1], 0)

project = json.load(open(folder + "/project.json", encoding="utf-8"))
if project["schema"] != "pinwright/project/1" or base64.b64decode(project["tune"], validate=True) != open(folder + "/tune", "rb").read(): wrong.append("project.json holds another tune")

sound = wave.open(folder + "/audition.wav")
if sound.getnframes() / sound.getframerate() * 1000 < turn: wrong.append("audition.wav is shorter than a turn")
print("\n".join(wrong[:10]))
`

// TestReadByOthers has every file that has no reader of its own elsewhere in the tests read back, of the demo and ten real tunes: python's csv, xml,
// json and wave, mido, and sox for the length of the sound.
func TestReadByOthers(t *testing.T) {
	judged(t, "the files read back", "/usr/bin/python3", "soxi")
	for name, j := range realJobs(t) {
		t.Run(name, func(t *testing.T) {
			dir, r := t.TempDir(), j.Result
			pitches := make([]int, len(r.Comb.Teeth))
			for i, tooth := range r.Comb.Teeth {
				pitches[i] = int(tooth.Pitch)
			}
			want, err := json.Marshal(map[string]any{"pins": r.Pins, "pitches": pitches, "turnMs": r.Cylinder.RevolutionMs, "lengthMm": r.Cylinder.LengthMm, "pinMm": r.Cylinder.PinDiameterMm})
			if err != nil {
				t.Fatal(err)
			}
			files := map[string][]byte{"want.json": want, "tune": j.Tune}
			for _, file := range []string{"holes.csv", "comb.csv", "map.svg", "arrangement.mid", "project.json", "audition.wav"} {
				files[file] = made(t, file, j)
			}
			for file, data := range files {
				if err := os.WriteFile(filepath.Join(dir, file), data, 0o600); err != nil {
					t.Fatal(err)
				}
			}
			out, err := exec.Command("/usr/bin/python3", "-c", readByOthers, dir).CombinedOutput()
			if err != nil || strings.TrimSpace(string(out)) != "" {
				t.Errorf("%v: %s", err, out)
			}
			for option, want := range map[string]string{"-c": "1", "-b": "16"} {
				if out, err := exec.Command("soxi", option, filepath.Join(dir, "audition.wav")).CombinedOutput(); err != nil || strings.TrimSpace(string(out)) != want {
					t.Errorf("soxi %s says %s, %v; want %s", option, out, err, want)
				}
			}
		})
	}
}
