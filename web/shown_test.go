package web

import (
	"math"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"github.com/a-h/templ"
	"pgregory.net/rapid"

	"pinwright/arrange"
	"pinwright/arrange/phrase"
	"pinwright/arrange/unit"
	"pinwright/pinmap/project"
)

var (
	inches  = Shown{Lengths: Inches}
	inSixty = Shown{Angles: Sixties}
	inHand  = Shown{Notes: German}
	sung    = Shown{Notes: Solfege}
	allElse = Shown{Lengths: Inches, Angles: Sixties, Notes: German}
)

func TestTextAsAReaderWantsIt(t *testing.T) {
	for _, row := range []struct {
		name     string
		shown    Shown
		in, want string
	}{
		{"as it is", Shown{}, "C5 at 12.34°, 12.34 mm", "C5 at 12.34°, 12.34 mm"},
		{"nothing to rewrite", allElse, "Leave this note out, costs 3; bar 4, beat 2.5", "Leave this note out, costs 3; bar 4, beat 2.5"},

		{"German B flat and B", inHand, "A#4 and B4, A4", "B4 and H4, A4"},
		{"German sharps", inHand, "C#5, D#5, F#5, G#5", "Cis5, Dis5, Fis5, Gis5"},
		{"solfège", sung, "C4 comes again; F#5, B3 and G9 follow.", "Do4 comes again; Fa#5, Si3 and Sol9 follow."},
		{"the octave below 0", inHand, "C-1, B-1", "C-1, H-1"},
		{"a range", sung, "from C5–B6.", "from Do5–Si6."},
		{"a teeth's list", inHand, "tooth B4 (twin 2), B4's", "tooth H4 (twin 2), H4's"},
		{"no names", inHand, "MB4 B44 B4x b4 H4 B XB4 a3", "MB4 B44 B4x b4 H4 B XB4 a3"},
		{"notes stay where lengths change", inches, "B4", "B4"},

		{"two decimals", inches, "lie 0.58 mm apart", "lie 0.0228 inch apart"},
		{"three decimals", inches, "lie 0.581 mm apart; need 0.600 mm.", "lie 0.02287 inch apart; need 0.02362 inch."},
		{"one decimal", inches, "a cylinder 15.5 mm thick", "a cylinder 0.6102 inch thick"},
		{"a whole length is exact", inches, "13 mm, 254 mm, 0 mm", "0.5118 inch, 10 inch, 0 inch"},
		{"thousands and below 0", inches, "12\u202f345.6 mm, −2.54 mm", "486.0472 inch, −0.1000 inch"},
		{"times are no lengths", inches, "180 ms, 4.1 rev/min, 5 mmx", "180 ms, 4.1 rev/min, 5 mmx"},

		{"hundredths of a degree", inSixty, "at 12.34°", "at 12°\u00a020′\u00a024″"},
		{"one decimal", inSixty, "tooth 3 · 12.3°", "tooth 3 · 12°\u00a018′"},
		{"whole degrees", inSixty, "a gap of 18°", "a gap of 18°"},
		{"below a degree", inSixty, "0.01°", "0°\u00a000′\u00a036″"},
		{"below 0", inSixty, "−0.50° and −0.00°", "−0°\u00a030′\u00a000″ and 0°\u00a000′\u00a000″"},
		{"seconds are carried", inSixty, "11.9999°", "12°\u00a000′\u00a000″"},
		{"the last of a turn", inSixty, "359.99999°", "360°\u00a000′\u00a000″"},

		{"all at once", allElse, "B4 stands at 1.50°, 25.40 mm on.", "H4 stands at 1°\u00a030′\u00a000″, 1.0000 inch on."},
		{"what a user wrote stays", allElse, `setup changed: title "Suite in B4, 13 mm, \"A4\"", comb.low B4`, `setup changed: title "Suite in B4, 13 mm, \"A4\"", comb.low H4`},
		{"what a user wrote and was cut off", allElse, `title "Suite in B4…`, `title "Suite in B4…`},
	} {
		t.Run(row.name, func(t *testing.T) {
			if got := row.shown.Text(row.in); got != row.want {
				t.Errorf("%q reads %q; want %q", row.in, got, row.want)
			}
		})
	}
}

