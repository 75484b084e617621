package arrange

// roundTheCircle mends what counting got wrong. Round a circle, plucks that never cover a moment more than k times may still not be
// shareable among k teeth, as five of which each reaches the next are not between two. That can only be where the class has no
// pause as long as a repeat time; there, what a sweep chose is shared out for a test, and where that fails the class is swept once
// more with a row for each tooth, on which counting is exact.
func (c *class) roundTheCircle(room *scratch, teeth []int, s swept) swept {
	if !s.exact || c.shareable(room, teeth, s.choice) {
		return s
	}
	s.exact = false
	apart, back := c.split(teeth)
	if apart == nil {
		return s
	}
	single := make([]int, len(apart.pitches))
	for row := range single {
		single[row] = 1
	}
	wide := apart.pass(room, single, sweep{most: manyStates, limit: c.limit})
	s.work += wide.work
	if wide.value < 0 {
		return s
	}
	s.value, s.choice = wide.value, make([]int8, len(c.notes))
	for i, o := range wide.choice {
		s.choice[i] = -1
		if o >= 0 {
			s.choice[i] = back[i][o]
		}
	}
	if wide.exact {
		s.bound, s.exact = wide.value, true
	}
	s.final = true
	return s
}

// shareable reports whether the teeth can share what was chosen.
func (c *class) shareable(room *scratch, teeth []int, choice []int8) bool {
	if c.head == 0 {
		return true
	}
	if room.tables == nil {
		room.tables = turnTables{}
	}
	for row, n := range teeth {
		if n < 2 {
			continue
		}
		var plucks []Placed
		var twins []int
		for i, o := range choice {
			if note := &c.notes[i]; o >= 0 && note.options[o].row == row {
				plucks = append(plucks, Placed{TimeMs: note.at, Locked: note.locked})
				twins = append(twins, note.twin)
			}
		}
		for _, tooth := range newSharing(plucks, twins, c.turn, c.repeat[row], room.tables).among(n) {
			if tooth < 0 {
				return false
			}
		}
	}
	return true
}

// split gives the class with a row for each tooth, and which option each of its options was; nil where that are too many rows.
func (c *class) split(teeth []int) (*class, [][]int8) {
	apart := &class{turn: c.turn, head: c.head, limit: c.limit}
	first := make([]int, len(teeth))
	for row, n := range teeth {
		first[row] = len(apart.pitches)
		for range n {
			apart.pitches = append(apart.pitches, c.pitches[row])
			apart.repeat = append(apart.repeat, c.repeat[row])
			apart.pitch = append(apart.pitch, row)
		}
	}
	if len(apart.pitches) > mostRows {
		return nil, nil
	}
	back := make([][]int8, len(c.notes))
	apart.notes = make([]candidate, len(c.notes))
	for i, note := range c.notes {
		options := note.options
		note.options = nil
		for o, option := range options {
			for t := range teeth[option.row] {
				if note.locked && note.twin > 0 && note.twin != t+1 {
					continue
				}
				split := option
				split.row = first[option.row] + t
				note.options = append(note.options, split)
				back[i] = append(back[i], int8(o))
			}
		}
		apart.notes[i] = note
	}
	return apart, back
}
