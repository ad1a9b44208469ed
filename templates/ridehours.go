package templates

import (
	"slices"
	"strconv"
	"strings"

	"damperdesk/internal/due"
	"damperdesk/internal/interval"
)

// hours is a number of hours to a tenth below 100, without a stray zero.
func hours(h float64) string {
	digits := 1
	if h >= 100 {
		digits = 0
	}
	return strings.TrimSuffix(strconv.FormatFloat(h, 'f', digits, 64), ".0")
}

// hours is hours as customers read them.
func (b Base) hours(h float64) string { return b.Prefs.decimals(hours(h)) }

// rideLength is how long a ride is: "1 h 30 min".
func rideLength(h float64) string {
	minutes := int(h*60 + 0.5)
	var parts []string
	if minutes >= 60 {
		parts = append(parts, num(minutes/60)+" h")
	}
	if minutes%60 > 0 || minutes == 0 {
		parts = append(parts, num(minutes%60)+" min")
	}
	return strings.Join(parts, " ")
}

// readingWords says what was said.
func (b Base) readingWords(r interval.Reading) string {
	since := ""
	if r.Since != nil {
		since = " since " + b.Date(*r.Since)
	}
	if r.Season == interval.InSeason || r.Season == interval.OffSeason {
		since = " " + r.Season + since
	}
	switch {
	case r.Kind == interval.Meter:
		return "meter at " + b.hours(r.Hours) + " h on " + b.Date(*r.OnDay)
	case r.Kind == interval.Stated && since == "":
		return b.hours(r.Hours) + " h since the last service elsewhere"
	case r.Kind == interval.Stated:
		return b.hours(r.Hours) + " h" + since
	case r.RidesAWeek == 0:
		return "not ridden" + since
	case r.RidesAWeek == 1:
		return "one ride a week of " + rideLength(r.HoursARide) + since
	}
	return b.hours(r.RidesAWeek) + " rides a week of " + rideLength(r.HoursARide) + since
}

// saidByOptions are who may have said it.
func saidByOptions() []Option { return wordOptions(interval.Sources) }

// riddenIn are the conditions of riding, but for those that are asked elsewhere.
func riddenIn(without ...string) []Option {
	var options []Option
	for _, c := range interval.Conditions {
		if !slices.Contains(without, c) {
			options = append(options, Option{Value: c, Label: ridingWords(c)})
		}
	}
	return options
}

func ridingWords(c string) string {
	switch c {
	case interval.EBike:
		return "on an e-bike"
	case interval.HeavyRider:
		return "rider over 100 kg"
	case interval.AtMost:
		return "at most"
	}
	return c
}

// saidMore reports whether something folded was typed or is wrong.
func (b Base) saidMore(prefix string) bool {
	return slices.ContainsFunc([]string{"meter", "readon", "indoor", "part"}, func(name string) bool {
		return b.Error(prefix+name) != "" || !slices.Contains([]string{"", interval.AllYear}, b.Value(prefix+name, ""))
	})
}

// usedWords say how a reading counts; nothing where it counts as it was said.
func usedWords(u interval.Used) string {
	var words []string
	switch {
	case u.FirstMeter:
		return "the first reading of this meter: counted from here on"
	case u.NewMeter:
		return "less than before: a new meter, counted anew from here on"
	case u.Kind == interval.Meter:
		words = append(words, hours(u.Plain)+" h more")
	}
	if u.IndoorHours > 0 {
		words = append(words, hours(u.IndoorHours)+" h on a trainer do not count")
	}
	if u.Trainer > 0 {
		words = append(words, "without "+hours(u.Trainer)+" h on a trainer that were said of these days")
	}
	if u.Factor == 1 {
		return strings.Join(words, ", ")
	}
	counts := "counts as " + hours(u.Hours()) + " h used, × " + factorText(u.Factor)
	switch {
	case u.Kind == interval.Habit:
		counts = "each hour counts as " + factorText(u.Factor)
	case u.Shared:
		counts += " by the days of each owner"
	}
	var why []string
	for _, f := range u.Why {
		if f.Kind == interval.AtMost {
			why = append(why, "at most "+factorText(f.Factor))
		} else {
			why = append(why, ridingWords(f.Kind)+" "+factorText(f.Factor))
		}
	}
	return strings.Join(append(words, counts+": "+strings.Join(why, ", ")), ", ")
}

// backWords say by whom a reading was taken back, when, and why.
func (b Base) backWords(r interval.Reading) string {
	by := r.BackBy
	if by == "" {
		by = "the rider, in the book"
	}
	words := "by " + by + ", " + b.Day(*r.BackAt)
	if r.BackWhy != "" {
		words += ": " + r.BackWhy
	}
	return words
}

// mostApart is how many pairs of readings that do not agree stand on the page of a
// unit, the newest days first.
const mostApart = 10

func (p UnitBookPage) disagreeing() []interval.Contradiction {
	return p.Apart[:min(len(p.Apart), mostApart)]
}

// hoursBackPath keeps what part of the list is shown.
func (p UnitBookPage) hoursBackPath() string {
	path := p.path() + "/hours/back"
	if p.HoursBefore != 0 {
		path += "?hours=" + idText(p.HoursBefore)
	}
	return path
}

// wrongHours are the readings shown that can be taken back, the newest first.
func (p UnitBookPage) wrongHours() []Option {
	list := []Option{{Value: "", Label: "Choose"}}
	for _, u := range p.Ridden {
		if u.Standing() {
			list = append(list, Option{Value: idText(u.ID), Label: p.readingNamed(u.Reading)})
		}
	}
	return list
}

