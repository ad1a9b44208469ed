package interval

import (
	"context"
	"errors"
	"slices"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
)

// What asks for what: common practice (no source), as shippedEvents says. Due
// on the day of the event, overdue four weeks after: the doc comment of State.
// Months clamp as in TestAddMonthsStaysInTheMonth.
func TestWhatHappenedAsksForServices(t *testing.T) {
	rules := EventRules(shippedEvents)
	at := func(kind, day string) Event { return Event{Kind: kind, OnDay: on(t, day), At: on(t, day)} }
	stored := func(from, to string) Event {
		return Event{Kind: Stored, OnDay: on(t, from), Until: on2(t, to), At: on(t, to)}
	}
	found := func(day string, services ...string) Event {
		return Event{Kind: Watched, OnDay: on(t, day), Services: services, At: on(t, day)}
	}
	rides := []Reading{{Kind: Habit, RidesAWeek: 2, HoursARide: 1.25, At: on(t, "2026-01-05")}} // 2.5 h a week
	for _, c := range []struct {
		name    string
		service string
		event   Event
		served  string // a service of that day, by noon
		said    []Reading
		today   string
		state   State // empty: nothing asked
	}{
		{"a crash, the crown and steerer", "crown-steerer", at(Crash, "2026-05-11"), "", nil, "2026-05-11", Due},
		{"a crash, nothing else", "lower-leg", at(Crash, "2026-05-11"), "", nil, "2026-05-11", ""},
		{"a crash four weeks ago", "crown-steerer", at(Crash, "2026-05-11"), "", nil, "2026-06-08", Overdue},
		{"a crash before it was looked at", "crown-steerer", at(Crash, "2026-05-11"), "2026-05-12", nil, "2026-06-08", ""},
		{"a crash after it was looked at", "crown-steerer", at(Crash, "2026-05-11"), "2026-05-10", nil, "2026-05-12", Due},
		{"a jet wash", "lower-leg", at(JetWash, "2026-05-11"), "", nil, "2026-05-11", Due},
		{"under water", "lower-leg", at(UnderWater, "2026-05-11"), "2026-03-02", nil, "2026-05-11", Due},
		{"stored just under a year", "lower-leg", stored("2025-05-12", "2026-05-11"), "", nil, "2026-05-11", ""},
		{"stored a year", "lower-leg", stored("2025-05-11", "2026-05-11"), "", nil, "2026-05-11", Due},
		{"stored a year, served while it lay", "lower-leg", stored("2024-01-11", "2026-05-11"), "2025-06-01", nil, "2026-05-11", Due},
		{"stored three months is a hint", "air-spring", stored("2026-02-11", "2026-05-11"), "", nil, "2026-05-11", ""},
		{"new, 18 h by habit", "lower-leg", at(New, "2026-03-02"), "", rides, "2026-04-13", Fine},
		{"new, 20 h and the last fifth of 25 begins", "lower-leg", at(New, "2026-03-02"), "", rides, "2026-04-27", Soon},
		{"new, 25 h", "lower-leg", at(New, "2026-03-02"), "", rides, "2026-05-11", Due},
		{"new, nobody knows the hours", "lower-leg", at(New, "2026-03-02"), "", nil, "2026-05-11", Unknown},
		{"found at the damper, not looked at there", "lower-leg", found("2026-03-02", "damper"), "", rides, "2026-05-11", ""},
		{"found at the damper, 25 h", "damper", found("2026-03-02", "damper"), "", rides, "2026-05-11", Due},
		{"found, half a year from the end of August", "lower-leg", found("2025-08-31"), "", nil, "2026-02-28", Due},
		{"found at no block, of a rear shock", "air-can", found("2025-08-31"), "", nil, "2026-02-28", Due},
		{"found on the job that ended then", "lower-leg", Event{Kind: Watched, OnDay: on(t, "2026-03-02"), At: on(t, "2026-03-02").Add(12 * time.Hour)}, "2026-03-02", rides, "2026-05-11", Due},
	} {
		var served *Served
		if c.served != "" {
			d := on(t, c.served)
			served = &Served{Ready: d, Left: d, Done: d.Add(12 * time.Hour)}
		}
		asks := rules.Asks(c.service, []Event{c.event}, served)
		if c.state == "" {
			if len(asks) > 0 {
				t.Errorf("%s: got %+v, want nothing asked", c.name, asks)
			}
			continue
		}
		got := (Rule{ServiceCode: c.service}).Outlook(Facts{Served: served, Log: NewLog(c.said, time.UTC, Riding{}), Norm: Shipped(SeasonOf("north")), Asks: asks})
		if state := got.State(on(t, c.today)); state != c.state || state != Unknown && got.By != By(c.event.Kind) {
			t.Errorf("%s: got %s by %q, want %s: %+v", c.name, state, got.By, c.state, got)
		}
	}
}

