package web

import (
	"encoding/json"
	"math"
	"net/url"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"pinwright/arrange/phrase"
	"pinwright/arrange/unit"
	"pinwright/pinmap/bench"
	"pinwright/pinmap/project"
)

// partPrefix comes before a part's id in the name of its field.
const partPrefix = "part."

// automatic is the role of a part that the user leaves to the notes themselves.
const automatic = string(project.Auto)

// A reader turns the text of a form's field into the value that stands in the setup's JSON, or says what is wrong with
// it; else the fault is empty.
type reader func(text string) (value any, fault phrase.Phrase)

// setting is a field of the setup that a form shows as one text.
type setting struct {
	read  reader
	label string // heads its field
	unit  string // stands beside it; empty where there is none
}

// settings are the fields of the setup by their path in its JSON, which is the name of the form's field too. The parts
// and the excerpt are read apart.
var settings = map[string]setting{
	"title": {readText, "Title", ""},
	"date":  {readText, "Date of this setup", ""},

	"tempo.mode":         {readText, "Tempo", ""},
	"tempo.revolutionMs": {readNumberOrNone, "Time of one turn", "ms"},
	"transpose.min":      {readWhole, "Lowest change of key", "semitones"},
	"transpose.max":      {readWhole, "Highest change of key", "semitones"},

	"comb.mode":          {readText, "Comb", ""},
	"comb.teeth":         {readWhole, "Teeth", ""},
	"comb.low":           {readNote, "Lowest note", ""},
	"comb.high":          {readNote, "Highest note", ""},
	"comb.maxTwins":      {readWhole, "Most teeth alike", ""},
	"comb.pitches":       {listOf(readNote), "Notes of a comb in the drawer", ""},
	"otherComb":          {listOf(readNote), "Notes of another comb", ""},
	"comb.dampingCycles": {readNumber, "Damping", "cycles"},
	"comb.leastRingMs":   {readNumber, "Least ring", "ms"},
	"comb.qualityFactor": {readNumber, "Quality factor", ""},
	"comb.recoveryMs":    {readRecovery, "Measured recovery", ""},

	"cylinder.diameterMm":      {readNumber, "Bare diameter", "mm"},
	"cylinder.pinProjectionMm": {readNumber, "Pins stand proud", "mm"},
	"cylinder.pinDiameterMm":   {readNumber, "Pin diameter", "mm"},
	"cylinder.holeWebMm":       {readNumber, "Least metal between holes", "mm"},
	"cylinder.liftMm":          {readNumber, "Lift at release", "mm"},
	"cylinder.toothSpacingMm":  {readNumber, "Tooth spacing", "mm"},
	"cylinder.tipMm":           {readNumber, "Width of a tooth's tip", "mm"},
	"cylinder.firstTrackMm":    {readNumber, "Bass-end face to track 1", "mm"},
	"cylinder.gapDeg":          {readNumber, "Gap", "°"},
	"cylinder.holeDepthMm":     {readNumber, "Hole depth", "mm"},
	"cylinder.paperMm":         {readNumber, "Paper thickness", "mm"},
	"cylinder.lengthMm":        {readNumber, "Length of the cylinder at hand", "mm"},
	"cylinder.bassEnd":         {readText, "Bass end, seen from the comb", ""},
	"cylinder.turns":           {readText, "Surface next to the comb moves", ""},

	"drive.greatWheelRpm": {readNumber, "Great wheel", "rev/min"},
	"drive.stages":        {listOf(readNumber), "Stages", ""},
	"drive.cylinderStage": {readWhole, "Cylinder after stage", ""},

	"limits.shiftMs":     {readNumber, "Most a note may be shifted", "ms"},
	"limits.maxTogether": {readWhole, "Most teeth released together", ""},
	"limits.togetherMs":  {readNumber, "Counted as together within", "ms"},
	"limits.solveMs":     {readWhole, "Time to look for the best arrangement", "ms"},

	"bench.method":         {readText, "Angles are set by", ""},
	"bench.leastDeg":       {readNumber, "Scale of degrees, least setting", "°"},
	"bench.leastSec":       {readNumber, "Scale of minutes and seconds, least setting", "seconds"},
	"bench.headRatio":      {readWhole, "Dividing head, turns of the crank for one of the work", ""},
	"bench.headCircles":    {listOf(readWhole), "Dividing head, holes of the circles at hand", ""},
	"bench.wheelDivisions": {readWhole, "Index wheel, divisions", ""},
	"bench.motorSteps":     {readWhole, "Stepping motor, steps for one turn of its shaft", ""},
	"bench.motorRatio":     {readNumber, "Stepping motor, turns for one of the work", ""},
	"bench.leastMm":        {readNumber, "Vernier, least setting along the arc", "mm"},
	"bench.sigmaMm":        {readNumber, "Your error along the arc, standard deviation", "mm"},
	"bench.mostRisk":       {readNumber, "Chance of a failing repeat that you accept, 0 to 1", ""},
	"bench.material":       {readText, "Material of the cylinder", ""},
	"bench.mostRpm":        {readNumber, "Fastest speed of the spindle", "rev/min"},
	"bench.spindleRpm":     {readNumber, "Spindle", "rev/min"},
	"bench.feedMmPerMin":   {readNumber, "Feed", "mm a minute"},
	"bench.peckMm":         {readNumber, "Depth of a peck", "mm"},
	"bench.clearMm":        {readNumber, "Clear height", "mm"},
	"bench.boreMm":         {readNumber, "Bore of a printed cylinder", "mm"},
	"bench.pinShape":       {readText, "Pins of a printed cylinder", ""},
}