// factorText is a factor to two places, without stray zeros.
func factorText(f float64) string {
	return strings.TrimSuffix(strings.TrimRight(strconv.FormatFloat(f, 'f', 2, 64), "0"), ".")
}

// readingNamed says what was said, by whom and when.
func (b Base) readingNamed(r interval.Reading) string {
	return b.readingWords(r) + ", by the " + strings.TrimPrefix(r.Source, "our ") + ", " + b.Day(r.At)
}

// whyCounts says which of two readings counts, and why.
func whyCounts(c interval.Contradiction) string {
	switch {
	case c.Why == interval.WhyNewer:
		return "The newer one counts."
	case c.Why == interval.WhySource && c.Counts.Source == interval.Sources[1]:
		return "What a bike computer counted comes before what anybody says."
	case c.Why == interval.WhySource:
		return "What the rider says comes before our estimate."
	case c.Counts.Kind == interval.Meter:
		return "What a meter shows comes before what anybody says."
	}
	return "Hours that were counted come before a habit."
}

// happenedOptions are what is asked at the counter by ticks; a crash is asked
// among what the unit does.
func happenedOptions() []Option {
	var options []Option
	for _, kind := range interval.Happenings {
		if kind != interval.Crash {
			options = append(options, Option{Value: kind, Label: happenedText[kind].tick})
		}
	}
	return options
}

// happenings are what can have happened, to choose one.
func happenings() []Option {
	var options []Option
	for _, kind := range interval.Happenings {
		options = append(options, Option{Value: kind, Label: happenedText[kind].what})
	}
	return options
}

// happenedText says what happened to a unit: as a choice, by a tick at the
// counter, as what a limit comes after, and as the head of a line before a day.
var happenedText = map[string]struct{ what, tick, after, on string }{
	interval.Stored:     {"stored", "stored three months", "storage", "stored until"},
	interval.JetWash:    {"jet wash", "jet wash", "a jet wash", "jet wash on"},
	interval.UnderWater: {"under water", "under water", "being under water", "under water on"},
	interval.Crash:      {"crash", "", "a crash", "crashed on"},
	interval.New:        {"new, first ridden", "new, hardly ridden yet", "its first ride", "first ridden on"},
	interval.Watched:    {"a finding to keep an eye on", "", "what was found", "to keep an eye on since"},
}

func happenedWords(kinds []string) string {
	var words []string
	for _, k := range kinds {
		if text, ok := happenedText[k]; ok {
			words = append(words, text.what)
		}
	}
	return strings.Join(words, ", ")
}

// happened is what happened outside the shop, the newest first; findings stand
// in a list of their own.
func (p UnitBookPage) happened() []interval.Event {
	list := slices.DeleteFunc(slices.Clone(p.Events), func(e interval.Event) bool { return e.Kind == interval.Watched })
	slices.Reverse(list)
	return list
}

// eventLine names an event with its day.
func (b Base) eventLine(e interval.Event) string {
	if e.Kind == interval.Stored {
		return "stored from " + b.Date(e.OnDay) + " to " + b.Date(e.Day())
	}
	return happenedText[e.Kind].on + " " + b.Date(e.OnDay)
}

func saidBy(e interval.Event) string {
	if e.How == interval.OnPage {
		return "on the customer’s page"
	}
	return e.By
}

// asksWords say what an event asks of the services the unit can have.
func (p UnitBookPage) asksWords(e interval.Event) []string {
	var list []string
	for _, rule := range p.After.Of(e) {
		for _, r := range p.Due {
			if r.Code != rule.ServiceCode {
				continue
			}
			switch answered := e.Answered(r.Served); {
			case answered && (rule.Hint || rule.Counts()):
				list = append(list, r.Service+" was done since")
			case rule.Hint:
				list = append(list, hintWords(r.Service, r.Code))
			case rule.Counts():
				list = append(list, "asks for "+lowerFirst(r.Service)+" "+afterWords(rule))
			}
		}
	}
	return list
}

// hintWords say what to look at where nothing is due. Common practice (no
// source).
func hintWords(service, code string) string {
	if code == "air-spring" || code == "air-can" {
		return "before it is ridden: pressure, cycle it, look at the wipers"
	}
	return "worth a look: " + lowerFirst(service)
}

// afterWords say when a rule makes its service due: "at once", "after 25 h or 6
// months".
func afterWords(r interval.EventRule) string {
	var words []string
	if r.Hours > 0 {
		words = append(words, num(r.Hours)+" h")
	}
	if r.Days != nil && *r.Days > 0 {
		words = append(words, plural(*r.Days, "day"))
	}
	if r.Months > 0 {
		words = append(words, plural(r.Months, "month"))
	}
	switch {
	case r.Days != nil && *r.Days == 0:
		return "at once"
	case r.Hint:
		return "as a hint, nothing is due"
	case len(words) == 0:
		return "never"
	}
	return "after " + strings.Join(words, " or ")
}

// notToRide reports whether the unit crashed and has not been looked at since.
func (p UnitBookPage) notToRide(e interval.Event) bool {
	return e.Kind == interval.Crash && slices.ContainsFunc(p.Due, func(r due.Row) bool {
		return slices.ContainsFunc(r.Asks, func(a interval.Ask) bool { return a.Event.ID == e.ID && a.Event.Kind == e.Kind })
	})
}

// textCrashed is said of a unit that crashed.
const textCrashed = "Do not ride it before the crown and steerer have been looked at."
