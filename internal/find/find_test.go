package find_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/find"
	"damperdesk/internal/history"
)

var ctx = context.Background()

// desk is a small shop in a transaction.
type desk struct {
	*testing.T
	tx pgx.Tx
	by history.By
}

func newDesk(t *testing.T) desk {
	tx := dbtest.Tx(t)
	return desk{t, tx, dbtest.By(t, tx, "desk")}
}

func (d desk) customer(name, phone, mail string) int64 {
	d.Helper()
	id, err := customer.Add(ctx, d.tx, d.by, customer.Details{Name: name, Phone: phone, Mail: mail})
	if err != nil {
		d.Fatal(err)
	}
	return id
}

func (d desk) unit(owner int64, u customer.UnitDetails) int64 {
	d.Helper()
	u.Kind = "fork"
	if u.ModelID == 0 && u.ModelWords == "" {
		u.ModelWords = "plain"
	}
	id, err := customer.AddUnit(ctx, d.tx, d.by, owner, u)
	if err != nil {
		d.Fatal(err)
	}
	return id
}

func (d desk) model(maker, name string) (id int64) {
	d.Helper()
	err := d.tx.QueryRow(ctx, `insert into model (kind, maker, name, spring, damper)
		values ('fork', $1, $2, 'air', 'sealed') returning id`, maker, name).Scan(&id)
	if err != nil {
		d.Fatal(err)
	}
	return id
}

// job is one of a unit, with its stage; the closed stages close it.
func (d desk) job(number int, owner, unit int64, stage string) (id int64) {
	d.Helper()
	err := d.tx.QueryRow(ctx, `with v as (insert into visit (customer_id, promised_at, came, goes_back, currency, opened_at)
			values ($2, $5, 'counter', 'pickup', 'GBP', $5) returning id)
		insert into job (number, visit_id, unit_id, stage, opened_at, closed_at, ending)
		select $1, v.id, $3, $4, $5, case when $4 = 'picked up' then $5 end, case when $4 = 'picked up' then 'done' end from v returning id`,
		number, owner, unit, stage, dbtest.Now).Scan(&id)
	if err != nil {
		d.Fatal(err)
	}
	return id
}

func (d desk) find(text string) find.Result {
	d.Helper()
	r, err := find.All(ctx, d.tx, text)
	if err != nil {
		d.Fatalf("All(%q): %v", text, err)
	}
	return r
}

func names(r find.Result) string {
	var list []string
	for _, c := range r.Customers {
		list = append(list, c.Name)
	}
	return strings.Join(list, ", ")
}

func unitWords(r find.Result) string {
	var list []string
	for _, u := range r.Units {
		list = append(list, u.Name)
	}
	return strings.Join(list, ", ")
}

func TestCustomersAreFound(t *testing.T) {
	d := newDesk(t)
	d.customer("Odette Marsh", "07700 900 118", "odette_m@example.com")
	d.customer("Oda Marshall", "+44 (0)7700 900181", "odettexm@example.com")
	d.customer("Søren Łukaß O’Neill", "", "tiger77@example.org")
	d.customer("Team 2048", "020 7946 0018", "")
	d.customer("Bo Ng", "", "")
	d.customer("مريم", "", "")
	for _, c := range []struct{ text, want string }{
		{"marsh", "Odette Marsh, Oda Marshall"},        // the whole word first
		{"MARSH odette", "Odette Marsh, Oda Marshall"}, // whose mail address begins so
		{"ode mar", "Oda Marshall, Odette Marsh"},
		{"ode marsh o", "Odette Marsh, Oda Marshall"},
		{"arsh", "Odette Marsh"}, // mistyped: words begin at their beginning
		{"rshall", ""},
		{"soren lukass", "Søren Łukaß O’Neill"},
		{"oneill", "Søren Łukaß O’Neill"},
		{"o'neill", "Søren Łukaß O’Neill"},
		{"07700900118", "Odette Marsh"},
		{"0 7700-9001.18", "Odette Marsh"},
		{"07700 / 900 – 118", "Odette Marsh"},
		{"+44 7700 900118", "Odette Marsh"},
		{"0044 (0)7700 900118", "Odette Marsh"},
		{"07700 900181", "Oda Marshall"},
		{"+44 7700 900181", "Oda Marshall"},
		{"181", "Oda Marshall"},
		{"0 181", "Oda Marshall"},
		{"00181", "Oda Marshall"},
		{"07700 900 1", "Oda Marshall, Odette Marsh"},
		{"7700 900", "Oda Marshall, Odette Marsh"},
		{"900", ""}, // three digits are the last ones
		{"18", ""},
		{"marsh 118", "Odette Marsh"},
		{"marsh 07700 900 181", "Oda Marshall"},
		{"team 2048", "Team 2048"},
		{"2048", "Team 2048"},
		{"odette_m@", "Odette Marsh"}, // _ is no wildcard
		{"Odette_M@EXAMPLE.com", "Odette Marsh"},
		{"tiger77", "Søren Łukaß O’Neill"},
		{"example", ""},
		{"ng", "Bo Ng"},
		{"bo", "Bo Ng"},
		{"b", ""},
		{"ng bo", "Bo Ng"},
		{"bo n", ""}, // words of one or two letters are whole
		{"مريم", "مريم"},
		{"\u202bمريم\u202c", "مريم"},
	} {
		r := d.find(c.text)
		if got := names(r); got != c.want || r.Without != "" {
			t.Errorf("%q finds %q without %q, want %q", c.text, got, r.Without, c.want)
		}
	}
}