// TestDefaultTextIsTheSame: whoever chose nothing reads every text byte for byte.
func TestDefaultTextIsTheSame(t *testing.T) {
	word := rapid.OneOf(rapid.String(), rapid.SampledFrom([]string{"C5", "A#4", "B-1", "12.34 mm", "12.34°", `"`, "\xff", "−1\u202f000.5 mm"}))
	rapid.Check(t, func(t *rapid.T) {
		text := strings.Join(rapid.SliceOf(word).Draw(t, "text"), " ")
		if got := (Shown{}).Text(text); got != text {
			t.Fatalf("%q became %q", text, got)
		}
		allElse.Text(text) // no text makes it fail
	})
}

// TestEveryNameIsOneName: in each language every pitch has a name of its own, Text and pitch agree, and the name leads back.
func TestEveryNameIsOneName(t *testing.T) {
	for _, s := range []Shown{{}, inHand, sung} {
		of := map[string]unit.Pitch{}
		for p := unit.LowestPitch; p <= unit.HighestPitch; p++ {
			name := s.pitch(p)
			if had, twice := of[name]; twice {
				t.Errorf("%s: %q names %v and %v", s, name, had, p)
			}
			of[name] = p
			if got := s.Text("no tooth has " + p.String() + "."); got != "no tooth has "+name+"." {
				t.Errorf("%s: the text %q has not %q", s, got, name)
			}
			octave := strconv.Itoa(int(p)/12 - 1)
			if !strings.HasSuffix(name, octave) {
				t.Errorf("%s: %q has not the octave %s", s, name, octave)
			}
		}
	}
	// From memory, common practice: what the white keys are called. C4 to B4.
	for s, want := range map[Shown]string{{}: "C4 D4 E4 F4 G4 A4 B4", inHand: "C4 D4 E4 F4 G4 A4 H4", sung: "Do4 Re4 Mi4 Fa4 Sol4 La4 Si4"} {
		var names []string
		for _, step := range []unit.Pitch{0, 2, 4, 5, 7, 9, 11} {
			names = append(names, s.pitch(60+step))
		}
		if got := strings.Join(names, " "); got != want {
			t.Errorf("%s: %s; want %s", s, got, want)
		}
	}
}

// seconds reads an angle in degrees, minutes and seconds; minutes and seconds are below 60.
func seconds(t interface{ Fatalf(string, ...any) }, text string) (total float64) {
	plain := strings.NewReplacer("°", "", "′", "", "″", "", "\u00a0", " ", "−", "").Replace(text)
	for i, part := range strings.Fields(plain) {
		n, err := strconv.Atoi(part)
		if err != nil || n < 0 || i > 0 && n > 59 || i > 2 {
			t.Fatalf("%q is no angle", text)
		}
		total += float64(n) * []float64{3600, 60, 1}[i]
	}
	if strings.HasPrefix(text, "−") {
		total = -total
	}
	return total
}

func TestAnglesRoundToWithinHalfASecond(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		deg := rapid.OneOf(rapid.Float64Range(-720, 720), rapid.Map(rapid.IntRange(-720*3600, 720*3600), func(s int) float64 { return math.Nextafter(float64(s)/3600, -1) })).Draw(t, "deg")
		for decimals, allowed := range []float64{1800, 30, 0.5, 0.5} {
			if off := math.Abs(seconds(t, inSixty.angle(unit.Degrees(deg), decimals)) - 3600*deg); off > allowed+1e-6 {
				t.Fatalf("%v° with %d decimals is %s, %v seconds off", deg, decimals, inSixty.angle(unit.Degrees(deg), decimals), off)
			}
		}
	})
}

// TestFiguresLoseNothing: a figure as it is written in mm or degrees can be told from its neighbours as a reader sees it, and leads back.
func TestFiguresLoseNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		decimals := rapid.IntRange(0, 3).Draw(t, "decimals")
		one := math.Pow10(-decimals)
		v := float64(rapid.IntRange(-400_000, 400_000).Draw(t, "n")) * one
		inch, err := strconv.ParseFloat(strings.NewReplacer("−", "-", "\u202f", "").Replace(inches.figure(unit.Millimetres(v), decimals)), 64)
		if back := 25.4 * inch; err != nil || math.Abs(back-v) >= one/2 {
			t.Fatalf("%v mm is %v inch, which is %v mm: %v", v, inch, back, err)
		}
		if decimals <= 2 {
			if off := math.Abs(seconds(t, inSixty.angle(unit.Degrees(v), decimals)) - 3600*v); off > 1e-3 {
				t.Fatalf("%v° is %s, %v seconds off", v, inSixty.angle(unit.Degrees(v), decimals), off)
			}
		}
	})
}

