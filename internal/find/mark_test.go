package find

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func shown(list []Piece) string {
	var b strings.Builder
	for _, p := range list {
		if p.Marked {
			b.WriteString("[" + p.Text + "]")
		} else {
			b.WriteString(p.Text)
		}
	}
	return b.String()
}

func looked(text string, near ...[]string) Result {
	t := typed{terms: readings(text)[0]}
	t.near = append(near, make([][]string, len(t.terms))...)
	return Result{typed: t}
}

func TestWhatWasTypedIsMarked(t *testing.T) {
	for _, c := range []struct {
		mark         func(Result, string) []Piece
		typed, shown string
	}{
		{Result.Words, "marsh", "Odette [Marsh]"},
		{Result.Words, "ode mar", "[Ode]tte [Mar]sh"},
		{Result.Words, "mar", "Ellery-[Mar]sh"},
		{Result.Words, "oneill", "Søren [O’Neill]"},
		{Result.Words, "strass", "[Straß]e 7"},
		{Result.Words, "jo ames", "[Jo\u0301]se [Ames]"},
		{Result.Words, "jos", "[Jo\u0301s]e Ames"},
		{Result.Words, "arsh", "Odette Marsh"},
		{Result.Words, "m", "Odette Marsh"},
		{Result.Words, "м", "[М] Марш"},
		{Result.Words, "green hardtail", "[green] [hardtail]"},
		{Result.Code, "TL-20418", "[TL]-[20418]"},
		{Result.Code, "tl 204", "[TL]-[204]18"},
		{Result.Code, "18", "TL-20418"},
		{Result.Code, "0418", "TL-2[0418]"},
		{Result.Phone, "118", "07700 900 [118]"},
		{Result.Phone, "900", "07700 900 118"},
		{Result.Phone, "0118", "07700 900 [118]"},
		{Result.Phone, "900118", "07700 [900 118]"},
		{Result.Phone, "+44 7700 900118", "[07700 900 118]"},
		{Result.Phone, "07700 900118", "+44 [7700 900118]"},
		{Result.Mail, "odette_m@ex", "[odette_m@ex]ample.com"},
		{Result.Mail, "odette", "[odette]_m@example.com"},
		{Result.Mail, "example", "odette_m@example.com"},
	} {
		plain := strings.NewReplacer("[", "", "]", "").Replace(c.shown)
		if got := shown(c.mark(looked(c.typed), plain)); got != c.shown {
			t.Errorf("%q marks %q, want %q", c.typed, got, c.shown)
		}
	}
	if got := shown(looked("mrash", []string{"marsh"}).Words("Odette Marsh")); got != "Odette [Marsh]" {
		t.Errorf("a mistyped word marks %q", got)
	}
	if got := shown(looked("tl20148", []string{"tl20418"}).Code("TL-20418")); got != "[TL-20418]" {
		t.Errorf("a mistyped serial marks %q", got)
	}
}

func TestMarkingKeepsTheText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String().Draw(t, "text")
		r := looked(rapid.OneOf(rapid.String(), rapid.Just(text)).Draw(t, "typed"))
		for _, mark := range []func(string) []Piece{r.Words, r.Code, r.Phone, r.Mail} {
			var got strings.Builder
			for _, p := range mark(text) {
				got.WriteString(p.Text)
			}
			if got.String() != text {
				t.Fatalf("%q is shown as %q", text, got.String())
			}
		}
	})
}
