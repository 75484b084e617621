package web

import (
	"fmt"

	"github.com/a-h/templ"
)

func wakeClass(m PinMark) string {
	if m.Clash {
		return "wake clash"
	}
	return "wake"
}

func pinClass(m PinMark) string {
	if m.Clash {
		return "pin clash"
	}
	return "pin"
}

// crossAt scribes a cross on a pin that a decision holds.
func crossAt(m PinMark, radius float64) string {
	a := 0.62 * radius
	return fmt.Sprintf("M%s %sl%s %sM%s %sl%s %s", px(m.X-a), px(m.Y-a), px(2*a), px(2*a), px(m.X-a), px(m.Y+a), px(2*a), px(-2*a))
}

// upOnPage reports whether the arrow of a moved note points up the page: up in pitch is toward the treble end.
func (d Drawing) upOnPage(m PinMark) bool { return (m.Arrow > 0) == d.BassBottom }

// notchAt is the mark of a clash: above the pin, or below where an arrow takes the place above.
func (d Drawing) notchAt(m PinMark) string {
	if m.Arrow != 0 && d.upOnPage(m) {
		return fmt.Sprintf("M%s %sh10l-5 -6z", px(m.X-5), px(m.Y+d.PinRadius+8))
	}
	return fmt.Sprintf("M%s %sh10l-5 6z", px(m.X-5), px(m.Y-d.PinRadius-8))
}

// arrowAt points the way that a note was moved: toward the treble end for up.
func (d Drawing) arrowAt(m PinMark) string {
	way := 1.0
	if d.upOnPage(m) {
		way = -1
	}
	start := m.Y + way*(d.PinRadius+1)
	end := start + way*8
	return fmt.Sprintf("M%s %sV%sM%s %sL%s %sL%s %s", px(m.X), px(start), px(end), px(m.X-3), px(end-way*3), px(m.X), px(end), px(m.X+3), px(end-way*3))
}

// shiftAt points the way that a note was shifted in time, above its pin's wake.
func (d Drawing) shiftAt(m PinMark) string {
	way := float64(m.Later)
	start := m.X + way*(d.PinRadius+1)
	end, y := start+way*8, m.Y-d.PinRadius-1
	return fmt.Sprintf("M%s %sH%sM%s %sL%s %sL%s %s", px(start), px(y), px(end), px(end-way*3), px(y-3), px(end), px(y), px(end-way*3), px(y+3))
}

// degreeAnchor keeps the first figure of the scale on the drawing.
func degreeAnchor(t Tick) string {
	if t.X == 0 {
		return "start"
	}
	return "middle"
}

// link leads from a pin to the panel of its note, which is asked for; a drawing without panels leads nowhere.
func (d Drawing) link(note string) templ.SafeURL {
	if d.page == "" {
		return templ.SafeURL("#pin-" + anchor(note))
	}
	return templ.SafeURL(ProjectModel{PageURL: d.page}.At(note))
}
