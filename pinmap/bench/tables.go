package bench

import (
	"fmt"
	"math"
	"strconv"

	"pinwright/arrange"
	"pinwright/pinmap"
	"pinwright/pinmap/indexing"
	"pinwright/pinmap/project"
)

// part is a piece of the tables: a heading, a paragraph, a list or a table, whatever is set of them.
type part struct {
	heading string
	apart   bool   // the heading begins a page
	text    string // a paragraph
	mark    string // of the paragraph: good, bad or none
	list    []string
	table   *grid
}

// grid is rows of cells, a table however it is set.
type grid struct {
	caption string
	columns []tableColumn
	whole   bool // stays on one page
	rows    func(row func(*cells))
}

// tableColumn is one column of a table. Its width is in letters; what is left of the page's width is shared out in the same
// proportion.
type tableColumn struct {
	head    string
	letters int
	left    bool // words rather than figures
	box     bool // a box to tick, no words
}

// cells are those of one row, in the order of the columns. One is used for all rows.
type cells struct {
	buf   []byte
	ends  []int
	apart bool // a rule stands over the row
}

func (c *cells) reset() { c.buf, c.ends, c.apart = c.buf[:0], c.ends[:0], false }

func (c *cells) put(b []byte) *cells {
	c.buf, c.ends = b, append(c.ends, len(b))
	return c
}

func (c *cells) text(s string) *cells { return c.put(append(c.buf, s...)) }
func (c *cells) int(n int) *cells     { return c.put(strconv.AppendInt(c.buf, int64(n), 10)) }

// fixed adds v with that many decimals.
func (c *cells) fixed(v float64, decimals int) *cells {
	if v == 0 {
		v = 0 // a negative zero would print its sign
	}
	return c.put(strconv.AppendFloat(c.buf, v, 'f', decimals, 64))
}

// at gives the words of a cell.
func (c *cells) at(i int) []byte {
	from := 0
	if i > 0 {
		from = c.ends[i-1]
	}
	return c.buf[from:c.ends[i]]
}

// tables gives what belongs beside the sheets: findings, holes, comb, changes, cautions and assumptions.
func (m drillMapOf) tables() []part {
	j, v, r := m.job, m.verdict, m.job.Result
	mark := "good"
	if !v.clear {
		mark = "bad"
	}
	about := fmt.Sprintf("Identification number: %s. Revision: %d. Date of issue: %s.", m.id, j.Revision, date(r.Setup.Date))
	if j.FileName != "" {
		about += " File of the tune: " + j.FileName + "."
	}
	parts := []part{
		{text: v.headline, mark: mark},
		{text: about},
		{heading: "Cautions", list: cautions[:]},
	}
	parts = append(parts, findingParts(r)...)
	parts = append(parts, changeParts(r)...)
	return append(parts,
		part{heading: "Comb", table: combTable(r)},
		part{heading: "Assumptions: measure your own", table: assumptionTable(r)},
		part{heading: "Holes in drilling order", apart: true, table: m.holeTable(true)},
		part{heading: "Holes by angle", apart: true, table: m.holeTable(false)},
	)
}

// cautions come from design.md, section 9: local rules first, then what can hurt, then what can spoil the work.
var cautions = [...]string{
	"Local codes and licensed practice come first. The numbers here are starting points from a model; your own measurement decides.",
	"Small drills break: wear eye protection, feed slowly, and wear no gloves near the spindle.",
	"A wound mainspring can injure: let it down under control before any gear or the governor is touched.",
	"A movement whose governor or a gear is removed while it is wound runs away and wrecks itself.",
	"Tip weights are often lead, and solder and cement give fumes: wear gloves for these, ventilate, wash your hands, keep lead from children and follow local rules on lead.",
}

func findingParts(r *project.Result) []part {
	if len(r.Findings) == 0 {
		return []part{{heading: "Findings", text: "None is left open."}}
	}
	parts := []part{{heading: "Findings"}}
	for _, group := range []struct {
		blocks bool
		name   string
	}{{true, "These stand in the way of drilling:"}, {false, "These do not stand in the way:"}} {
		var list []string
		for _, f := range r.Findings {
			if f.Blocks == group.blocks {
				list = append(list, where(f)+f.Text.String())
			}
		}
		if len(list) > 0 {
			parts = append(parts, part{text: group.name, list: list})
		}
	}
	return parts
}

