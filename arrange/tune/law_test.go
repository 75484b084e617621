package tune_test

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"math/big"
	"reflect"
	"slices"
	"testing"

	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"
	"pgregory.net/rapid"

	"pinwright/arrange/tune"
	. "pinwright/arrange/tune/tunetest"
)

// A model is a tune as it is written: the events of each track in order of ticks. Track i plays on channel i+1.
type model struct {
	division int
	tracks   [][]modelEvent
}

type modelEvent struct {
	tick    int64
	message []byte // with its status byte
}

// drawModel draws a tune of up to five tracks with notes, tempos and meters in any of them.
func drawModel(t *rapid.T) model {
	m := model{division: rapid.SampledFrom([]int{1, 24, 96, 480, 960, 32767}).Draw(t, "division")}
	for track := range rapid.IntRange(1, 5).Draw(t, "tracks") {
		var events []modelEvent
		tick := int64(0)
		status := byte(track)
		for range rapid.IntRange(0, 40).Draw(t, "events") {
			tick += rapid.Int64Range(0, int64(4*m.division)).Draw(t, "delta")
			key := rapid.ByteRange(58, 62).Draw(t, "key")
			switch rapid.IntRange(0, 9).Draw(t, "kind") {
			case 0:
				us := rapid.IntRange(1, 0xFFFFFF).Draw(t, "tempo")
				events = append(events, modelEvent{tick, []byte{0xFF, 0x51, 3, byte(us >> 16), byte(us >> 8), byte(us)}})
			case 1:
				events = append(events, modelEvent{tick, []byte{0xFF, 0x58, 4, rapid.ByteRange(1, 12).Draw(t, "beats"), rapid.ByteRange(0, 5).Draw(t, "unit"), 24, 8}})
			case 2:
				events = append(events, modelEvent{tick, []byte{0xC0 | status, rapid.ByteRange(0, 127).Draw(t, "program")}})
			case 3:
				events = append(events, modelEvent{tick, []byte{0xB0 | status, 7, 100}})
			case 4, 5, 6:
				events = append(events, modelEvent{tick, []byte{0x90 | status, key, rapid.ByteRange(1, 127).Draw(t, "velocity")}})
			case 7:
				events = append(events, modelEvent{tick, []byte{0x90 | status, key, 0}})
			default:
				events = append(events, modelEvent{tick, []byte{0x80 | status, key, 64}})
			}
		}
		m.tracks = append(m.tracks, events)
	}
	// One note at the start, so that there is always something to read.
	m.tracks[0] = append([]modelEvent{{0, []byte{0x90, 60, 99}}}, m.tracks[0]...)
	return m
}

// bytes writes the tracks with running status or without.
func (m model) bytes(format int, running bool) []byte {
	var tracks [][]byte
	for _, events := range m.tracks {
		var body []byte
		last, status := int64(0), byte(0)
		for _, e := range events {
			body = append(body, VLQ(int(e.tick-last))...)
			last = e.tick
			switch {
			case running && e.message[0] == status:
				body = append(body, e.message[1:]...)
			default:
				body = append(body, e.message...)
			}
			status = e.message[0]
			if status == 0xFF {
				status = 0
			}
		}
		tracks = append(tracks, Track(body))
	}
	return Format(format, m.division, tracks...)
}