func TestChoicesOfTheForm(t *testing.T) {
	for _, row := range []struct {
		name, lengths, angles, notes string
		want                         Shown
		field                        string // that is refused
	}{
		{"as by default", "mm", "decimal", "english", Shown{}, ""},
		{"all else", "inch", "dms", "german", allElse, ""},
		{"solfège", "mm", "decimal", "solfege", sung, ""},
		{"an unknown unit", "cm", "decimal", "english", Shown{}, "lengths"},
		{"an unknown angle", "mm", "rad", "english", Shown{}, "angles"},
		{"an unknown language", "mm", "decimal", "German", Shown{}, "notes"},
		{"nothing", "", "", "", Shown{}, "lengths"},
	} {
		t.Run(row.name, func(t *testing.T) {
			got, err := ShownFromForm(url.Values{"lengths": {row.lengths}, "angles": {row.angles}, "notes": {row.notes}})
			if row.field != "" {
				if bad, is := err.(*FieldError); !is || bad.Field != row.field {
					t.Fatalf("the error is %v; want one about %s", err, row.field)
				}
				return
			}
			if err != nil || got != row.want {
				t.Fatalf("%v, %v; want %v", got, err, row.want)
			}
			if again := ParseShown(got.String()); again != got {
				t.Errorf("kept as %s, it is read as %v", got, again)
			}
		})
	}
}

func TestUnknownCookiesAreAsByDefault(t *testing.T) {
	for text, want := range map[string]Shown{
		"": {}, "mm.decimal.english": {}, "inch": inches, "inch.": inches, "cm.dms.german": {Angles: Sixties, Notes: German}, "inch.dms.german.more": {Lengths: Inches, Angles: Sixties},
		"...": {}, "<b>": {}, "..solfege": sung, "INCH.DMS": {},
	} {
		if got := ParseShown(text); got != want {
			t.Errorf("%q is read as %v; want %v", text, got, want)
		}
	}
	rapid.Check(t, func(t *rapid.T) { _ = ParseShown(rapid.String().Draw(t, "cookie")).String() })
}