// On one day what was written later came later: a fork that crashed on its way
// home is not looked at.
func TestAnEventOfTheDayOfAService(t *testing.T) {
	d := on(t, "2026-05-11")
	served := &Served{Ready: d, Left: d, Done: d.Add(15 * time.Hour)}
	rules := EventRules(shippedEvents)
	for hour, open := range map[int]bool{9: false, 18: true} {
		e := Event{Kind: Crash, OnDay: d, At: d.Add(time.Duration(hour) * time.Hour)}
		if got := len(rules.Asks("crown-steerer", []Event{e}, served)) > 0; got != open {
			t.Errorf("said at %d, done at 15: asked %v, want %v", hour, got, open)
		}
	}
}

// A rule and what happened: what is further along counts, and a service that
// was never done here stays unknown by its rule where the event says less.
func TestAnEventBesideARule(t *testing.T) {
	lowers := Rule{ServiceCode: "lower-leg", Hours: 50, Months: 12}
	ask := func(kind, day string) []Ask {
		return EventRules(shippedEvents).Asks("lower-leg", []Event{{Kind: kind, OnDay: on(t, day)}}, nil)
	}
	little := NewLog([]Reading{{Kind: Habit, RidesAWeek: 1, HoursARide: 0.5, At: on(t, "2026-01-05")}}, time.UTC, Riding{})
	done := on(t, "2026-03-02")
	served := &Served{Ready: done, Left: done}
	for _, c := range []struct {
		name  string
		facts Facts
		state State
		by    By
	}{
		{"fine by its rule, due by the wash", Facts{Served: served, Log: little, Asks: ask(JetWash, "2026-05-01")}, Due, JetWash},
		{"never done here, due by the wash", Facts{Log: little, Asks: ask(JetWash, "2026-05-01")}, Due, JetWash},
		{"never done here, new and hardly ridden", Facts{Log: little, Asks: ask(New, "2026-05-01")}, Unknown, New},
		{"never done here, nothing happened", Facts{Log: little}, Unknown, ""},
	} {
		c.facts.Norm = Shipped(SeasonOf("north"))
		got := lowers.Outlook(c.facts)
		if state := got.State(on(t, "2026-05-11")); state != c.state || got.By != c.by {
			t.Errorf("%s: got %s by %q, want %s by %q: %+v", c.name, state, got.By, c.state, c.by, got)
		}
	}
}

func TestWhatHappenedIsWrittenDown(t *testing.T) {
	ctx, tx, by := installed(t)
	today := Day(by.At, time.UTC)
	tomorrow, year := today.AddDate(0, 0, 1), today.AddDate(-1, 0, 0)
	unit := newUnit(t, ctx, tx)
	for _, c := range []struct {
		said  Happened
		field string
	}{
		{Happened{}, "what"}, {Happened{Kind: "stolen"}, "what"}, {Happened{Kind: Stored}, "on"},
		{Happened{Kind: Stored, On: &today, Until: &year}, "until"}, {Happened{Kind: Crash, On: &year, Until: &today}, "until"},
		{Happened{Kind: Crash, On: &tomorrow}, "on"}, {Happened{Kind: Stored, On: &year, Until: &tomorrow}, "until"},
	} {
		var invalid *fault.Invalid
		if err := Happen(ctx, tx, by, unit, c.said, AtDesk, today); !errors.As(err, &invalid) || invalid.Fields[c.field] == "" {
			t.Errorf("%+v: got %v, want it refused beside %s", c.said, err, c.field)
		}
	}
	for _, h := range []Happened{{Kind: Crash}, {Kind: Stored, On: &year}} {
		if err := Happen(ctx, tx, by, unit, h, AtDesk, today); err != nil {
			t.Fatalf("%+v: %v", h, err)
		}
	}
	list, err := Events(ctx, tx, time.UTC, unit)
	if err != nil || len(list) != 2 || !list[0].OnDay.Equal(today) || list[1].Until == nil || !list[1].Until.Equal(today) || list[1].By == "" {
		t.Errorf("got %+v, %v; want the crash of today and a year of being stored until today", list, err)
	}
	if n := count(kinds(t, ctx, tx, by), "unit event said"); n != 2 {
		t.Errorf("%d are in the history, want 2", n)
	}
	if err := Happen(ctx, tx, by, 999999, Happened{Kind: Crash}, AtDesk, today); !errors.As(err, new(fault.NotFound)) {
		t.Errorf("a unit that is not there: %v", err)
	}
}