// written writes the model with the library's writer.
func (m model) written(t *rapid.T, running bool) []byte {
	file := smf.NewSMF1()
	file.TimeFormat = smf.MetricTicks(m.division)
	file.NoRunningStatus = !running
	for _, events := range m.tracks {
		var track smf.Track
		last := int64(0)
		for _, e := range events {
			track.Add(uint32(e.tick-last), e.message)
			last = e.tick
		}
		track.Close(0)
		if err := file.Add(track); err != nil {
			t.Fatal(err)
		}
	}
	var b bytes.Buffer
	if _, err := file.WriteTo(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// merged gives the model as one track.
func (m model) merged() model {
	all := slices.Concat(m.tracks...)
	slices.SortStableFunc(all, func(a, b modelEvent) int { return cmp.Compare(a.tick, b.tick) })
	return model{m.division, [][]modelEvent{all}}
}

// A heard note, by an independent and slow way.
type heard struct {
	channel, pitch, velocity int
	onset, end               *big.Rat // ms
}

// notes plays the model note by note, in exact arithmetic.
func (m model) notes() []heard {
	type change struct {
		tick int64
		us   int64
	}
	var tempos []change
	for _, e := range m.merged().tracks[0] {
		if e.message[0] == 0xFF && e.message[1] == 0x51 {
			tempos = append(tempos, change{e.tick, int64(e.message[3])<<16 | int64(e.message[4])<<8 | int64(e.message[5])})
		}
	}
	ms := func(tick int64) *big.Rat {
		sum, last, us := new(big.Int), int64(0), int64(500_000)
		for _, c := range tempos {
			if c.tick > tick {
				break
			}
			sum.Add(sum, big.NewInt((c.tick-last)*us))
			last, us = c.tick, c.us
		}
		sum.Add(sum, big.NewInt((tick-last)*us))
		return new(big.Rat).SetFrac(sum, big.NewInt(int64(m.division)*1000))
	}
	var list []heard
	for _, events := range m.tracks {
		var sounding []int
		last := int64(0)
		for _, e := range events {
			last = e.tick
			if len(e.message) != 3 || e.message[0] >= 0xA0 {
				continue
			}
			if e.message[0] >= 0x90 && e.message[2] > 0 {
				sounding = append(sounding, len(list))
				list = append(list, heard{int(e.message[0]&15) + 1, int(e.message[1]), int(e.message[2]), ms(e.tick), nil})
				continue
			}
			for i, n := range sounding {
				if list[n].pitch == int(e.message[1]) && list[n].channel == int(e.message[0]&15)+1 {
					list[n].end = ms(e.tick)
					sounding = slices.Delete(sounding, i, i+1)
					break
				}
			}
		}
		for _, n := range sounding {
			list[n].end = ms(last)
		}
	}
	slices.SortStableFunc(list, func(a, b heard) int {
		return cmp.Or(a.onset.Cmp(b.onset), cmp.Compare(a.pitch, b.pitch), cmp.Compare(a.channel, b.channel))
	})
	return list
}

// Reading what the library's writer wrote gives the notes that were meant, within 1 µs.
func TestReadsWhatWasWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawModel(t)
		got, err := tune.Read(m.written(t, rapid.Bool().Draw(t, "running status")), tune.DefaultLimits)
		if err != nil {
			t.Fatal(err)
		}
		compare(t, got, m.notes())
		check(t, got)
	})
}

func compare(t *rapid.T, got *tune.Tune, want []heard) {
	t.Helper()
	if len(got.Notes) != len(want) {
		t.Fatalf("%d notes, want %d", len(got.Notes), len(want))
	}
	for i, n := range got.Notes {
		w := want[i]
		onset, _ := w.onset.Float64()
		end, _ := w.end.Float64()
		if got.Parts[n.Part].Channel != w.channel || int(n.Pitch) != w.pitch || int(n.Velocity) != w.velocity ||
			math.Abs(float64(n.OnsetMs)-onset) > 1e-3 || math.Abs(float64(n.EndMs)-end) > 1e-3 {
			t.Fatalf("note %d: %+v, want channel %d, pitch %d, velocity %d, %.6f to %.6f ms", i, n, w.channel, w.pitch, w.velocity, onset, end)
		}
	}
}

// Running status is only a way of writing.
func TestRunningStatusChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawModel(t)
		plain, err1 := tune.Read(m.bytes(1, false), tune.DefaultLimits)
		running, err2 := tune.Read(m.bytes(1, true), tune.DefaultLimits)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		plain.Remarks, running.Remarks = nil, nil // they name offsets
		if !reflect.DeepEqual(plain, running) {
			t.Fatalf("%+v\n%+v", plain, running)
		}
	})
}

// The same events sound the same in one track as in many.
func TestFormat0IsFormat1(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawModel(t)
		// What is never ended sounds to the end of its track, so the tracks must end together.
		end := int64(0)
		for _, events := range m.tracks {
			if len(events) > 0 {
				end = max(end, events[len(events)-1].tick)
			}
		}
		for i := range m.tracks {
			m.tracks[i] = append(m.tracks[i], modelEvent{end, []byte{0xFF, 1, 0}})
		}
		one, err1 := tune.Read(m.merged().bytes(0, true), tune.DefaultLimits)
		many, err2 := tune.Read(m.bytes(1, true), tune.DefaultLimits)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		if !reflect.DeepEqual(one.Bars, many.Bars) || !reflect.DeepEqual(one.Tempos, many.Tempos) || !reflect.DeepEqual(one.Notes, many.Notes) {
			t.Fatalf("%+v\n%+v", one, many)
		}
		if len(one.Parts) != len(many.Parts) {
			t.Fatalf("%d and %d parts", len(one.Parts), len(many.Parts))
		}
		for i, p := range one.Parts {
			q := many.Parts[i]
			q.ID, q.Track = p.ID, p.Track
			if p != q {
				t.Fatalf("part %+v, in tracks of their own %+v", p, q)
			}
		}
	})
}