func renderAs(t *testing.T, s Shown, c templ.Component) *goquery.Document {
	t.Helper()
	var b strings.Builder
	if err := c.Render(WithShown(t.Context(), s), &b); err != nil {
		t.Fatal(err)
	}
	doc, err := goquery.NewDocumentFromReader(strings.NewReader(b.String()))
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

// worded is a project whose title, part and texts all speak of notes and lengths: the user's own, and the program's.
func worded() *project.Result {
	r := result()
	r.Title = "Bell in B5, 13 mm"
	r.Setup.Title = r.Title
	r.Tune.Parts[0].Name = "B5 choir"
	angle := unit.Degrees(30.5)
	r.Findings = append([]arrange.Finding{{ID: "holes-x", Kind: arrange.Holes, Blocks: true, Text: phrase.Text("B5 has a hole 0.55 mm off."), AngleDeg: &angle,
		Remedies: []arrange.Remedy{{Label: phrase.Text("Space the teeth 1.2 mm apart"), Effect: phrase.Text("B5 is moved"), Clears: []string{"holes-x"},
			Decision: arrange.Decision{Kind: arrange.Change, Setup: []byte(`{"cylinder":{"toothSpacingMm":1.2}}`)}}}}}, r.Findings...)
	r.Decisions = append(r.Decisions, project.DecisionView{Decision: arrange.Decision{Kind: arrange.Change,
		Setup: []byte(`{"comb":{"low":"B4"},"cylinder":{"diameterMm":13,"gapDeg":18.5},"title":"Bell in B5, 13 mm"}`)}})
	return r
}

func TestPagesAsAReaderWantsThem(t *testing.T) {
	m := model()
	m.Result = worded()
	m.Advice = adviceFor(m.Result)
	view := ViewModel{Result: m.Result, PageURL: "/v/LOOK", Files: files("/v/LOOK/files/")}
	project, shared := ProjectPage(m), ViewPage(view)
	for _, row := range []struct {
		name    string
		shown   Shown
		data    map[string]string // attributes of the page for its scripts
		heads   []string          // of the list of pins
		note    string            // of the highest tooth but one
		finding string
		where   string
		told    string // the first of the facts of the share page
		ledger  string // the last decision
		takes   int    // lines that say what fields take
	}{
		{"as by default", Shown{}, nil, []string{"angle °", "arc mm", "from bass end mm"}, "B6", "B5 has a hole 0.55 mm off.", "30.5°",
			"13 mm across and 18 mm long", "Lowest note B4; bare diameter 13 mm; gap 18.5°; title Bell in B5, 13 mm", 0},
		{"inch", inches, map[string]string{"lengths": "inch"}, []string{"angle °", "arc inch", "from bass end inch"}, "B6", "B5 has a hole 0.0217 inch off.", "30.5°",
			"0.5118 inch across and 0.7087 inch long", "Lowest note B4; bare diameter 0.5118 inch; gap 18.5°; title Bell in B5, 13 mm", 1},
		{"sixties", inSixty, map[string]string{"angles": "dms"}, []string{"angle ° ′ ″", "arc mm", "from bass end mm"}, "B6", "B5 has a hole 0.55 mm off.", "30°\u00a030′",
			"13 mm across and 18 mm long", "Lowest note B4; bare diameter 13 mm; gap 18°\u00a030′; title Bell in B5, 13 mm", 1},
		{"German", inHand, map[string]string{"notes": "german"}, []string{"angle °", "arc mm", "from bass end mm"}, "H6", "H5 has a hole 0.55 mm off.", "30.5°",
			"13 mm across and 18 mm long", "Lowest note H4; bare diameter 13 mm; gap 18.5°; title Bell in B5, 13 mm", 3},
		{"solfège", sung, map[string]string{"notes": "solfege"}, []string{"angle °", "arc mm", "from bass end mm"}, "Si6", "Si5 has a hole 0.55 mm off.", "30.5°",
			"13 mm across and 18 mm long", "Lowest note Si4; bare diameter 13 mm; gap 18.5°; title Bell in B5, 13 mm", 3},
	} {
		t.Run(row.name, func(t *testing.T) {
			for name, page := range map[string]templ.Component{"project": project, "share": shared} {
				doc := renderAs(t, row.shown, page)
				html := doc.Find("html")
				for _, kind := range []string{"lengths", "angles", "notes"} {
					if got := html.AttrOr("data-"+kind, ""); got != row.data[kind] {
						t.Errorf("%s: the scripts read %s %q; want %q", name, kind, got, row.data[kind])
					}
				}
				heads := doc.Find("#pin-list th[scope=col]").Map(func(_ int, h *goquery.Selection) string { return h.Text() })
				if got := strings.Join(heads, "|"); !strings.Contains(got, strings.Join(row.heads, "|")) {
					t.Errorf("%s: the heads are %s; want %v", name, got, row.heads)
				}
				teeth := doc.Find(".teeth th[scope=row]")
				if got := teeth.Eq(teeth.Length() - 2).Text(); got != row.note {
					t.Errorf("%s: the tooth is %s; want %s", name, got, row.note)
				}
				found := doc.Find(".finding").First().Text()
				if !strings.Contains(found, row.finding) || !strings.Contains(found, row.where) {
					t.Errorf("%s: the finding reads %q; want %q at %s", name, found, row.finding, row.where)
				}
				if scene := doc.Find("#scene").Text(); !strings.Contains(scene, `"note":"`+row.note+`"`) || !strings.Contains(scene, row.finding) || !strings.Contains(scene, `"diameterMm":13,`) {
					t.Errorf("%s: the scene is not as the page reads, or its numbers are not as they were", name)
				}
				if h1 := doc.Find("h1").Text(); h1 != "Bell in B5, 13 mm" {
					t.Errorf("%s: the title is %q", name, h1)
				}
				if papers := doc.Find(".paper").First().Text(); !strings.Contains(papers, "A4") {
					t.Errorf("%s: the first paper is %q", name, papers)
				}
				back := doc.Find(`footer form[method="post"][action="/shown"] input[name="back"]`).AttrOr("value", "")
				if want := map[string]string{"project": "/e/SECRET", "share": "/v/LOOK"}[name]; back != want {
					t.Errorf("%s: the form leads back to %q; want %q", name, back, want)
				}
				var now []string
				doc.Find(`footer option[selected]`).Each(func(_ int, o *goquery.Selection) { now = append(now, o.AttrOr("value", "")) })
				if got := strings.Join(now, "."); got != row.shown.String() {
					t.Errorf("%s: the form shows %s; want %s", name, got, row.shown)
				}
			}
			if facts := renderAs(t, row.shown, shared).Find("#facts").Text(); !strings.Contains(facts, row.told) {
				t.Errorf("the facts are %q; want %q", facts, row.told)
			}
			doc := renderAs(t, row.shown, project)
			if got := doc.Find(".ledger li").Last().Text(); got != row.ledger {
				t.Errorf("the last decision reads %q; want %q", got, row.ledger)
			}
			if n := doc.Find(".hint").FilterFunction(func(_ int, p *goquery.Selection) bool {
				return strings.Contains(p.Text(), "fields take") || strings.Contains(p.Text(), "English names")
			}).Length(); n != row.takes {
				t.Errorf("%d lines say what fields take; want %d", n, row.takes)
			}
			if part := doc.Find("#tune .parts tbody label").First().Text(); part != "B5 choir" {
				t.Errorf("the part is called %q", part)
			}
			for field, want := range map[string]string{"comb.low": "C4", "cylinder.diameterMm": "13", "cylinder.gapDeg": "18"} {
				if got := doc.Find(`[name="`+field+`"]`).AttrOr("value", ""); got != want {
					t.Errorf("the field %s holds %q; want %q", field, got, want)
				}
			}
			for _, n := range m.Result.Tune.Notes {
				m := m
				m.Note = n.ID
				if got := renderAs(t, row.shown, NotePart(m)).Find(`.panel input[name="pitch"]`).AttrOr("value", ""); got != n.Name {
					t.Fatalf("the field of note %s holds %q; want %q", n.ID, got, n.Name)
				}
			}
		})
	}
}

// TestRefusalsSpeakAsTheirFieldsDo: what is said of something typed stays as it is typed, anything else is as the page shows it.
func TestRefusalsSpeakAsTheirFieldsDo(t *testing.T) {
	for _, row := range []struct{ name, pointer, do, detail, want string }{
		{"a length in a field", "/cylinder/diameterMm", "", "500 mm cannot be used; give 3 to 400 mm", "Bare diameter: 500 mm cannot be used; give 3 to 400 mm."},
		{"a note in a field of the setup", "/comb/low", "", `"H4" is not a note name; write such as B4`, `Lowest note: "H4" is not a note name; write such as B4.`},
		{"a note that is written", "/pitch", doAdd, "write the name, such as B4", "Write the name, such as B4."},
		{"a note that is moved", "/pitch", doMove, "write the name, such as B4", "Write the name, such as B4."},
		{"a tooth that was chosen", "/pitch", doPlace, "B4 is not C5 nor an octave of it", "H4 is not C5 nor an octave of it."},
		{"a button of the drawing", "/octaves", "", "that would be B4, and the comb has none", "That would be H4, and the comb has none."},
	} {
		t.Run(row.name, func(t *testing.T) {
			m := model()
			m.Problem = &Problem{Title: "A value cannot be used", Detail: row.detail, Pointer: row.pointer}
			m.Form = url.Values{"do": {row.do}}
			if got := renderAs(t, allElse, ProjectPage(m)).Find("#problem p").First().Text(); got != row.want {
				t.Errorf("the page says %q; want %q", got, row.want)
			}
		})
	}
}

// TestNothingIsForgotten: with all else chosen, no length or angle is left in the words of the pages, but for what fields take, the user's own and
// what is printed.
func TestNothingIsForgotten(t *testing.T) {
	m := model()
	m.Advice = adviceFor(m.Result)
	for name, page := range map[string]templ.Component{
		"project": ProjectPage(m), "share": ViewPage(ViewModel{Result: m.Result, PageURL: "/v/LOOK", Files: m.Files}), "settling": ProjectPage(settling()), "home": Home(HomeModel{}),
	} {
		t.Run(name, func(t *testing.T) {
			doc := renderAs(t, Shown{Lengths: Inches, Angles: Sixties, Notes: Solfege}, page)
			titles := doc.Find("title").Text()
			doc.Find("script, .field, footer, .hint, #bench, datalist").Remove()
			text := doc.Find("body").Text()
			doc.Find("[title], [aria-label]").Each(func(_ int, e *goquery.Selection) {
				text += "\n" + e.AttrOr("title", "") + "\n" + e.AttrOr("aria-label", "")
			})
			for _, found := range figures.FindAllString(text+titles, -1) {
				if strings.HasPrefix(found, `"`) || strings.HasSuffix(found, "°") && !strings.Contains(found, ".") {
					continue
				}
				t.Errorf("%q is not as the reader wants it", found)
			}
		})
	}
}
