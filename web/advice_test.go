package web

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"pinwright/arrange"
	"pinwright/arrange/phrase"
	"pinwright/arrange/unit"
	"pinwright/pinmap/project"
)

// adviceFor is made by hand: a line that rises to all of the value at 40 teeth, and one piece of advice of every kind.
func adviceFor(r *project.Result) *project.Advice {
	change := func(fields string) arrange.Decision {
		return arrange.Decision{Kind: arrange.Change, Setup: []byte(fields)}
	}
	a := &project.Advice{Schema: project.AdviceSchema, Objective: r.Arrangement.Objective, TotalValue: r.Arrangement.TotalValue, Proven: true,
		OneMore:   &project.CombChange{Teeth: 17, Added: []unit.NoteName{85}, ValueChange: 20, Proven: true, Decision: change(`{"comb":{"teeth":17}}`)},
		Retunings: []project.CombChange{{Teeth: 16, Added: []unit.NoteName{85}, Removed: []unit.NoteName{95}, ValueChange: 12, Decision: change(`{"comb":{"pitches":["C#6"]}}`)}},
		Keys:      []project.KeyChange{{Transpose: -3, ValueChange: -11.5, Proven: true, Decision: change(`{"transpose":{"min":-3,"max":-3}}`)}},
		Tempo:     &project.TempoChange{RevolutionMs: 18200, PlayedBPM: 87.4, Decision: change(`{"tempo":{"revolutionMs":18200}}`)},
		Sentences: []phrase.Phrase{phrase.Text("One more tooth, C#6, would bring 2 % of the tune's value.")},
	}
	for i, t := range r.Comb.Teeth {
		a.Teeth = append(a.Teeth, project.ToothWorth{Tooth: i + 1, Note: unit.NoteName(t.Pitch), Value: float64(10 * i), Proven: true})
	}
	for n := 1; n <= 72; n++ {
		a.Line = append(a.Line, project.LinePoint{Teeth: n, Objective: a.TotalValue * math.Min(1, float64(n)/40), Proven: n != 30})
	}
	return a
}

func advised() ProjectModel {
	m := model()
	m.Advice = adviceFor(m.Result)
	return m
}

func TestAdviceIsAskedForBeforeItIsShown(t *testing.T) {
	section := render(t, ProjectPage(model())).Find("#advice")
	if to := section.Find("a[data-part=advice]").AttrOr("href", ""); to != "/e/SECRET?advice=1#advice" {
		t.Errorf("advice is asked for at %q", to)
	}
	if section.Find("form, .chart").Length() != 0 {
		t.Error("there is advice that nobody asked for")
	}
}

// The chart and the table beside it say the same.
func TestTheChartIsItsTable(t *testing.T) {
	section := render(t, AdvicePart(advised())).Find("#advice")
	bars, rows := section.Find(".line-comb rect:not(.spine)"), section.Find("#advice-line tbody tr")
	if bars.Length() != 72 || rows.Length() != 72 {
		t.Fatalf("%d teeth and %d rows; want 72", bars.Length(), rows.Length())
	}
	rows.Each(func(i int, row *goquery.Selection) {
		top, err := strconv.ParseFloat(bars.Eq(i).AttrOr("y", ""), 64)
		if err != nil {
			t.Fatal(err)
		}
		kept := strings.Join(strings.Fields(row.Find("td").First().Text()), " ")
		want := short(100*(chartFoot-top)/chartLength, 1)
		if got, _, _ := strings.Cut(kept, " %"); math.Abs(number(t, got)-number(t, want)) > 0.11 {
			t.Errorf("the tooth of %d stands at %s, its row says %s", i+1, want, kept)
		}
		if unsure := strings.Contains(kept, "or more"); unsure != (i+1 == 30) {
			t.Errorf("row %d says %q", i+1, kept)
		}
	})
	now := section.Find(".line-comb .now")
	if now.Length() != 1 || now.AttrOr("x", "") != bars.Eq(15).AttrOr("x", "-") {
		t.Error("the comb of 16 teeth is not marked")
	}
	says := section.Find(".line-comb").AttrOr("aria-label", "")
	for _, words := range []string{"16 teeth", "96.2 %", "that of 72 keeps 100 %"} {
		if !strings.Contains(says, words) {
			t.Errorf("the chart is described as %q, without %q", says, words)
		}
	}
}

// Of a dense tune only the larger combs are known; what is not known is not drawn, nor told as 0.
func TestAChartOfPartOfTheLine(t *testing.T) {
	m := advised()
	m.Advice.Line, m.Advice.Teeth = m.Advice.Line[60:], nil
	section := render(t, AdvicePart(m)).Find("#advice")
	bars, rows := section.Find(".line-comb rect:not(.spine)"), section.Find("#advice-line tbody tr")
	if bars.Length() != 12 || rows.Length() != 12 || bars.First().AttrOr("x", "") != "83.54%" {
		t.Errorf("%d teeth from %s, %d rows; want the 12 from 61 on", bars.Length(), bars.First().AttrOr("x", ""), rows.Length())
	}
	if first := rows.First().Find("td").Last().Text(); first != "unknown" {
		t.Errorf("what the first brings is said to be %q", first)
	}
	if now := section.Find(".now-text").Text(); now != "now 16 teeth, 96.2 %" {
		t.Errorf("the pin says %q", now)
	}
	m.Advice.Line = nil
	if render(t, AdvicePart(m)).Find("#advice").Find(".chart, #advice-line").Length() != 0 {
		t.Error("there is a chart of nothing")
	}
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func TestEachPieceOfAdviceHasItsButton(t *testing.T) {
	form := render(t, AdvicePart(advised())).Find("#advice form[data-decide]")
	var lines []string
	form.Find(".remedy").Each(func(_ int, row *goquery.Selection) {
		lines = append(lines, fmt.Sprintf("%s | %s | %s", row.Find("button").Text(), row.Find(".effect").Text(), row.Find(".cost").Text()))
	})
	want := []string{
		"Cut one more tooth | 17 teeth, with C#6 | brings 2 %",
		"Retune B6 to C#6 | not proven | brings 1.2 %",
		"Set the key three semitones down |  | costs 1.1 %",
		"Slow the cylinder to 18.20 s a turn | no tooth is plucked too soon; 87.4 bpm | ",
	}
	if got := strings.Join(lines, "\n"); got != strings.Join(want, "\n") {
		t.Errorf("the advice reads\n%s\nwant\n%s", got, strings.Join(want, "\n"))
	}
	if n := render(t, pages()["looked"]).Find("#advice").Find("form, button").Length(); n != 0 {
		t.Errorf("the view page has %d buttons beside its advice", n)
	}
}

func TestShare(t *testing.T) {
	for _, row := range []struct {
		name         string
		value, total float64
		want         string
	}{
		{"nothing", 0, 200, "0 %"},
		{"almost nothing", 0.01, 200, "under 0.1 %"},
		{"a part", 187.8, 200, "93.9 %"},
		{"almost all", 199.99, 200, "99.9 %"},
		{"all", 200, 200, "100 %"},
		{"a tune that is worth nothing", 0, 0, "0 %"},
	} {
		if got := (Shown{}).share(row.value, row.total); got != row.want {
			t.Errorf("%s: %q, want %q", row.name, got, row.want)
		}
	}
}
