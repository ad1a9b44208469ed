package templates

import (
	"cmp"
	"strings"

	"github.com/a-h/templ"
)

// Field is one field of a form with its label, hint and error.
type Field struct {
	Name  string
	Apart string // tells it from others of its name on the page; see apart
	Label string
	Hint  string // stands under the field: "5.65 bar; or “arrived empty”"
	Value string // what is stored
	Unit  string // stands after the label: "N·m"

	Type     string // text when empty
	Keyboard string // inputmode: decimal, numeric, tel, email
	Autofill string // autocomplete; off when empty, since the desk types for others
	Required bool
	// Attributes are any others: maxlength, data-step, data-find.
	Attributes templ.Attributes
}

// Option is one choice of a select, a row of picks or a list of ticks.
type Option struct {
	Value, Label string
	Note         string // small words beside or under the label
	Chosen       bool   // as stored
	Disabled     bool
	Attributes   templ.Attributes // of this choice alone
}

// FieldID is the id of the field of that name, and of its error and hint with
// "-error" and "-hint" after it.
func FieldID(name string) string {
	return "f-" + strings.NewReplacer(".", "-", "[", "-", "]", "", " ", "-").Replace(name)
}

// id is FieldID of its name, and what tells it apart.
func (f Field) id() string {
	if f.Apart == "" {
		return FieldID(f.Name)
	}
	return FieldID(f.Name + "-" + f.Apart)
}

// apart is what tells a field of one of several like forms from the others. The
// form that came back needs nothing: the problem above leads to its fields.
func apart(b Base, of string) string {
	if b.Typed != nil {
		return ""
	}
	return of
}

// describedBy names what explains a field: its error first.
func (f Field) describedBy(b Base) string {
	var ids []string
	if b.Error(f.Name) != "" {
		ids = append(ids, f.id()+"-error")
	}
	if f.Hint != "" {
		ids = append(ids, f.id()+"-hint")
	}
	return strings.Join(ids, " ")
}

// shared is what an input, a select and a textarea have in common.
func (f Field) shared(b Base) templ.Attributes {
	attrs := templ.Attributes{
		"id":           f.id(),
		"name":         f.Name,
		"required":     f.Required,
		"autocomplete": cmp.Or(f.Autofill, "off"),
	}
	if ids := f.describedBy(b); ids != "" {
		attrs["aria-describedby"] = ids
	}
	if b.Error(f.Name) != "" {
		attrs["aria-invalid"] = "true"
	}
	if f.Keyboard != "" {
		attrs["inputmode"] = f.Keyboard
	}
	for k, v := range f.Attributes {
		attrs[k] = v
	}
	return attrs
}

// inputValue is what the input shows. A pass-phrase never comes back.
func (f Field) inputValue(b Base) string {
	if f.Type == "password" {
		return ""
	}
	return b.Value(f.Name, f.Value)
}
