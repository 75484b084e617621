package web

import (
	"net/url"
	"slices"
	"strings"
	"testing"

	"pinwright/pinmap/bench"
)

func TestTickedFilesBecomeAChange(t *testing.T) {
	all := bench.Names()
	for _, test := range []struct {
		name   string
		was    []string
		ticked []string // nil: the form has no boxes
		want   string   // the change; empty for none
	}{
		{"no boxes", nil, nil, ""},
		{"all, as it was", nil, all, ""},
		{"all from some", []string{"holes.csv"}, all, `{"share":{"files":null}}`},
		{"some from all", nil, []string{"map.svg", "holes.csv"}, `{"share":{"files":["holes.csv","map.svg"]}}`},
		{"the same in another order", []string{"map.svg", "holes.csv"}, []string{"holes.csv", "map.svg"}, ""},
		{"none from all", nil, []string{}, `{"share":{"files":[]}}`},
		{"none, as it was", []string{}, []string{}, ""},
		{"a name without a box stays", []string{"later.bin", "map.svg"}, []string{"holes.csv"}, `{"share":{"files":["holes.csv","later.bin"]}}`},
		{"what is unknown is for the setup to refuse", nil, []string{"plan.pdf"}, `{"share":{"files":["plan.pdf"]}}`},
	} {
		t.Run(test.name, func(t *testing.T) {
			setup := result().Setup
			setup.Share.Files = test.was
			form := url.Values{}
			if test.ticked != nil {
				form[sharedFiles] = append([]string{""}, test.ticked...)
			}
			change, err := SetupChange(form, setup)
			if err != nil || string(change) != test.want {
				t.Errorf("the change is %s, %v; want %s", change, err, test.want)
			}
		})
	}
}

func TestSharingInWords(t *testing.T) {
	for change, want := range map[string]string{
		`{"share":{"files":null}}`:                     "the link to look at gives every file",
		`{"share":{"files":[]}}`:                       "the link to look at gives no file",
		`{"share":{"files":["holes.csv"]}}`:            "the link to look at gives holes.csv",
		`{"share":{"files":["a","b"]},"title":"bell"}`: "the link to look at gives a b; title bell",
	} {
		if got := strings.Join((Shown{}).settingsOf([]byte(change)), "; "); got != want {
			t.Errorf("%s reads %q; want %q", change, got, want)
		}
	}
}

// TestTheSharePageGoesFromTheMetalToTheFiles: what a client sees comes in the order in which it is asked for.
func TestTheSharePageGoesFromTheMetalToTheFiles(t *testing.T) {
	m := ViewModel{Result: result(), PageURL: "/v/LOOK", CopyURL: "/v/LOOK/copy", Files: files("/v/LOOK/files/"), PictureURL: "https://pins.example/v/LOOK/picture.png"}
	doc := render(t, ViewPage(m))
	var order []string
	for _, id := range []string{"drawing", "facts", "bench", "comb"} {
		before := doc.Find("#" + id).PrevAll().Length()
		if doc.Find("#"+id).Length() != 1 {
			t.Fatalf("the page has no %s", id)
		}
		order = append(order, string(rune('a'+before)))
	}
	if !slices.IsSorted(order) {
		t.Errorf("drawing, facts, files and comb stand in the order %v", order)
	}
	facts := doc.Find("#facts").Text()
	for _, want := range []string{"13 mm across and 18 mm long", "set with 98 pins", "It turns once in 14.55 s.", "16 teeth, C5 to C7, cut for this tune", "Bars 1 to 8 of the tune, played at 109.4 bpm"} {
		if !strings.Contains(facts, want) {
			t.Errorf("the facts do not say %q: %s", want, facts)
		}
	}
	if got := doc.Find(`meta[property="og:image"]`).AttrOr("content", ""); got != m.PictureURL {
		t.Errorf("the picture is at %q", got)
	}

	m.CopyURL, m.Files, m.PictureURL = "", nil, ""
	doc = render(t, ViewPage(m))
	if n := doc.Find("main form, #bench a, meta[property]").Length(); n != 0 {
		t.Errorf("%d forms, files and tags; nothing of it is allowed", n)
	}
}