// SetupChange gives the part of the setup that the form changes, as JSON: the fields whose value is not the one in
// current, and no others; nil where there are none. A field that the form does not have stays as it is. Errors are
// *FieldError.
func SetupChange(form url.Values, current project.Setup) (json.RawMessage, error) {
	was := jsonOf(current)
	change := map[string]any{}
	for name := range form {
		field, known := settings[name]
		if !known {
			continue
		}
		value, fault := field.read(strings.TrimSpace(form.Get(name)))
		if !fault.Empty() {
			return nil, &FieldError{name, fault}
		}
		if before := at(was, name); !reflect.DeepEqual(value, before) {
			put(change, name, dropMissing(value, before))
		}
	}
	if err := changeExcerpt(change, form, current); err != nil {
		return nil, err
	}
	if err := changeParts(change, form, current); err != nil {
		return nil, err
	}
	changeShare(change, form, current)
	if len(change) == 0 {
		return nil, nil
	}
	return json.Marshal(change)
}

// dropMissing gives the change from one object to another, which is laid over the first: what the other lacks is null.
// Any other value is its own change.
func dropMissing(value, before any) any {
	object, isObject := value.(map[string]any)
	if !isObject {
		return value
	}
	for name, was := range before.(map[string]any) {
		switch now, has := object[name]; {
		case !has:
			object[name] = nil
		case now == was:
			delete(object, name)
		}
	}
	return object
}

// changeExcerpt reads the excerpt's two bars; both empty leave the choice to the length of the turn.
func changeExcerpt(change map[string]any, form url.Values, current project.Setup) error {
	const fromName, toName = "excerpt.fromBar", "excerpt.toBar"
	if !form.Has(fromName) && !form.Has(toName) {
		return nil
	}
	from, to := strings.TrimSpace(form.Get(fromName)), strings.TrimSpace(form.Get(toName))
	if from == "" && to == "" {
		if current.Excerpt != nil {
			change["excerpt"] = nil
		}
		return nil
	}
	var excerpt project.Excerpt
	for _, bar := range []struct {
		name, text string
		to         *int
	}{{fromName, from, &excerpt.FromBar}, {toName, to, &excerpt.ToBar}} {
		number, err := strconv.Atoi(bar.text)
		if err != nil {
			return &FieldError{bar.name, phrase.Of("Write the number of a bar in both fields, or leave both empty to have the bars chosen by the length of the turn.")}
		}
		*bar.to = number
	}
	if current.Excerpt == nil || *current.Excerpt != excerpt {
		change["excerpt"] = excerpt
	}
	return nil
}

