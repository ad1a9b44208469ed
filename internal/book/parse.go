package book

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"damperdesk/internal/customer"
	"damperdesk/internal/fault"
	"damperdesk/internal/interval"
	"damperdesk/internal/quantity"
)

// MostFile is the most bytes of a file that are read, as of every file that is
// brought: some 650 services with 25 readings each. It is read within half a
// second, in some 30 MB.
const MostFile = 4 << 20

// The most of each that a file may have.
const (
	MostWorks    = 500
	mostReadings = 200 // as of all lists of a service
	mostGrades   = 20
	MostHours    = 1000          // a note a week for twenty years
	mostObjects  = MostFile / 40 // each of ours takes more
)

// firstYear is that of the oldest day that is believed: telescopic forks with a
// damper are hardly older. From memory.
const firstYear = 1980

var (
	errDay  = errors.New("no day")
	refForm = regexp.MustCompile(`^[0-9a-f-]{8,64}$`)
)

func refuse(format string, args ...any) error {
	return fault.Field("file", fmt.Sprintf(format, args...))
}

// Parse reads a file, strictly: whatever is wrong with it is a fault.Invalid on
// "file" with one sentence. today is the last day that work can have been done.
func Parse(content []byte, today time.Time) (f File, err error) {
	content = bytes.TrimPrefix(content, []byte("\ufeff")) // as some editors save it
	if len(content) > MostFile {
		return f, refuse("The file has more than %d MB.", MostFile>>20)
	}
	if err := readHead(content); err != nil {
		return f, err
	}
	dec := json.NewDecoder(bytes.NewReader(content))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&f); err != nil {
		var kind *json.UnmarshalTypeError
		switch {
		case errors.As(err, &kind):
			return f, refuse("In the file, “%s” is not what has to stand there.", cmp.Or(shortened(kind.Field, MostLetters), "the whole"))
		case errors.Is(err, errDay) || errors.As(err, new(*time.ParseError)):
			return f, refuse("The file has a day that is none: days are written like 2026-03-14.")
		}
		return f, refuse("The file has a part that a service book of version %d does not have.", Version)
	}
	f = f.said(tidy)
	return f, f.check(today)
}

// readHead refuses what is no service book at all, and one of a version to come.
func readHead(content []byte) error {
	var head struct {
		Format  string  `json:"format"`
		Version float64 `json:"version"`
	}
	dec := json.NewDecoder(bytes.NewReader(content))
	if err := dec.Decode(&head); err != nil || !utf8.Valid(content) {
		return refuse("This is no service book: the file cannot be read as JSON in UTF-8.")
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return refuse("After the service book the file goes on with something else.")
	}
	switch {
	case head.Format != Format:
		return refuse("This is no service book: it does not begin with the format “%s”.", Format)
	case head.Version > Version:
		return refuse("The file is of version %g of the service book; this program reads version %d.", head.Version, Version)
	case head.Version != Version:
		return refuse("The file says no version of the service book that there is.")
	case objects(content) > mostObjects:
		return tooMuch()
	}
	return nil
}

func tooMuch() error {
	return refuse("The file has more than a unit can have lived through: at most %d services and %d notes of ride hours.", MostWorks, MostHours)
}

// objects counts those of a JSON text, so that none is read that would take many
// times its own size in memory.
func objects(content []byte) (n int) {
	inside, escaped := false, false
	for _, c := range content {
		switch {
		case escaped:
			escaped = false
		case inside && c == '\\':
			escaped = true
		case c == '"':
			inside = !inside
		case c == '{' && !inside:
			n++
		}
	}
	return n
}