// Sources: the four kinds are Damerau's (Communications of the ACM 7, 1964).
// That a name without its umlaut may be written with an e is DIN 5007-2.
func TestMistypedWordsAreFound(t *testing.T) {
	d := newDesk(t)
	owner := d.customer("Jörg Castellan", "", "")
	d.unit(owner, customer.UnitDetails{Serial: "QX-204183", BikeWords: "hardtail", BikeColour: "yellow", FrameNo: "WB 10277"})
	for kind, text := range map[string]string{
		"a letter missing":         "castelan",
		"a letter too many":        "casstellan",
		"a wrong letter":           "cestellan",
		"two swapped":              "castelaln",
		"two slips in a long word": "csatellann",
		"the first letter wrong":   "xastellan",
		"an umlaut spelled out":    "joerg",
		"a colour":                 "yelow",
		"a bike":                   "hardtial",
		"a digit of a serial":      "qx204188",
		"digits of a frame number": "wb10727",
		"both words":               "jorgg castelan",
	} {
		r := d.find(text)
		if len(r.Units) != 1 || r.Units[0].Fit != find.Near {
			t.Errorf("%s: %q finds %+v, want the one unit as mistyped", kind, text, r.Units)
		}
	}
	for _, text := range []string{"cstln", "jrg", "qx2", "red hardtail"} {
		if r := d.find(text); !r.Nothing() && text != "qx2" {
			t.Errorf("%q finds %q and %q, want nothing", text, names(r), unitWords(r))
		}
	}
}

func TestUnitsAreFound(t *testing.T) {
	d := newDesk(t)
	odette, tom := d.customer("Odette Marsh", "07700 900118", ""), d.customer("Tomás Ellery", "", "")
	lode := d.model("Tindra", "Lode")
	d.unit(odette, customer.UnitDetails{ModelID: lode, Serial: "TL-20418", BikeWords: "hardtail", BikeColour: "green", FrameNo: "WB-77"})
	d.unit(odette, customer.UnitDetails{ModelWords: "old coil shock", Tag: "T-9", BikeWords: "hardtail", BikeColour: "green", FrameNo: "WB-77"})
	d.unit(tom, customer.UnitDetails{ModelID: lode, BikeWords: "Häckel trail bike", BikeColour: "Ölgrün"})
	for _, c := range []struct{ text, want string }{
		{"green", "old coil shock, Tindra Lode"}, // the newest first
		{"green hard", "old coil shock, Tindra Lode"},
		{"lode", "Tindra Lode, Tindra Lode"},
		{"tindra green", "Tindra Lode"},
		{"marsh lode hardtail", "Tindra Lode"},
		{"coil", "old coil shock"},
		{"olgrun", "Tindra Lode"},
		{"hackel trail", "Tindra Lode"},
		{"tl 204", "Tindra Lode"},
		{"0418", "Tindra Lode"},
		{"418", "Tindra Lode"},
		{"204", "Tindra Lode"},
		{"ellery green", ""},
		{"900118 coil", "old coil shock"},
	} {
		if got := unitWords(d.find(c.text)); got != c.want {
			t.Errorf("%q finds %q, want %q", c.text, got, c.want)
		}
	}
}