// On sound metrical files the library's own reader gives the same notes. It keeps whole microseconds, rounded at each tempo change, and
// leaves open which of two tempos at one tick holds, so there is one at most.
func TestAgreesWithLibraryReader(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawModel(t)
		seen := map[int64]bool{}
		for i := range m.tracks {
			m.tracks[i] = slices.DeleteFunc(m.tracks[i], func(e modelEvent) bool {
				tempo := e.message[0] == 0xFF && e.message[1] == 0x51
				again := tempo && seen[e.tick]
				seen[e.tick] = seen[e.tick] || tempo
				return again
			})
		}
		data := m.bytes(1, rapid.Bool().Draw(t, "running status"))
		got, err := tune.Read(data, tune.DefaultLimits)
		if err != nil {
			t.Fatal(err)
		}
		file, err := smf.ReadFrom(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		var want []string
		tempos := 0
		for i, track := range file.Tracks {
			tick := int64(0)
			for _, e := range track {
				tick += int64(e.Delta)
				var channel, key, velocity uint8
				if e.Message.GetNoteStart(&channel, &key, &velocity) {
					want = append(want, fmt.Sprintf("t%dc%d %d %d %.9f", i+1, channel+1, key, velocity, float64(tick)/float64(m.division)))
				}
				if e.Message.Is(smf.MetaTempoMsg) {
					tempos++
				}
			}
		}
		var have []string
		for _, n := range got.Notes {
			have = append(have, fmt.Sprintf("%s %d %d %.9f", got.Parts[n.Part].ID, n.Pitch, n.Velocity, n.Quarter))
			tick := int64(math.Round(n.Quarter * float64(m.division)))
			if d := float64(n.OnsetMs) - float64(file.TimeAt(tick))/1000; math.Abs(d) > 1e-3*float64(tempos+1) {
				t.Fatalf("%s at %v ms, the library %v µs", n.ID, n.OnsetMs, file.TimeAt(tick))
			}
		}
		slices.Sort(want)
		slices.Sort(have)
		if !slices.Equal(have, want) {
			t.Fatalf("notes %q\nlibrary %q", have, want)
		}
	})
}

// Onsets stay exact over 24 hours with a change of tempo every few beats.
func TestExactOver24Hours(t *testing.T) {
	const division = 480
	var m model
	m.division = division
	var events []modelEvent
	tick := int64(0)
	for i := range int64(20_000) {
		us := 1_000_003 + i%7*100_001
		events = append(events, modelEvent{tick, []byte{0xFF, 0x51, 3, byte(us >> 16), byte(us >> 8), byte(us)}})
		tick += 1537
	}
	events = append(events, modelEvent{tick, []byte{0x90, 60, 80}}, modelEvent{tick + 1, []byte{0x80, 60, 64}})
	m.tracks = [][]modelEvent{events}
	got := mustRead(t, m.bytes(0, true))
	want, _ := m.notes()[0].onset.Float64()
	if d := math.Abs(float64(got.Notes[0].OnsetMs) - want); d > 1e-3 || want < 23*3600*1000 {
		t.Errorf("onset %v ms, want %v", got.Notes[0].OnsetMs, want)
	}
	for frames, rate := range map[int]float64{24: 24, 25: 25, 29: 30000.0 / 1001, 30: 30} {
		const ticks = 8
		last := 23 * 3600 * frames * ticks
		got := mustRead(t, File(SMPTE(frames, ticks), Track(Tempo(0, 16_777_215), Tempo(last/3, 999_983), Tempo(last/3, 15_000_017), Note(last-2*(last/3), 1, 60, 1))))
		want := float64(last) / (rate * ticks) * 1000
		if d := math.Abs(float64(got.Notes[0].OnsetMs) - want); d > 1e-3 {
			t.Errorf("%d frames: onset %v ms, want %v", frames, got.Notes[0].OnsetMs, want)
		}
	}
}

// The library's decoding functions take messages of any length without harm; what this package hands them is always whole.
func TestLibraryDecodesShortMessages(t *testing.T) {
	for status := 0x80; status <= 0xFF; status++ {
		for n := range 8 {
			b := append([]byte{byte(status)}, make([]byte, n)...)
			m := midi.Message(b)
			var c, k, v uint8
			if got := m.GetNoteStart(&c, &k, &v) || m.GetNoteEnd(&c, &k) && n != 2; got {
				t.Errorf("% X is taken for a note", b)
			}
		}
	}
}