// check says the first thing that cannot be.
func (f File) check(today time.Time) error {
	if err := f.Unit.check(); err != nil {
		return err
	}
	if err := anyOf(plain("its shop", f.Shop), believed(f.Made, today)); err != nil {
		return err
	}
	if len(f.Services) > MostWorks || len(f.RideHours) > MostHours {
		return tooMuch()
	}
	refs := map[string]bool{}
	for _, w := range f.Services {
		if refs[w.Ref] {
			return refuse("Two services of the file have the same ref.")
		}
		refs[w.Ref] = true
		if err := w.check(today); err != nil {
			return err
		}
	}
	for _, r := range f.RideHours {
		if err := r.check(today); err != nil {
			return err
		}
	}
	if out := f.LeftOut; out != nil && (out.Services < 0 || out.RideHours < 0) {
		return refuse("The file says that less than nothing was left out of it.")
	}
	for _, i := range f.Intervals {
		if err := anyOf(plain("an interval", i.Name, i.Code), whole(i.Hours, 5000), whole(i.Months, 240)); err != nil {
			return err
		}
	}
	return nil
}

func anyOf(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// plain holds words to one line.
func plain(of string, words ...string) error {
	for _, w := range words {
		if utf8.RuneCountInString(w) > MostLetters {
			return refuse("In the file, words of %s have more than %d characters.", of, MostLetters)
		}
		if strings.ContainsFunc(w, refusedRune) {
			return refuse("In the file, words of %s have a character that cannot be printed.", of)
		}
	}
	return nil
}

func needed(of, words string) error {
	if words == "" {
		return refuse("In the file, %s has no words.", of)
	}
	return plain(of, words)
}

func believed(d Date, today time.Time) error {
	switch {
	case d.IsZero():
		return refuse("The file leaves out a day.")
	case d.Year() < firstYear:
		return refuse("The file has a day in %d, before %d.", d.Year(), firstYear)
	case d.After(today.AddDate(0, 0, 1)): // shops lie in other zones
		return refuse("The file has a day that is still to come: %s.", d.Format("2 January 2006"))
	}
	return nil
}

func whole(n, most int) error {
	if n < 0 || n > most {
		return refuse("The file has an interval of %d, which is none.", n)
	}
	return nil
}

func (f Facts) check() error {
	if !slices.Contains(customer.Kinds, f.Kind) {
		return refuse("The file does not say whether it is a fork, a rear shock or a seatpost.")
	}
	if f.Name() == "" || f.Name() == " " {
		return refuse("The file does not say what the unit is.")
	}
	if f.TravelMM < 0 || f.TravelMM > 500 {
		return refuse("The file says a travel of %d mm.", f.TravelMM)
	}
	if f.Spring != "" && !slices.Contains([]string{"air", "coil", "none"}, f.Spring) {
		return refuse("The file says a spring that is neither air, coil nor none.")
	}
	return plain("the unit", f.Maker, f.Model, f.Words, f.Serial)
}

func (w Work) check(today time.Time) error {
	if !refForm.MatchString(w.Ref) {
		return refuse("A service of the file has no ref of 8 to 64 hexadecimal digits.")
	}
	if err := anyOf(believed(w.Day, today), needed("the shop of a service", w.Shop)); err != nil {
		return err
	}
	if len(w.Services) == 0 {
		return refuse("The file does not say what was done on %s.", w.Day.Format("2 January 2006"))
	}
	for _, n := range []int{len(w.Services), len(w.Found), len(w.Readings), len(w.Settings)} {
		if n > mostReadings {
			return refuse("A service of the file has more than %d entries.", mostReadings)
		}
	}
	for _, s := range w.Services {
		if err := anyOf(needed("a service", s.Name), plain("a service", s.Code)); err != nil {
			return err
		}
	}
	for _, found := range w.Found {
		if err := anyOf(needed("a finding", found.What), needed("a finding", found.Grade), plain("a finding", found.Step)); err != nil {
			return err
		}
	}
	for _, r := range w.Readings {
		if err := r.check(w.Day); err != nil {
			return err
		}
	}
	for _, s := range w.Settings {
		if err := s.check(w.Day); err != nil {
			return err
		}
	}
	return nil
}

func (r Reading) check(day Date) error {
	if err := anyOf(needed("a reading", r.Step), needed("a reading", r.What), plain("a reading", r.Grade), plain("a reading", r.Grades...)); err != nil {
		return err
	}
	if r.Value == nil && r.Count == nil && r.Grade == "" || len(r.Grades) > mostGrades {
		return refuse("A reading of %s says nothing: “%s”.", day.Format("2 January 2006"), r.What)
	}
	if r.Grade != "" && len(r.Grades) > 0 && !slices.Contains(r.Grades, r.Grade) {
		return refuse("A reading of %s has a grade that is not on its scale: “%s”.", day.Format("2 January 2006"), r.Grade)
	}
	return measured(r.What, day, r.Quantity, r.Value, r.Unit, r.ShownIn, r.Count)
}

func (s Setting) check(day Date) error {
	if err := anyOf(needed("a setting", s.Key), needed("a setting", s.Name), plain("a setting", s.Form, s.Words)); err != nil {
		return err
	}
	if s.Value == nil && s.Count == nil && s.Words == "" {
		return refuse("A setting of %s says nothing: “%s”.", day.Format("2 January 2006"), s.Name)
	}
	return measured(s.Name, day, s.Quantity, s.Value, s.Unit, s.ShownIn, s.Count)
}

// measured holds a value to its SI unit and to what can be at all.
func measured(what string, day Date, kind quantity.Kind, value *float64, unit string, shown quantity.Unit, count *float64) error {
	on := day.Format("2 January 2006")
	if count != nil && !(*count >= -1000 && *count <= 1000) {
		return refuse("“%s” of %s counts %g, which cannot be.", what, on, *count)
	}
	if value == nil {
		return anyOf(plain("a unit", unit, string(shown), string(kind)))
	}
	m, known := measures[kind]
	switch {
	case !known:
		return refuse("“%s” of %s is of a quantity that is not known.", what, on)
	case unit != m.unit:
		return refuse("“%s” of %s has to be in %s.", what, on, m.unit)
	case !(*value >= m.low && *value <= m.high):
		return refuse("“%s” of %s says %g %s, which cannot be.", what, on, *value, m.unit)
	case shown != "" && shown.Kind() != kind && shown.Kind() != "":
		return refuse("“%s” of %s was read in a unit of something else.", what, on)
	}
	return plain("a unit", string(shown))
}

func (r Ridden) check(today time.Time) error {
	if !slices.Contains([]string{interval.Stated, interval.Habit, interval.Meter}, r.Kind) {
		return refuse("The file has ride hours of a kind that is not known.")
	}
	if err := believed(r.On, today); err != nil {
		return err
	}
	on := r.On.Format("2 January 2006")
	switch {
	case !slices.Contains(interval.Sources, r.Source):
		return refuse("Ride hours of %s do not say who said them.", on)
	case (r.Kind == interval.Meter) != (r.ReadOn != nil), r.Kind == interval.Meter && r.Since != nil:
		return refuse("Ride hours of %s: a meter, and nothing else, has the day that it was read on, and none that it counts from.", on)
	case r.Season != "" && r.Kind != interval.Habit:
		return refuse("Ride hours of %s: only a habit is of a part of the year.", on)
	case slices.Contains(r.Conditions, interval.HeavyRider):
		return refuse("Ride hours of %s say what a rider weighs, which goes with no unit.", on)
	}
	for _, sentence := range r.said().Check(r.On.Time) {
		return refuse("Ride hours of %s cannot be: %s", on, sentence)
	}
	return nil
}

func (r Ridden) said() interval.Said {
	said := interval.Said{Source: r.Source, Season: r.Season, Conditions: r.Conditions}
	switch r.Kind {
	case interval.Stated:
		said.Hours = &r.Hours
	case interval.Meter:
		said.Meter, said.MeterOn = &r.Hours, &r.ReadOn.Time
	default:
		said.RidesAWeek, said.HoursARide = &r.RidesAWeek, &r.HoursARide
		if r.RidesAWeek == 0 {
			said.HoursARide = nil
		}
	}
	if r.IndoorHours != 0 {
		said.Indoor = &r.IndoorHours
	}
	if r.Since != nil {
		said.HoursSince = &r.Since.Time
	}
	return said
}
