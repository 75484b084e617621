package web

import (
	"math"
	"testing"

	"pinwright/arrange/unit"
	"pinwright/pinmap/project"
)

// TestSceneOfBars: a bar that begins with rests before the first onset has its line before the datum line and is there all the same, for what is
// written in its later beats; a bar that lies off the turn is not.
func TestSceneOfBars(t *testing.T) {
	r := result()
	turn := r.Cylinder.RevolutionMs
	r.Tune.Excerpt.Bars = []project.BarView{
		{Number: 1, StartMs: -turn / 4, EndMs: -turn / 8, Beats: 4},
		{Number: 2, StartMs: -turn / 8, EndMs: turn / 8, Beats: 4},
		{Number: 3, StartMs: turn / 8, EndMs: turn / 2, Beats: 3},
		{Number: 4, StartMs: turn, EndMs: 2 * turn, Beats: 4},
	}
	half := r.Cylinder.GapDeg / 2
	want := []sceneBar{{2, half - 45, half + 45, 4}, {3, half + 45, half + 180, 3}}
	got := SceneOf(r).Bars
	if len(got) != len(want) {
		t.Fatalf("the bars are %v; want %v", got, want)
	}
	near := func(a, b unit.Degrees) bool { return math.Abs(float64(a-b)) < 1e-9 }
	for i, w := range want {
		if g := got[i]; g.Number != w.Number || g.Beats != w.Beats || !near(g.Deg, w.Deg) || !near(g.EndDeg, w.EndDeg) {
			t.Errorf("bar %d is %v; want %v", i, g, w)
		}
	}
}

// TestSceneCountsWhatWasAdded: notes added several at a time count each.
func TestSceneCountsWhatWasAdded(t *testing.T) {
	m := ProjectModel{Result: result(), DecideURL: "/edit/x/decide", Revision: 4}
	m.Result.Decisions = []project.DecisionView{{Added: []string{"a1"}}, {}, {Added: []string{"a2", "a3"}}}
	got := projectView{ProjectModel: m}.scene().Deciding
	if want := (sceneDeciding{"/edit/x/decide", 4, m.Result.Tune.Bars[0], 3}); got == nil || *got != want {
		t.Errorf("deciding is %v; want %v", got, want)
	}
}
