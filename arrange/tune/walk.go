package tune

// An event is one event of a track; its data are a slice of the file.
type event struct {
	tick   int64
	status byte // 0x80 to 0xEF for a channel message, 0xF0 or 0xF7 for system exclusive, 0xFF for a meta event
	meta   byte // type of a meta event
	data   []byte
}

// Types of meta events (RP-001).
const (
	metaTrackName  = 0x03
	metaInstrument = 0x04
	metaEndOfTrack = 0x2F
	metaTempo      = 0x51
	metaMeter      = 0x58
	metaKey        = 0x59
)

// A walker gives the events of one track chunk one after another. It copies nothing and trusts nothing: whatever a
// length says, it stays inside the chunk. The library's own file reader cannot stand here: it panics on SMPTE divisions,
// reserves what lengths declare and refuses files that others play.
type walker struct {
	file    []byte // from the start of the file to the end of the chunk
	at      int    // offset of what is read next
	track   int    // from 1
	tick    int64
	running byte // status that holds for an event without its own; 0 before the first
	lapsed  bool // by the specification a meta or system exclusive event has ended the running status
	ended   bool // End of Track was read
	failed  bool // given up before its end
	remarks *remarks
}

// next gives the next event; ok is false at the end of the track and where it cannot be read any further.
func (w *walker) next() (e event, ok bool) {
	for w.at < len(w.file) && !w.ended {
		delta, ok := w.length()
		if !ok {
			return event{}, false
		}
		w.tick += int64(delta)
		e, ok, again := w.event()
		if !again {
			return e, ok
		}
	}
	return event{}, false
}

// event reads what follows a delta time; again is true after a status byte that has no place in a file.
func (w *walker) event() (e event, ok, again bool) {
	if w.at == len(w.file) {
		return w.fail(remarkCut)
	}
	e = event{tick: w.tick, status: w.file[w.at]}
	switch s := e.status; {
	case s == 0xFF || s == 0xF0 || s == 0xF7:
		w.at++
		w.lapsed = w.running != 0
		if s == 0xFF {
			if w.at == len(w.file) {
				return w.fail(remarkCut)
			}
			e.meta = w.file[w.at]
			w.at++
		}
		n, ok := w.length()
		if !ok {
			return event{}, false, false
		}
		if int(n) > len(w.file)-w.at {
			return w.fail(remarkCut)
		}
		e.data = w.file[w.at : w.at+int(n)]
		w.at += int(n)
		w.ended = s == 0xFF && e.meta == metaEndOfTrack
		return e, true, false
	case s > 0xF0:
		w.remarks.add(remarkSystem, w.track, w.at)
		w.at++
		for n := dataBytes(s); n > 0 && w.at < len(w.file) && w.file[w.at] < 0x80; n-- {
			w.at++
		}
		return event{}, false, true
	case s >= 0x80:
		w.running, w.lapsed = s, false
		w.at++
	case w.running == 0:
		return w.fail(remarkNoStatus)
	default:
		if w.lapsed {
			w.remarks.add(remarkRunning, w.track, w.at)
		}
		e.status = w.running
	}
	for n := dataBytes(e.status); len(e.data) < n; {
		at := w.at + len(e.data)
		if at == len(w.file) {
			return w.fail(remarkCut)
		}
		if w.file[at] >= 0x80 {
			w.at = at
			return w.fail(remarkNoData)
		}
		e.data = w.file[w.at : at+1]
	}
	w.at += len(e.data)
	return e, true, false
}

// length reads a variable-length quantity.
func (w *walker) length() (value uint32, ok bool) {
	value, n := vlq(w.file[w.at:])
	switch {
	case n == 0:
		w.fail(remarkCut)
	case n > 4:
		w.fail(remarkLong)
	}
	w.at += n
	return value, n > 0 && n <= 4
}

// fail gives the track up from here.
func (w *walker) fail(r remark) (event, bool, bool) {
	w.remarks.add(r, w.track, w.at)
	w.failed = true
	w.file = w.file[:w.at]
	return event{}, false, false
}

// vlq reads a variable-length quantity of n bytes: 0 where b ends inside it, 5 where it is longer than the four bytes
// that the specification allows.
func vlq(b []byte) (value uint32, n int) {
	for n < len(b) && n < 4 {
		value = value<<7 | uint32(b[n]&0x7F)
		n++
		if b[n-1] < 0x80 {
			return value, n
		}
	}
	if n < 4 {
		return 0, 0
	}
	return 0, 5
}

// dataBytes gives how many data bytes follow a status byte other than system exclusive and meta.
func dataBytes(status byte) int {
	switch {
	case status >= 0xF4:
		return 0
	case status == 0xF1, status == 0xF3, status >= 0xC0 && status < 0xE0:
		return 1
	}
	return 2
}