// where names the place of a finding, where it has one.
func where(f arrange.Finding) string {
	if len(f.Notes) == 0 {
		return ""
	}
	return fmt.Sprintf("Bar %d, beat %s: ", f.Bar, trim(f.Beat))
}

// changeParts says in words what differs from the tune as written.
func changeParts(r *project.Result) []part {
	notes := make(map[string]arrange.Note, len(r.Tune.Notes))
	for _, n := range r.Tune.Notes {
		notes[n.ID] = n
	}
	out := "none is left out"
	if n := len(r.Arrangement.Dropped); n > 0 {
		out = count(n, "is", "are") + " left out"
	}
	list := []string{key(r.Arrangement.Transpose), count(len(r.Arrangement.Plucks), "note is", "notes are") + " played, " + out + "."}
	for _, d := range r.Arrangement.Dropped {
		list = append(list, called(notes[d.Note], d.Note)+" left out: "+d.Reason.String())
	}
	for _, pluck := range r.Arrangement.Plucks {
		if pluck.Octaves == 0 && pluck.ShiftMs == 0 {
			continue
		}
		s := called(notes[pluck.Note], pluck.Note) + " is plucked as " + pluck.Pitch.String() + " on tooth " + strconv.Itoa(pluck.Tooth)
		if pluck.Octaves != 0 {
			s += ", " + count(int(math.Abs(float64(pluck.Octaves))), "octave", "octaves") + upOrDown(pluck.Octaves)
		}
		if pluck.ShiftMs != 0 {
			s += fmt.Sprintf(", %s ms %s", trim(math.Abs(float64(pluck.ShiftMs))), lateOrEarly(float64(pluck.ShiftMs)))
		}
		list = append(list, s)
	}
	parts := []part{{heading: "What was changed or left out", list: list}}
	if len(r.Decisions) > 0 {
		decisions := part{text: "Decisions in force:"}
		for _, d := range r.Decisions {
			decisions.list = append(decisions.list, d.Text.String())
		}
		parts = append(parts, decisions)
	}
	return parts
}

// called names a note of the tune by its pitch as written and its place.
func called(n arrange.Note, id string) string {
	if n.ID == "" {
		return "note " + id
	}
	return fmt.Sprintf("%s in bar %d, beat %s,", n.Name, n.Bar, trim(n.Beat))
}

func key(semitones int) string {
	if semitones == 0 {
		return "The key is as written."
	}
	return "The tune is moved by " + count(int(math.Abs(float64(semitones))), "semitone", "semitones") + upOrDown(semitones) + "."
}

func upOrDown(n int) string {
	if n < 0 {
		return " down"
	}
	return " up"
}

func lateOrEarly(ms float64) string {
	if ms < 0 {
		return "early"
	}
	return "late"
}

func combTable(r *project.Result) *grid {
	return &grid{
		columns: []tableColumn{{head: "tooth", letters: 6}, {head: "note", letters: 6, left: true}, {head: "frequency Hz", letters: 13}, {head: "twin", letters: 8},
			{head: "plucks", letters: 7}, {head: "repeat needed ms", letters: 17}, {head: "nearest ms", letters: 11}, {head: "governed by", letters: 14, left: true}},
		rows: func(row func(*cells)) {
			var c cells
			for _, t := range r.Comb.Teeth {
				c.reset()
				c.int(t.Tooth).text(t.Note).fixed(float64(t.FrequencyHz), 2)
				if t.Twins > 1 {
					c.text(fmt.Sprintf("%d of %d", t.Twin, t.Twins))
				} else {
					c.text("none")
				}
				c.int(t.Plucks).fixed(float64(t.RepeatMs), 1)
				if t.NearestMs != nil {
					c.fixed(float64(*t.NearestMs), 1)
				} else {
					c.text("no repeat")
				}
				row(c.text(t.GovernedBy))
			}
		},
	}
}