func TestAnOwnerSetsWhatRidingAndEventsCountFor(t *testing.T) {
	ctx, tx, by := installed(t)
	owner := dbtest.By(t, tx, "owner")
	if err := SetFactors(ctx, tx, by, nil); !errors.As(err, new(fault.Forbidden)) {
		t.Errorf("a mechanic sets factors: %v", err)
	}
	for _, f := range []float64{0.9, 3.1} {
		var invalid *fault.Invalid
		if err := SetFactors(ctx, tx, owner, []Factor{{Wet, f, 1}}); !errors.As(err, &invalid) || invalid.Fields[Wet] == "" {
			t.Errorf("factor %v: %v", f, err)
		}
	}
	if err := SetFactors(ctx, tx, owner, []Factor{{Wet, 2, 1}, {AtMost, 3, 1}, {EBike, 1.25, 1}}); err != nil {
		t.Fatal(err)
	}
	if err := SetFactors(ctx, tx, owner, []Factor{{Wet, 1.7, 1}}); !errors.As(err, new(fault.Conflict)) {
		t.Errorf("over a version nobody sees any more: %v", err)
	}
	factors, err := ReadFactors(ctx, tx)
	if got, _ := factors.Of([]string{Wet, EBike}); err != nil || !near(got, 2.5) || factors[EBike].Version != 1 {
		t.Errorf("wet counts for %v, %v; want 2.5, the e-bike left as it was", got, err)
	}
	if err := SetEvent(ctx, tx, by, EventRule{Kind: Crash, ServiceCode: "full"}); !errors.As(err, new(fault.Forbidden)) {
		t.Errorf("a mechanic sets what a crash asks for: %v", err)
	}
	var invalid *fault.Invalid
	if err := SetEvent(ctx, tx, owner, EventRule{Kind: Crash, ServiceCode: "full", LeastMonths: 3}); !errors.As(err, &invalid) || invalid.Fields["least"] == "" {
		t.Errorf("a crash of three months: %v", err)
	}
	if err := SetEvent(ctx, tx, owner, EventRule{Kind: Crash, ServiceCode: "full", Months: 1}); err != nil {
		t.Fatal(err)
	}
	if err := SetEvent(ctx, tx, owner, EventRule{Kind: Crash, ServiceCode: "full", Months: 2}); !errors.As(err, new(fault.Conflict)) {
		t.Errorf("a second one of the same: %v", err)
	}
	rules, err := ReadEventRules(ctx, tx)
	if err != nil || !slices.ContainsFunc(rules, func(r EventRule) bool { return r.Kind == Crash && r.ServiceCode == "full" && r.Months == 1 }) {
		t.Errorf("got %+v, %v", rules, err)
	}
}

func newUnit(t *testing.T, ctx context.Context, tx pgx.Tx) (id int64) {
	t.Helper()
	err := tx.QueryRow(ctx, `with c as (insert into customer (name, name_key, phone) values ('Odette Marsh', 'odette marsh', '07700 900118') returning id)
		insert into unit (kind, customer_id, model_words) select 'fork', id, 'black fork' from c returning id`).Scan(&id)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

// A meter that ran on faster than days do is a slip of the keys, and what is
// said of a trainer is of hours that were said.
func TestWhatIsSaidOfAMeter(t *testing.T) {
	ctx, tx, by := installed(t)
	today := Day(by.At, time.UTC)
	unit, week := newUnit(t, ctx, tx), today.AddDate(0, 0, -7)
	number := func(n float64) *float64 { return &n }
	say := func(s Said) map[string]string {
		var invalid *fault.Invalid
		if err := Say(ctx, tx, by, unit, s, today); errors.As(err, &invalid) {
			return invalid.Fields
		} else if err != nil {
			t.Fatal(err)
		}
		return nil
	}
	if wrong := say(Said{Meter: number(400), MeterOn: &week, Conditions: []string{Wet}}); wrong != nil {
		t.Fatal(wrong)
	}
	for _, c := range []struct {
		said  Said
		field string
	}{
		{Said{Meter: number(593)}, "meter"}, // eight days have 192 hours
		{Said{Meter: number(-1)}, "meter"}, {Said{MeterOn: &week}, "hours"}, {Said{Hours: number(4), MeterOn: &week}, "meter"},
		{Said{Conditions: []string{Wet}}, "ridden"}, {Said{Hours: number(4), Conditions: []string{"mud"}}, "ridden"},
		{Said{Hours: number(4), Indoor: number(5)}, "indoor"}, {Said{RidesAWeek: number(1), HoursARide: number(1), Indoor: number(1)}, "indoor"},
		{Said{RidesAWeek: number(1), HoursARide: number(1), Season: "in autumn"}, "part"}, {Said{Indoor: number(2)}, "indoor"},
	} {
		if wrong := say(c.said); wrong[c.field] == "" {
			t.Errorf("%+v: got %v, want it refused beside %s", c.said, wrong, c.field)
		}
	}
	if wrong := say(Said{Meter: number(592), Indoor: number(2)}); wrong != nil {
		t.Error(wrong)
	}
	if wrong := say(Said{RidesAWeek: number(2), HoursARide: number(1.5), Season: OffSeason}); wrong != nil {
		t.Error(wrong)
	}
	told, err := ReadTold(ctx, tx, time.UTC, SeasonOf("north"), unit)
	if err != nil {
		t.Fatal(err)
	}
	if got := told.Log(unit).Ridden(week, today); !near(got.Plain, 190) || got.Gap != 0 {
		t.Errorf("ridden %+v, want 190 h", got)
	}
}
