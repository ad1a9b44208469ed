package web

import (
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"damperdesk/internal/fault"
	"damperdesk/internal/money"
	"damperdesk/internal/quantity"
)

// form reads typed fields and gathers what is wrong with each.
type form struct {
	values url.Values
	faults map[string]string
}

func readForm(r *http.Request) (*form, error) {
	if err := readFields(r); err != nil {
		return nil, err
	}
	return &form{values: r.PostForm, faults: map[string]string{}}, nil
}

// err is nil, or a fault.Invalid with every wrong field.
func (f *form) err() error {
	if len(f.faults) == 0 {
		return nil
	}
	return &fault.Invalid{Fields: f.faults}
}

// wrong keeps the first sentence about a field. The field for another number
// shares the place of its keys.
func (f *form) wrong(name, sentence string) {
	name = strings.TrimSuffix(name, "-other")
	if _, before := f.faults[name]; !before {
		f.faults[name] = sentence
	}
}

// text leaves out what no field of ours can mean and the database refuses:
// zero bytes and broken UTF-8.
func (f *form) text(name string) string { return plain(f.values.Get(name)) }

func plain(s string) string {
	return strings.TrimSpace(strings.ReplaceAll(strings.ToValidUTF8(s, ""), "\x00", ""))
}

func (f *form) list(name string) []string { return f.values[name] }

// ids reads numbers of things; what is none is 0, which nothing has.
func (f *form) ids(name string) []int64 {
	ids := []int64{}
	for _, s := range f.list(name) {
		id, _ := strconv.ParseInt(s, 10, 64)
		ids = append(ids, id)
	}
	return ids
}

func (f *form) ticked(name string) bool { return f.values.Get(name) != "" }

// number reads a whole number; an empty field is 0.
func (f *form) number(name string) int64 {
	t := f.text(name)
	if t == "" {
		return 0
	}
	n, err := strconv.ParseInt(t, 10, 64)
	if err != nil {
		f.wrong(name, "Type a whole number.")
	}
	return n
}

// times reads how many there are of something, in thousandths.
func (f *form) times(name string) int64 {
	n, err := money.ParseTimes(f.text(name))
	if err != nil {
		f.wrong(name, err.Error())
	}
	return n
}

// quantity reads a value with its unit; nil when the field is empty.
func (f *form) quantity(name string, kind quantity.Kind, unit quantity.Unit) *quantity.Value {
	t := f.text(name)
	if t == "" {
		return nil
	}
	v, err := quantity.Parse(kind, t, unit)
	var bad *quantity.ParseError
	if errors.As(err, &bad) {
		f.wrong(name, bad.Error())
		return nil
	}
	return &v
}

// decimal reads a number that parse understands; nil when the field is empty.
func (f *form) decimal(name string, parse func(string) (float64, error)) *float64 {
	t := f.text(name)
	if t == "" {
		return nil
	}
	n, err := parse(t)
	if err != nil {
		f.wrong(name, err.Error())
		return nil
	}
	return &n
}

// quantityRange reads a range with its unit, such as "5 to 25 N·m"; ok is false
// where it says what is wrong.
func (f *form) quantityRange(name string, kind quantity.Kind, unit quantity.Unit) (low, high quantity.Value, ok bool) {
	low, high, err := quantity.ParseRange(kind, f.text(name), unit)
	var bad *quantity.ParseError
	if errors.As(err, &bad) {
		f.wrong(name, bad.Error())
	}
	return low, high, err == nil
}

// moment reads the value of a datetime-local field in the shop's zone.
func (f *form) moment(name string, zone *time.Location) time.Time {
	t := f.text(name)
	for _, layout := range []string{"2006-01-02T15:04", "2006-01-02T15:04:05", "2006-01-02 15:04"} {
		if at, err := time.ParseInLocation(layout, t, zone); err == nil {
			return at
		}
	}
	f.wrong(name, "Say a day and a time, such as 2026-03-14 17:00.")
	return time.Time{}
}

// day reads the value of a date field; nil when it is empty.
func (f *form) day(name string) *time.Time {
	t := f.text(name)
	if t == "" {
		return nil
	}
	at, err := time.Parse("2006-01-02", t)
	if err != nil {
		f.wrong(name, "Say a day, such as 2026-03-14.")
		return nil
	}
	return &at
}
