package templates

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

func TestASpanStaysInsideItsLine(t *testing.T) {
	low, far := -50.0, 900.0
	doc := draw(t, SpanFigure(Span{Low: 0, High: 100, Band: &Band{20, 60}, Best: &far, Reading: &low, Label: "words"}))
	band := one(t, doc, "svg.span rect.band")
	if x, w := band.AttrOr("x", ""), band.AttrOr("width", ""); x != "20" || w != "40" {
		t.Errorf("band at %s, %s wide; want 20 and 40", x, w)
	}
	if d := one(t, doc, ".best").AttrOr("d", ""); d != "M100 0v12" {
		t.Errorf("a target beyond the end is drawn as %q", d)
	}
	if d := one(t, doc, ".dot").AttrOr("d", ""); d != "M2 6h.01" {
		t.Errorf("a reading under the start is drawn as %q", d)
	}
	if l := one(t, doc, `svg[role="img"]`).AttrOr("aria-label", ""); l != "words" {
		t.Errorf("label %q", l)
	}
}

func TestTheRulerPutsTargetAndToolInsideTheWindow(t *testing.T) {
	doc := draw(t, RulerFigure(Ruler{Low: 6.8, Target: 7.3, High: 7.8, LowText: "6.8", TargetText: "7.3", HighText: "7.8", Tool: &Band{7.0, 7.6}}))
	if d := one(t, doc, ".best").AttrOr("d", ""); d != "M200 2v34" {
		t.Errorf("target drawn as %q, want the middle, 200", d)
	}
	tool := one(t, doc, ".work")
	if x, w := tool.AttrOr("x", ""), tool.AttrOr("width", ""); x != "110" || w != "180" {
		t.Errorf("tool at %s, %s wide; want 110 and 180", x, w)
	}
	if n := draw(t, RulerFigure(Ruler{Low: 5, Target: 5, High: 6, LowText: "5", TargetText: "5", HighText: "6"})).Find("text").Length(); n != 2 {
		t.Errorf("a target at the window's end prints %d numbers, want 2", n)
	}
}

func TestRailsSayWhatTheyDraw(t *testing.T) {
	r := Rails{Now: 21, Stops: make([]Stop, 26)}
	for i := range 21 {
		r.Stops[i].Signed = true
	}
	for _, i := range []int{5, 17, 23} {
		r.Stops[i].StopHere = true
	}
	doc := draw(t, RailsFigure(r))
	want := "Step 22 of 26. Signed: 1 to 21. Stop here: 6 signed, 18 signed, 24 ahead."
	if got := one(t, doc, "svg.rails").AttrOr("aria-label", ""); got != want {
		t.Errorf("said %q, want %q", got, want)
	}
	if n := doc.Find("circle:not(.now), path.ahead, path.run:nth-child(n+3)").Length(); n != 26 {
		t.Errorf("%d stops drawn, want 26", n)
	}
	if x := one(t, doc, "circle.now").AttrOr("cx", ""); x != "646" {
		t.Errorf("the step shown is at %s, want 646", x)
	}
	for _, n := range []int{0, 1, 2, 60} {
		draw(t, RailsFigure(Rails{Stops: make([]Stop, n), Now: -1}))
	}
}

func TestTheForkLightsThePlacesOfAStep(t *testing.T) {
	for place, want := range map[string][]string{
		"foot-left": {"foot-left"}, "foot": {"foot-right", "foot-left"}, "both feet": {"foot-right", "foot-left"},
		"crown": {"crown"}, "moon": nil, "": nil,
	} {
		if got := ForkPlaces(place); !slices.Equal(got, want) {
			t.Errorf("ForkPlaces(%q) = %v, want %v", place, got, want)
		}
	}
	if got := ForkWords([]string{"foot-right", "foot-left", "axle", "top-left"}); got != "foot, rider’s right and left; axle; top, rider’s left" {
		t.Errorf("said %q", got)
	}
}

func TestEveryPlaceIsInTheDrawing(t *testing.T) {
	doc := draw(t, ForkSprite())
	for place := range spots {
		if doc.Find("#"+place).Length() != 1 {
			t.Errorf("the drawing has no %q", place)
		}
	}
}

// Facing the rider, the rider's left is on the reader's right.
func TestTheRidersLeftIsOnTheReadersRight(t *testing.T) {
	for place, at := range spots {
		if strings.HasSuffix(place, "-left") && at.x < 150 || strings.HasSuffix(place, "-right") && at.x > 150 {
			t.Errorf("%s is drawn at %d", place, at.x)
		}
	}
}

// ISO/IEC 18004: a version 1 symbol has 21 modules a side, each version four
// more; three finder patterns of 7 modules; four light modules around.
func TestQRIsASymbolWithItsQuietZone(t *testing.T) {
	doc := draw(t, QR("http://desk.test/tickets/4141", "Ticket 4141"))
	box := strings.Fields(one(t, doc, "svg.qr").AttrOr("viewbox", one(t, doc, "svg.qr").AttrOr("viewBox", "")))
	if len(box) != 4 || box[0] != "-4" || box[1] != "-4" {
		t.Fatalf("view box %v has no quiet zone of four", box)
	}
	whole, err := strconv.Atoi(box[2])
	if err != nil {
		t.Fatal(err)
	}
	size := whole - 8
	if (size-21)%4 != 0 || size < 21 {
		t.Fatalf("%d modules a side is no version of the standard", size)
	}
	grid := modules(t, one(t, doc, "svg.qr path").AttrOr("d", ""), size)
	finder := []string{"1111111", "1000001", "1011101", "1011101", "1011101", "1000001", "1111111"}
	for _, corner := range [][2]int{{0, 0}, {size - 7, 0}, {0, size - 7}} {
		for y, want := range finder {
			if got := grid[corner[1]+y][corner[0] : corner[0]+7]; got != want {
				t.Errorf("finder pattern at %v, row %d is %s, want %s", corner, y, got, want)
			}
		}
	}
}

// modules turns the path back into rows of 0 and 1.
func modules(t *testing.T, path string, size int) []string {
	t.Helper()
	rows := make([][]byte, size)
	for y := range rows {
		rows[y] = []byte(strings.Repeat("0", size))
	}
	for _, m := range regexp.MustCompile(`M(\d+) (\d+)h(\d+)v1h-\d+z`).FindAllStringSubmatch(path, -1) {
		var n [3]int
		for i := range n {
			v, err := strconv.Atoi(m[i+1])
			if err != nil {
				t.Fatal(err)
			}
			n[i] = v
		}
		for x := n[0]; x < n[0]+n[2]; x++ {
			rows[n[1]][x] = '1'
		}
	}
	out := make([]string, size)
	for y := range rows {
		out[y] = string(rows[y])
	}
	return out
}