// assumptionTable lists the figures that everything was computed from.
func assumptionTable(r *project.Result) *grid {
	c := r.Cylinder
	return &grid{
		whole:   true,
		columns: []tableColumn{{head: "quantity", letters: 45, left: true}, {head: "value", letters: 12}, {head: "unit", letters: 12, left: true}},
		rows: func(row func(*cells)) {
			var line cells
			for _, a := range []struct {
				name  string
				value float64
				unit  string
			}{
				{"diameter of the bare cylinder, D", float64(c.DiameterMm), "mm"},
				{"circumference at the bare surface, πD", float64(c.CircumferenceMm), "mm"},
				{"length", float64(c.LengthMm), "mm"},
				{"pin diameter", float64(c.PinDiameterMm), "mm"},
				{"pin projection", float64(c.PinProjectionMm), "mm"},
				{"depth of the holes", float64(c.HoleDepthMm), "mm"},
				{"least metal between two holes", float64(c.HoleWebMm), "mm"},
				{"tooth lift at release", float64(c.LiftMm), "mm"},
				{"tooth spacing", float64(c.ToothSpacingMm), "mm"},
				{"bass-end face to the first track", float64(c.FirstTrackMm), "mm"},
				{"gap", float64(c.GapDeg), "degrees"},
				{"paper thickness, p", float64(c.PaperMm), "mm"},
				{"one turn of the cylinder", float64(c.RevolutionMs), "ms"},
				{"damping", r.Setup.Comb.DampingCycles, "cycles"},
				{"least ring", float64(r.Setup.Comb.LeastRingMs), "ms"},
			} {
				line.reset()
				row(line.text(a.name).text(trim(a.value)).text(a.unit))
			}
		},
	}
}

// holeColumn is a column of the hole tables and what it holds of a hole; number is its place in the drilling order.
type holeColumn struct {
	tableColumn
	cell func(c *cells, pin pinmap.Pin, number int)
}

// holeColumns gives the columns of a hole table; set is how the holes are set, where the table says so in place of where they lie in the tune.
func holeColumns(j Job, set *indexing.Table) []holeColumn {
	r := j.Result
	columns := []holeColumn{
		{tableColumn{head: "drilled", letters: 8, left: true, box: true}, func(c *cells, _ pinmap.Pin, _ int) { c.text("") }},
		{tableColumn{head: "hole", letters: 6}, func(c *cells, pin pinmap.Pin, number int) { c.text(j.holeNumber(pin.Pin-1, number)) }},
		{tableColumn{head: "pin", letters: 6}, func(c *cells, pin pinmap.Pin, _ int) { c.int(pin.Pin) }},
		{tableColumn{head: "tooth", letters: 6}, func(c *cells, pin pinmap.Pin, _ int) { c.int(pin.Tooth) }},
		{tableColumn{head: "note", letters: 6, left: true}, func(c *cells, pin pinmap.Pin, _ int) { c.text(toothNote(r, pin.Tooth)) }},
		{tableColumn{head: "angle °", letters: 9}, func(c *cells, pin pinmap.Pin, _ int) { c.fixed(float64(pin.AngleDeg), 3) }},
		{tableColumn{head: "arc mm", letters: 9}, func(c *cells, pin pinmap.Pin, _ int) { c.fixed(float64(pin.ArcMm), 3) }},
		{tableColumn{head: "axial mm", letters: 9}, func(c *cells, pin pinmap.Pin, _ int) { c.fixed(float64(pin.AxialMm), 3) }},
	}
	if set != nil {
		return append(columns, settingColumns(set)...)
	}
	return append(columns, []holeColumn{
		{tableColumn{head: "bar", letters: 5}, func(c *cells, pin pinmap.Pin, _ int) { c.int(pin.Bar) }},
		{tableColumn{head: "beat", letters: 6}, func(c *cells, pin pinmap.Pin, _ int) { c.text(trim(pin.Beat)) }},
	}...)
}

