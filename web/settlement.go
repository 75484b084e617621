package web

import (
	"slices"
	"strings"

	"pinwright/arrange"
	"pinwright/pinmap/project"
)

// settlementView is the part of the findings that settles them all; before it is asked for, Settlement is nil.
type settlementView struct {
	*project.Settlement
	shown           Shown
	AskURL, BackURL string
	DecideURL       string
	Revision        string
	Any             bool // reports whether there is something to settle
	Open            []arrange.Finding
}

func (m ProjectModel) settlementView(s Shown) settlementView {
	v := settlementView{Settlement: m.Settlement, shown: s, AskURL: m.PageURL + "?settle=1#settlement", BackURL: m.PageURL + "#findings",
		DecideURL: m.DecideURL, Revision: m.revision(), Any: len(m.Result.Findings) > 0}
	if m.Settlement != nil {
		for _, f := range m.Settlement.Left {
			if f.Blocks {
				v.Open = append(v.Open, f)
			}
		}
	}
	return v
}

// does says in a sentence what settling would do.
func (v settlementView) does() string {
	if v.Decision == nil {
		if v.More {
			return v.shown.say("Nothing was found in the time there is. Settle the first finding by hand, then ask again.")
		}
		if len(v.Left) == 0 {
			return v.shown.say("Nothing is left to settle.")
		}
		return v.shown.say("Nothing more can be settled without a loss that you did not ask for. What is left is yours to choose.")
	}
	return sentence(v.shown.count(len(v.Steps), "One remedy would be taken, as one decision that one undo takes back.",
		"{1} remedies would be taken, as one decision that one undo takes back."))
}

// before and after say how the project stands.
func (v settlementView) before() string { return v.shown.standing(v.Before) }
func (v settlementView) after() string  { return v.shown.standing(v.After) }

func (s Shown) standing(now project.Standing) string {
	way := s.say("nothing stands in the way")
	if now.Blocking > 0 {
		way = s.count(now.Blocking, "one thing stands in the way", "{1} things stand in the way")
	}
	return strings.Join([]string{s.say("{1} of the value kept", s.share(now.Objective, now.TotalValue)), way,
		s.count(now.Findings-now.Blocking, "one note changed or left out", "{1} notes changed or left out")}, "; ")
}

// staysOpen says what is left.
func (v settlementView) staysOpen() string {
	switch n := len(v.Open); {
	case v.More:
		return v.shown.say("There is more than one decision can hold or this search can reach: take this one, then settle again.")
	case n == 0:
		return v.shown.say("Nothing would be left in the way.")
	default:
		return sentence(v.shown.count(n, "One thing stays open, since only you can choose:", "{1} things stay open, since only you can choose:"))
	}
}

// mostOpen is how many findings that stay open are told.
const mostOpen = 8

func (v settlementView) openShown() []arrange.Finding { return v.Open[:min(mostOpen, len(v.Open))] }

// stepCost says what a step costs or brings, all steps with as many decimals.
func (v settlementView) stepCost(s project.SettledStep) string {
	decimals := 0
	if slices.ContainsFunc(v.Steps, func(s project.SettledStep) bool { return s.ValueChange != float64(int(s.ValueChange)) }) {
		decimals = 2
	}
	return v.shown.costIn(s.ValueChange, decimals)
}
