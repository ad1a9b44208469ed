package templates

import (
	"context"
	"io"
	"slices"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"github.com/a-h/templ"
)

func TestWhatIsWrongIsSaidInTheOrderOfThePage(t *testing.T) {
	b := Base{Errors: map[string]string{
		"shop.name": "Give it a name.", "tuesday": "Type a time.", "monday": "Type a time.", "choice": "Choose one.",
		"full.price": "Type an amount.", "short.price": "Type an amount.", "elsewhere": "Type a day.",
		"unit0.model": "Choose a model.", "unit1.model": "Choose a model.", "unit0.services": "Choose a service.", "unit1.services": "Choose a service.",
	}}
	form := templ.ComponentFunc(func(ctx context.Context, w io.Writer) error {
		for _, part := range []templ.Component{
			Input(b, Field{Name: "shop.name", Label: "Name"}),
			Input(b, Field{Name: "monday", Label: "Monday & after"}),
			Input(b, Field{Name: "tuesday", Label: "Tuesday"}),
			templ.Raw("<fieldset><legend>Full service</legend>"), Input(b, Field{Name: "full.price", Label: "Price", Unit: "EUR"}), templ.Raw("</fieldset>"),
			templ.Raw("<fieldset><legend>Short service</legend>"), Input(b, Field{Name: "short.price", Label: "Price", Unit: "EUR"}), templ.Raw("</fieldset>"),
			Picks(b, Field{Name: "choice", Label: "Choice"}, []Option{{Value: "a", Label: "A"}, {Value: "b", Label: "B"}}),
			templ.Raw(`<h2 id="u0"><b>2</b> Unit 1 of 2</h2>`), Input(b, Field{Name: "unit0.model", Label: "Model"}),
			Ticks(b, Field{Name: "unit0.services", Label: "Services"}, []Option{{Value: "a", Label: "A"}}),
			templ.Raw(`<h2 id="u1"><b>2</b> Unit 2 of 2</h2>`), Input(b, Field{Name: "unit1.model", Label: "Model"}),
			Ticks(b, Field{Name: "unit1.services", Label: "Services"}, []Option{{Value: "a", Label: "A"}}),
		} {
			if err := part.Render(ctx, w); err != nil {
				return err
			}
		}
		return nil
	})
	var page strings.Builder
	if err := Layout(b, "").Render(templ.WithChildren(t.Context(), form), &page); err != nil {
		t.Fatal(err)
	}
	doc, err := goquery.NewDocumentFromReader(strings.NewReader(page.String()))
	if err != nil {
		t.Fatal(err)
	}
	got := doc.Find(".problem li a").Map(func(_ int, a *goquery.Selection) string { return a.AttrOr("href", "") + " " + a.Text() })
	want := []string{
		"#f-shop-name Give it a name.", "#f-monday Monday & after: Type a time.", "#f-tuesday Tuesday: Type a time.",
		"#f-full-price Full service, Price: Type an amount.", "#f-short-price Short service, Price: Type an amount.", "#f-choice Choose one.",
		"#f-unit0-model Unit 1 of 2, Model: Choose a model.", "#f-unit0-services Unit 1 of 2, Services: Choose a service.",
		"#f-unit1-model Unit 2 of 2, Model: Choose a model.", "#f-unit1-services Unit 2 of 2, Services: Choose a service.",
		"#f-elsewhere Type a day.",
	}
	if !slices.Equal(got, want) {
		t.Errorf("got  %q\nwant %q", got, want)
	}
}