// settingColumns gives the columns that say how each hole is set and by how much it is off then.
func settingColumns(set *indexing.Table) (columns []holeColumn) {
	add := func(head string, letters int, text func(indexing.Row) string) {
		columns = append(columns, holeColumn{tableColumn{head: head, letters: letters}, func(c *cells, pin pinmap.Pin, _ int) { c.text(text(set.Rows[pin.Pin-1])) }})
	}
	switch set.Method {
	case pinmap.Head:
		add("turns", 6, func(r indexing.Row) string { return strconv.Itoa(set.Crank(r.Count).Turns) })
		add("holes", 6, func(r indexing.Row) string { return strconv.Itoa(set.Crank(r.Count).Holes) })
		add("on, turns", 8, func(r indexing.Row) string { return strconv.Itoa(set.Crank(r.Move).Turns) })
		add("holes", 6, func(r indexing.Row) string { return strconv.Itoa(set.Crank(r.Move).Holes) })
	case pinmap.Wheel, pinmap.Stepper:
		add(map[pinmap.Method]string{pinmap.Wheel: "division", pinmap.Stepper: "step"}[set.Method], 9, func(r indexing.Row) string { return strconv.FormatInt(r.Count, 10) })
		add("on by", 9, func(r indexing.Row) string { return strconv.FormatInt(r.Move, 10) })
	default:
		add("set to", 13, set.Setting)
	}
	add("off, ms", 8, func(r indexing.Row) string { return strconv.FormatFloat(float64(r.ErrorMs), 'f', 2, 64) })
	return columns
}

// settingWords says in the caption of a hole table how the holes are set, and how well.
func settingWords(set *indexing.Table) string {
	how := map[pinmap.Method]string{
		pinmap.Degrees: "Set on a scale of decimal degrees", pinmap.Sixties: "Set on a scale of degrees, minutes and seconds",
		pinmap.Head:  fmt.Sprintf("Set with a dividing head, the crank on the circle of %d holes, counted from the datum line; on, from the hole before (count the spaces, not the hole that the pin stands in, and set the sector arms)", set.Circle),
		pinmap.Wheel: "Set with an index wheel, divisions counted from the datum line; on by, from the hole before", pinmap.Stepper: "Set with a stepping motor, steps counted from the datum line; on by, from the hole before",
		pinmap.Vernier: "Set by the arc at the bare surface, with a vernier",
	}[set.Method]
	return fmt.Sprintf(" %s: at most %.2f ms off, %.4f degrees or %.3f mm; root mean square %.2f ms.", how, set.WorstMs, set.WorstDeg, set.WorstMm, set.RMSMs)
}

// holeTable lists all holes, in the order in which they are drilled or by angle.
func (m drillMapOf) holeTable(drilling bool) *grid {
	r := m.job.Result
	order := m.order
	caption := fmt.Sprintf("Track by track from the bass end, by angle on each, always turning the same way: hole is the number on the map. Drill %s mm "+
		"deep; diameter: %s.", trim(float64(r.Cylinder.HoleDepthMm)), drillWords(r.Cylinder.PinDiameterMm))
	if !drilling {
		order = make([]int, len(r.Pins))
		for i := range order {
			order[i] = i
		}
		caption = "In the order in which they reach the comb: pin is the number by angle, hole the number in the drilling order."
	}
	t := &grid{caption: caption + fmt.Sprintf(" Arcs are at the bare surface, D = %s mm; the printed map is stretched to D + p for the paper. Axial distances are "+
		"from the bass-end face.", trim(float64(r.Cylinder.DiameterMm)))}
	var set *indexing.Table
	if b := r.Setup.Bench; drilling && b.Method != pinmap.Wrap && b.Method != "" {
		table := indexing.Of(b, r.Cylinder.Cylinder, r.Cylinder.RevolutionMs, r.Pins)
		set = &table
		t.caption += settingWords(set)
	}
	columns := holeColumns(m.job, set)
	for _, c := range columns {
		t.columns = append(t.columns, c.tableColumn)
	}
	t.rows = func(row func(*cells)) {
		var line cells
		for i, k := range order {
			pin := r.Pins[k]
			line.reset()
			line.apart = drilling && i > 0 && pin.AxialMm != r.Pins[order[i-1]].AxialMm
			for _, c := range columns {
				c.cell(&line, pin, m.numbers[k])
			}
			row(&line)
		}
	}
	return t
}