// changeParts reads the roles of the parts that the form has; the setup lists those that are not automatic.
func changeParts(change map[string]any, form url.Values, current project.Setup) error {
	roles := slices.Clone(current.Parts)
	for _, name := range sortedKeys(form) {
		id, is := strings.CutPrefix(name, partPrefix)
		if !is {
			continue
		}
		role := form.Get(name)
		if !slices.Contains(roleChoices, role) {
			return &FieldError{name, phrase.Of("{1} is no role. Choose lead, bass, fill, off or automatic.", strconv.Quote(role))}
		}
		at := slices.IndexFunc(roles, func(p project.PartRole) bool { return p.ID == id })
		switch {
		case role == automatic && at >= 0:
			roles = slices.Delete(roles, at, at+1)
		case role == automatic:
		case at >= 0:
			roles[at].Role = roleOf(role)
		default:
			roles = append(roles, project.PartRole{ID: id, Role: roleOf(role)})
		}
	}
	if !slices.Equal(roles, current.Parts) {
		change["parts"] = roles
	}
	return nil
}

// sharedFiles is the name of the boxes of the files that the view link gives. The form has an empty one beside them, so
// that a form without a tick is told from one without boxes.
const sharedFiles = "share.files"

// changeShare reads which files are ticked. All that there are stand for any; names that this version does not make have
// no box and stay.
func changeShare(change map[string]any, form url.Values, current project.Setup) {
	if !form.Has(sharedFiles) {
		return
	}
	was, ticked := current.Share.Files, []string{}
	for _, name := range form[sharedFiles] {
		if name != "" {
			ticked = append(ticked, name)
		}
	}
	all := !slices.ContainsFunc(bench.Names(), func(name string) bool { return !slices.Contains(ticked, name) })
	for _, name := range was {
		if !slices.Contains(bench.Names(), name) {
			ticked = append(ticked, name)
		}
	}
	slices.Sort(ticked)
	switch {
	case all && was == nil, was != nil && slices.Equal(ticked, slices.Sorted(slices.Values(was))):
	case all:
		change["share"] = map[string]any{"files": nil}
	default:
		change["share"] = map[string]any{"files": ticked}
	}
}

// shares reports whether the box of a file is ticked.
func (v projectView) shares(name string) bool {
	if v.Conflict == nil && v.Form.Has(sharedFiles) {
		return slices.Contains(v.Form[sharedFiles], name)
	}
	return v.Result.Setup.Share.Allows(name)
}

// formValues gives the text of every field of the setup, as a form shows it.
func formValues(s project.Setup) url.Values {
	values := url.Values{}
	object := jsonOf(s)
	for name := range settings {
		values.Set(name, text(at(object, name)))
	}
	values.Set("excerpt.fromBar", "")
	values.Set("excerpt.toBar", "")
	if s.Excerpt != nil {
		values.Set("excerpt.fromBar", strconv.Itoa(s.Excerpt.FromBar))
		values.Set("excerpt.toBar", strconv.Itoa(s.Excerpt.ToBar))
	}
	for _, p := range s.Parts {
		values.Set(partPrefix+p.ID, string(p.Role))
	}
	if values.Get("tempo.revolutionMs") == "0" {
		values.Set("tempo.revolutionMs", "")
	}
	return values
}

// jsonOf gives the setup as its JSON reads, so that a value and the text that shows it have the same digits.
func jsonOf(s project.Setup) map[string]any {
	data, err := json.Marshal(s)
	if err != nil {
		panic("web: a setup that has been read always marshals: " + err.Error())
	}
	var object map[string]any
	if err := json.Unmarshal(data, &object); err != nil {
		panic("web: a marshalled setup is an object: " + err.Error())
	}
	return object
}

