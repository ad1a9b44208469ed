package browsertest_test

import (
	"testing"

	"github.com/chromedp/chromedp"

	"damperdesk/web/browsertest"
)

// marked taps marks onto the drawing of a fork: each chooses its place in the
// next free row, stands on the drawing by its number, and what is there is typed
// right away.
func marked(t *testing.T, d desk) {
	h := d.sit(t, "Odile", 1024, 768)
	h.goTo("/drop-off?customer=new")
	h.click(`details:has(> [data-marks]) > summary`)
	marks := []struct{ row, place, words string }{
		{"unit0.mark0", "lower-left", "gouge"},
		{"unit0.mark1", "crown", "paint chipped"},
	}
	for _, m := range marks {
		h.tapNear(m.place)
		h.holdsText(`:focus`, "", "what is there is asked once the drawing was tapped")
		h.typeKeys(`[data-marks] input:focus`, m.words)
	}
	for _, m := range marks {
		h.holdsText(`[name="`+m.row+`.place"]`, m.place, "once both were tapped")
		h.holdsText(`[name="`+m.row+`.words"]`, m.words, "once both were tapped")
	}
	h.reads("[data-marks] svg .tag:nth-last-child(2)", "1")
	h.reads("[data-marks] svg .tag:last-child", "2")
}

// tapNear clicks the drawing a little off one of its places.
func (h hand) tapNear(place string) {
	h.t.Helper()
	at, err := browsertest.Eval[[]float64](h.Tab, `(() => {
		const { x, y } = document.querySelector("[data-marks] option[value=`+place+`]").dataset;
		const drawing = document.querySelector("[data-marks] svg");
		drawing.scrollIntoView({ block: "center" });
		const p = new DOMPoint(x, y).matrixTransform(drawing.getScreenCTM());
		return [p.x + 3, p.y - 3];
	})()`)
	h.must(err, "aim at the "+place)
	h.must(h.Do(chromedp.MouseClickXY(at[0], at[1])), "tap the "+place)
}
