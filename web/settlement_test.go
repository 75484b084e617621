package web

import (
	"strings"
	"testing"

	"pinwright/arrange"
	"pinwright/arrange/phrase"
	"pinwright/pinmap/project"
)

// settling is the page with the preview of two remedies, one thing left open.
func settling() ProjectModel {
	m := model()
	decision := arrange.Decision{Kind: arrange.Several, Decisions: []arrange.Decision{{Kind: arrange.LeaveOut, Note: "n61"}, {Kind: arrange.LeaveOut, Note: "n12"}}}
	m.Settlement = &project.Settlement{Schema: project.SettlementSchema, Decision: &decision,
		Steps: []project.SettledStep{
			{Finding: "repeat:n61", Text: phrase.Text("C5 comes again after 137 ms."), Bar: 5, Beat: 2, Blocks: true, Label: phrase.Text("Leave C5 out"), Effect: phrase.Text("1 note fewer played"), ValueChange: -10},
			{Finding: "repeat:n12", Text: phrase.Text("D5 comes again after 90 ms."), Bar: 6, Beat: 1, Label: phrase.Text("Move D5 12 ms later"), Effect: phrase.Text("1 note more played"), ValueChange: 10},
		},
		Before: project.Standing{Objective: 972, TotalValue: 1010, Blocking: 2, Findings: 7}, After: project.Standing{Objective: 972, TotalValue: 1010, Blocking: 1, Findings: 6},
		Left: []arrange.Finding{{ID: "overrun", Kind: arrange.Overrun, Blocks: true, Bar: 8, Beat: 1, Text: phrase.Text("The excerpt lasts too long.")}, {ID: "moved-n3", Kind: arrange.Moved}},
	}
	return m
}

func TestASettlementIsShownBeforeItIsTaken(t *testing.T) {
	page := render(t, ProjectPage(model()))
	if to := page.Find("#settlement a[data-part=settlement]").AttrOr("href", ""); to != "/e/SECRET?settle=1#settlement" {
		t.Errorf("a settlement is asked for at %q", to)
	}
	if page.Find("#settlement form").Length() != 0 {
		t.Error("it can be taken unseen")
	}
	part := render(t, SettlementPart(settling())).Find("#settlement")
	text := strings.Join(strings.Fields(part.Text()), " ")
	for _, words := range []string{"Two remedies would be taken", "Leave C5 out", "costs 10", "Move D5 12 ms later", "brings 10", "Bar 6, beat 1: D5 comes again",
		"96.2 % of the value kept; two things stand in the way; five notes changed or left out", "one thing stands in the way", "One thing stays open", "The excerpt lasts too long"} {
		if !strings.Contains(strings.ReplaceAll(text, "\u00a0", " "), words) {
			t.Errorf("the preview says nothing of %q: %s", words, text)
		}
	}
	if buttons := part.Find("form[data-decide] button"); buttons.Length() != 1 || !strings.Contains(buttons.AttrOr("value", ""), `"several"`) {
		t.Errorf("%d buttons, the first with %q; want the one decision", buttons.Length(), buttons.AttrOr("value", ""))
	}
	if back := part.Find("a[data-back]").AttrOr("href", ""); back != "/e/SECRET#findings" {
		t.Errorf("back leads to %q", back)
	}
}

func TestASettlementOfNothingOffersNothing(t *testing.T) {
	for name, more := range map[string]bool{"nothing to do": false, "no time": true} {
		t.Run(name, func(t *testing.T) {
			m := settling()
			m.Settlement = &project.Settlement{Schema: project.SettlementSchema, Before: m.Settlement.Before, After: m.Settlement.Before, Left: m.Settlement.Left, More: more}
			part := render(t, SettlementPart(m)).Find("#settlement")
			if part.Find("button").Length() != 0 || part.Find("a[data-back]").Length() != 1 {
				t.Error("there is a decision to take, or no way back")
			}
			if by := strings.Contains(part.Text(), "by hand"); by != more {
				t.Errorf("it says %q", part.Text())
			}
		})
	}
	m := model()
	m.Result.Findings = nil
	if render(t, ProjectPage(m)).Find("#settlement a").Length() != 0 {
		t.Error("there is nothing to settle, and a button for it")
	}
}