// at gives the value at a path such as "comb.teeth". An empty list and an empty object stand for a missing one.
func at(object map[string]any, name string) any {
	value := any(object)
	for key := range strings.SplitSeq(name, ".") {
		inner, _ := value.(map[string]any)
		value = inner[key]
	}
	if value != nil {
		return value
	}
	switch name {
	case "comb.pitches", "otherComb", "drive.stages":
		return []any{}
	case "comb.recoveryMs":
		return map[string]any{}
	case "date":
		return ""
	}
	return nil
}

func put(object map[string]any, name string, value any) {
	section, field, inSection := strings.Cut(name, ".")
	if !inSection {
		object[name] = value
		return
	}
	inner, _ := object[section].(map[string]any)
	if inner == nil {
		inner = map[string]any{}
		object[section] = inner
	}
	inner[field] = value
}

// text shows a JSON value in one field: lists with spaces, measured recoveries one a line.
func text(value any) string {
	switch v := value.(type) {
	case string:
		return v
	case float64:
		return strconv.FormatFloat(v, 'f', -1, 64)
	case []any:
		items := make([]string, len(v))
		for i, item := range v {
			items[i] = text(item)
		}
		return strings.Join(items, " ")
	case map[string]any:
		var lines []string
		for _, note := range sortedKeys(v) {
			lines = append(lines, note+" "+text(v[note]))
		}
		return strings.Join(lines, "\n")
	}
	return ""
}

func readText(text string) (any, phrase.Phrase) { return text, phrase.Phrase{} }

func readNumber(text string) (any, phrase.Phrase) { return parseNumber(text) }

func readNumberOrNone(text string) (any, phrase.Phrase) {
	if text == "" {
		return 0.0, phrase.Phrase{}
	}
	return readNumber(text)
}

// parseNumber reads a decimal number. A comma is refused rather than guessed at: it means a tenth to one reader and a
// thousand to another.
func parseNumber(text string) (number float64, fault phrase.Phrase) {
	text = strings.TrimSpace(text)
	v, err := strconv.ParseFloat(text, 64)
	switch {
	case strings.Contains(text, ","):
		return 0, phrase.Of("{1} has a comma. Write decimals with a point, such as 13.5.", strconv.Quote(text))
	case err != nil || math.IsNaN(v) || math.IsInf(v, 0) || strings.ContainsAny(text, "xX_"):
		return 0, phrase.Of("{1} is not a number. Write figures, with a point for decimals.", strconv.Quote(text))
	}
	return unit.Round(v), phrase.Phrase{}
}

func readWhole(text string) (any, phrase.Phrase) {
	n, err := strconv.Atoi(text)
	if err != nil {
		return nil, phrase.Of("{1} is not a whole number.", strconv.Quote(text))
	}
	return float64(n), phrase.Phrase{}
}

func readNote(text string) (any, phrase.Phrase) {
	p, err := unit.ParsePitch(text)
	if err != nil {
		return nil, phrase.Text(err.Error())
	}
	return p.String(), phrase.Phrase{}
}

// listOf reads items with spaces, commas, semicolons or line ends between them.
func listOf(read reader) reader {
	return func(text string) (any, phrase.Phrase) {
		items := []any{}
		for item := range strings.FieldsFuncSeq(text, between) {
			value, fault := read(item)
			if !fault.Empty() {
				return nil, fault
			}
			items = append(items, value)
		}
		return items, phrase.Phrase{}
	}
}

func readRecovery(text string) (any, phrase.Phrase) {
	words := slices.Collect(strings.FieldsFuncSeq(text, func(r rune) bool { return between(r) || r == ':' || r == '=' }))
	if len(words)%2 != 0 {
		return nil, phrase.Of("Each line needs a note and its recovery in ms, such as C5 250.")
	}
	recovery := map[string]any{}
	for pair := range slices.Chunk(words, 2) {
		note, fault := readNote(pair[0])
		if !fault.Empty() {
			return nil, fault
		}
		ms, fault := readNumber(pair[1])
		if !fault.Empty() {
			return nil, fault
		}
		recovery[note.(string)] = ms
	}
	return recovery, phrase.Phrase{}
}

func between(r rune) bool { return strings.ContainsRune(" ,;\t\r\n", r) }