// The order: what is exactly it, whole words, beginnings, mistyped words; of
// equals those that are here, then the newest.
func TestTheBestComesFirst(t *testing.T) {
	d := newDesk(t)
	near := d.customer("Ada Mash", "", "")
	begun := d.customer("Bea Marshall", "", "")
	whole := d.customer("Cleo Marsh", "", "")
	tagged := d.customer("Dora Flint", "", "")
	for _, u := range []struct {
		owner int64
		words string
		tag   string
	}{{near, "near", ""}, {begun, "begun", ""}, {whole, "whole and here", ""}, {whole, "whole", ""}, {tagged, "tagged", "Marsh"}, {tagged, "other", ""}} {
		id := d.unit(u.owner, customer.UnitDetails{ModelWords: u.words, Tag: u.tag})
		if u.words == "whole and here" {
			d.job(5001, u.owner, id, "in the queue")
		}
	}
	d.unit(tagged, customer.UnitDetails{ModelWords: "second", Serial: "Marsh"})
	r := d.find("marsh")
	if got, want := unitWords(r), "second, tagged, whole and here, whole, begun, near"; got != want {
		t.Errorf("units in order %q, want %q", got, want)
	}
	if got, want := names(r), "Cleo Marsh, Bea Marshall, Ada Mash"; got != want {
		t.Errorf("customers in order %q, want %q", got, want)
	}
	var fits []find.Fit
	for _, u := range r.Units {
		fits = append(fits, u.Fit)
	}
	if got, want := fmt.Sprint(fits), fmt.Sprint([]find.Fit{find.Exact, find.Exact, find.Whole, find.Whole, find.Begun, find.Near}); got != want {
		t.Errorf("fits %s, want %s", got, want)
	}
	var people []string
	for _, p := range r.People(4) {
		by := ""
		if p.By != nil {
			by = " by " + p.By.Name
		}
		people = append(people, p.Name+by)
	}
	if got, want := strings.Join(people, ", "), "Dora Flint by second, Cleo Marsh, Bea Marshall, Ada Mash"; got != want {
		t.Errorf("people %q, want %q", got, want)
	}
}

// Mistyped words add nothing where enough fits as it is typed.
func TestMistypedWordsOnlyFillUp(t *testing.T) {
	d := newDesk(t)
	d.customer("Ada Mash", "", "")
	for i := range 6 {
		d.customer(fmt.Sprintf("Person%c Marsh", 'a'+i), "", "")
	}
	if got := names(d.find("marsh")); strings.Contains(got, "Mash") {
		t.Errorf("found %q, want those called Marsh alone", got)
	}
	if got := names(d.find("ada marsh")); got != "Ada Mash" {
		t.Errorf("found %q, want who may be meant", got)
	}
}

func TestACodeLeadsStraightToWhatHasIt(t *testing.T) {
	d := newDesk(t)
	odette, tom := d.customer("Odette Marsh", "07700 904141", ""), d.customer("Tomás Ellery", "", "")
	fork := d.unit(odette, customer.UnitDetails{Serial: "TL-20418", FrameNo: "WB 77", BikeColour: "green"})
	tagged := d.unit(tom, customer.UnitDetails{Tag: "31"})
	twin := d.unit(tom, customer.UnitDetails{Serial: "QX 1"})
	other := d.unit(odette, customer.UnitDetails{Serial: "qx-1", SerialSure: true})
	done, open := d.job(4141, odette, fork, "picked up"), d.job(4142, odette, fork, "in the queue")
	d.job(31, tom, twin, "picked up")
	for _, c := range []struct {
		text      string
		job, unit int64
	}{
		{"4141", done, 0}, {"#4142", open, 0}, {"http://desk.test/tickets/4142", open, 0}, // also with those digits in a phone number
		{"tl20418", 0, fork}, {"TL 204-18", 0, fork}, {"wb77", 0, fork},
		{"31", 0, 0}, // a ticket, and a tag of another unit
		{"qx1", 0, 0}, {"qx", 0, 0}, {"tl2041", 0, 0}, {"green", 0, 0}, {"marsh", 0, 0}, {"", 0, 0},
	} {
		r := d.find(c.text)
		if r.OnlyJob != c.job || r.OnlyUnit != c.unit {
			t.Errorf("%q leads to job %d, unit %d; want %d and %d", c.text, r.OnlyJob, r.OnlyUnit, c.job, c.unit)
		}
	}
	if r := d.find("QX1"); len(r.Units) != 2 || r.Units[0].ID != other || r.Units[1].ID != twin || r.Units[1].Fit != find.Exact {
		t.Errorf("a serial of two units finds %+v", r.Units)
	}
	if r := d.find("31"); len(r.Units) != 2 || r.Units[0].ID != twin || r.Units[1].ID != tagged || len(r.Jobs) != 1 {
		t.Errorf("a ticket that is a tag finds units %+v, jobs %+v", r.Units, r.Jobs)
	}
}

