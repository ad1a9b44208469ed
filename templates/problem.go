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
// the page. Where several have the same one, their labels tell them apart, and
// where those are the same too, the headings above them.
func (b Base) wrong(page string) []wrongField {
	at := func(name string) int {
		i := strings.Index(page, ` id="`+FieldID(name)+`"`)
		return cmp.Or(max(i, 0), len(page))
	}
	var fields []wrongField
	for _, name := range slices.SortedFunc(maps.Keys(b.Errors), func(x, y string) int {
		return cmp.Or(cmp.Compare(at(x), at(y)), cmp.Compare(x, y))
	}) {
		fields = append(fields, wrongField{FieldID(name), b.Error(name)})
	}
	return tellApart(tellApart(fields, page, labelOf, ": "), page, headingOf, ", ")
}

// tellApart puts before each sentence that several fields have what name says
// of its field.
func tellApart(fields []wrongField, page string, name func(page, id string) string, sep string) []wrongField {
	times := map[string]int{}
	for _, f := range fields {
		times[f.sentence]++
	}
	told := slices.Clone(fields)
	for i, f := range told {
		if words := name(page, f.id); words != "" && times[f.sentence] > 1 {
			told[i].sentence = words + sep + f.sentence
		}
	}
	return told
}

// labelOf is the first words of the label of a field, after the legend of its
// group; of a field that is a group, the legend; empty where it has neither.
func labelOf(page, id string) string {
	at := regexp.MustCompile(`<label[^>]* for="` + regexp.QuoteMeta(id) + `"[^>]*>([^<]*)`).FindStringSubmatchIndex(page)
	if at == nil {
		return legendOver(page, strings.Index(page, ` id="`+id+`"`))
	}
	label := strings.TrimSpace(html.UnescapeString(page[at[2]:at[3]]))
	if legend := legendOver(page, at[0]); legend != "" {
		label = legend + ", " + label
	}
	return label
}

// legendOver is the legend of the group in which a place of the page lies.
func legendOver(page string, at int) string {
	before := page[:max(at, 0)]
	start := strings.LastIndex(before, "<legend>")
	if start <= strings.LastIndex(before, "</fieldset>") {
		return ""
	}
	legend, _, _ := strings.Cut(page[start+len("<legend>"):], "</legend>")
	return strings.TrimSpace(html.UnescapeString(legend))
}

// headings are the second ones, without the number that some begin with.
var headings = regexp.MustCompile(`<h2[^>]*>\s*(?:<b>[^<]*</b>)?([^<]*)`)

// headingOf is the last heading above a field; empty where there is none.
func headingOf(page, id string) string {
	all := headings.FindAllStringSubmatch(page[:max(strings.Index(page, ` id="`+id+`"`), 0)], -1)
	if all == nil {
		return ""
	}
	return strings.TrimSpace(html.UnescapeString(all[len(all)-1][1]))
}
