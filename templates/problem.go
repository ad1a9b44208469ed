package templates

import (
	"bytes"
	"cmp"
	"context"
	"html"
	"io"
	"maps"
	"regexp"
	"slices"
	"strings"

	"github.com/a-h/templ"
)

// wrongField leads to a field that has a sentence beside it.
type wrongField struct{ id, sentence string }

// underProblem draws its children and, above them, what was wrong with the form
// they hold. They are drawn first, since the list is in their order.
func underProblem(b Base) templ.Component {
	return templ.ComponentFunc(func(ctx context.Context, w io.Writer) error {
		var children bytes.Buffer
		if err := templ.GetChildren(ctx).Render(templ.ClearChildren(ctx), &children); err != nil {
			return err
		}
		if err := problem(b, b.wrong(children.String())).Render(ctx, w); err != nil {
			return err
		}
		_, err := children.WriteTo(w)
		return err
	})
}

// wrong lists the fields with a sentence in the order in which they stand on
// the page. Where several have the same one, their labels tell them apart.
func (b Base) wrong(page string) []wrongField {
	at := func(name string) int {
		i := strings.Index(page, ` id="`+FieldID(name)+`"`)
		return cmp.Or(max(i, 0), len(page))
	}
	times := map[string]int{}
	for _, sentence := range b.Errors {
		times[sentence]++
	}
	var fields []wrongField
	for _, name := range slices.SortedFunc(maps.Keys(b.Errors), func(x, y string) int {
		return cmp.Or(cmp.Compare(at(x), at(y)), cmp.Compare(x, y))
	}) {
		f := wrongField{FieldID(name), b.Error(name)}
		if label := labelOf(page, f.id); label != "" && times[f.sentence] > 1 {
			f.sentence = label + ": " + f.sentence
		}
		fields = append(fields, f)
	}
	return fields
}

// labelOf is the first words of the label of a field, after the legend of its
// group; empty where it has none.
func labelOf(page, id string) string {
	at := regexp.MustCompile(`<label[^>]* for="` + regexp.QuoteMeta(id) + `"[^>]*>([^<]*)`).FindStringSubmatchIndex(page)
	if at == nil {
		return ""
	}
	label := page[at[2]:at[3]]
	if start := strings.LastIndex(page[:at[0]], "<legend>"); start > strings.LastIndex(page[:at[0]], "</fieldset>") {
		legend, _, _ := strings.Cut(page[start+len("<legend>"):], "</legend>")
		label = legend + ", " + label
	}
	return strings.TrimSpace(html.UnescapeString(label))
}