func TestJobsAreFoundOpenOnesFirst(t *testing.T) {
	d := newDesk(t)
	odette := d.customer("Odette Marsh", "", "")
	first, second := d.unit(odette, customer.UnitDetails{ModelWords: "first"}), d.unit(odette, customer.UnitDetails{ModelWords: "second"})
	d.job(4001, odette, first, "picked up")
	d.job(4002, odette, second, "picked up")
	d.job(4003, odette, first, "on the bench")
	var got []string
	for _, j := range d.find("marsh").Jobs {
		got = append(got, fmt.Sprint(j.Number, " ", j.Stage, " ", j.Unit.Name, " ", j.Unit.Owner.Name))
	}
	want := "4003 on the bench first Odette Marsh, 4001 picked up first Odette Marsh, 4002 picked up second Odette Marsh"
	if strings.Join(got, ", ") != want {
		t.Errorf("jobs %q, want %q", strings.Join(got, ", "), want)
	}
}

// Somebody who is known has a new phone number.
func TestANumberThatNobodyHasIsLeftOut(t *testing.T) {
	d := newDesk(t)
	d.customer("Odette Marsh", "07700 900118", "")
	r := d.find("odette marsh 07700 900 999")
	if names(r) != "Odette Marsh" || r.Without != "07700900999" {
		t.Errorf("found %q without %q", names(r), r.Without)
	}
	if r := d.find("07700 900 999"); !r.Nothing() || r.Without != "" {
		t.Errorf("found %q without %q, want nothing", names(r), r.Without)
	}
	d.unit(d.customer("Ada Flint", "", ""), customer.UnitDetails{BikeWords: "29 160 enduro"})
	if r := d.find("29 160"); names(r) != "" || len(r.Units) != 1 {
		t.Errorf("groups of digits find %d units, want one of their words", len(r.Units))
	}
}

// What is changed is found as it is now, and as it was no more.
func TestChangesAreFound(t *testing.T) {
	d := newDesk(t)
	id := d.customer("Odette Marsh", "07700 900118", "odette@example.com")
	unit := d.unit(id, customer.UnitDetails{ModelWords: "black fork", Serial: "A1234", BikeColour: "green"})
	if err := customer.Update(ctx, d.tx, d.by, id, 1, customer.Details{Name: "Odile Ellery", Phone: "07700 900222"}); err != nil {
		t.Fatal(err)
	}
	err := customer.UpdateUnit(ctx, d.tx, d.by, unit, 1, customer.UnitDetails{Kind: "fork", ModelWords: "grey fork", Serial: "B9876", BikeColour: "violet"}, false)
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{"odile", "ellery", "222", "grey", "b9876", "violet"} {
		if r := d.find(text); len(r.Units) != 1 {
			t.Errorf("%q finds %q, want the unit", text, unitWords(r))
		}
	}
	for _, text := range []string{"marsh", "118", "odette@example.com", "black", "a1234", "green"} {
		if r := d.find(text); !r.Nothing() {
			t.Errorf("%q finds %q, want nothing any more", text, unitWords(r))
		}
	}
}

func TestWhateverIsTypedIsAnswered(t *testing.T) {
	d := newDesk(t)
	d.unit(d.customer("Odette Marsh", "07700 900118", "odette@example.com"), customer.UnitDetails{Serial: "TL-1"})
	for _, text := range []string{
		"%", "_", "\\", "'", "\"", "''; drop table customer; --", "%%%", "___", "*", "?", "[a", "(", ")", ",", "#", "@", "@@", "a@", "%@", "_@_",
		"\x00", "od\x00ette", "\xff\xfe", "\u202eodette", "👩🏽‍🔧", "…", "-- --", "{}", "{a,b}", "null", "NaN", "1e9", "+", "+-", "()", "0", "00", "000",
		strings.Repeat("x", 10_000), strings.Repeat("1", 10_000), strings.Repeat("a ", 5_000), strings.Repeat("%", 10_000), strings.Repeat("é", 10_000),
		"99999999999999999999", "2147483648", "-1", "ﷺ", "ß", "İ", "\t\n",
	} {
		if r := d.find(text); len(r.Jobs) != 0 || r.Without != "" {
			t.Errorf("%.40q finds jobs or leaves out %q", text, r.Without)
		}
	}
	for _, text := range []string{"%", "_", "'", "*", "@", "👩🏽‍🔧", "\x00"} {
		if r := d.find(text); !r.Nothing() {
			t.Errorf("%q finds %q, want nothing", text, names(r))
		}
	}
}
