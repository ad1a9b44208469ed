package browsertest_test

import (
	"fmt"
	"maps"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/erase"
	"damperdesk/internal/history"
	"damperdesk/internal/link"
	"damperdesk/internal/message"
	"damperdesk/web/browsertest"
)

// view is a page as somebody comes to it.
type view struct {
	who  string // nobody is signed in where it is empty
	path string
	then func(hand) // what is done there before it is looked at
}

// notPages are the addresses that answer GET with something else than a page.
var notPages = map[string]string{
	"/healthz":          "for machines",
	"/readyz":           "for machines",
	"/live":             "a stream",
	"/":                 "leads to the board or the bench",
	"/tickets/{number}": "leads to the job",
	"/drop-off/find":    "a part of the drop-off page, which is looked at with it",
	"/drop-off/alike":   "a part of the drop-off page, which is looked at with it",
	"/drop-off/promise": "a part of the drop-off page, which is looked at with it",
	"/models/measured":  "a part of the drop-off page, which is looked at with it",
	"/setup":            "looked at on an empty database",

	"/models/csv/file":  "a file",
	"/orders/{id}/csv":  "a file",
	"/parts/waste/file": "a file",
	"/parts/csv":        "a file",
	"/parts/{id}/csv":   "a file",

	"/b/{token}/book.json":  "a file",
	"/units/{id}/book.json": "a file",

	"/pictures/{id}":                 "a picture",
	"/pictures/{id}/thumb":           "a picture, looked at on the bench sheet",
	"/drop-off/pictures/{id}":        "a picture",
	"/drop-off/pictures/{id}/thumb":  "a picture, looked at in the drop-off form",
	"/c/{token}/pictures/{id}":       "a picture",
	"/c/{token}/pickup.ics":          "a file for a calendar",
	"/c/{token}/due.ics":             "a file for a calendar",
	"/c/{token}/pictures/{id}/thumb": "a picture, looked at on the customer’s page",
}

// stock finds what pages are about in the invented shop.
type stock struct {
	t    *testing.T
	pool *db.Pool
}

// id is what a query finds first.
func (s stock) id(query string, args ...any) int64 {
	s.t.Helper()
	var id int64
	if err := s.pool.QueryRow(s.t.Context(), query, args...).Scan(&id); err != nil {
		s.t.Fatalf("%s %v: %v", query, args, err)
	}
	return id
}

// job is one at that stage that waits for nothing.
func (s stock) job(stage string) int64 {
	s.t.Helper()
	return s.id(`select id from job where stage = $1 and not exists (select from hold where job_id = job.id
		and not exists (select from hold_end where hold_id = hold.id)) order by id limit 1`, stage)
}

// waiting is a job with such a hold.
func (s stock) waiting(kind string) int64 {
	s.t.Helper()
	return s.id(`select job_id from hold where kind = $1 and not exists (select from hold_end where hold_id = hold.id)
		order by id limit 1`, kind)
}

// digits is a text that a query finds first.
func (s stock) digits(query string) (text string) {
	s.t.Helper()
	if err := s.pool.QueryRow(s.t.Context(), query).Scan(&text); err != nil {
		s.t.Fatalf("%s: %v", query, err)
	}
	return text
}

func (s stock) tool(name string) int64 {
	s.t.Helper()
	return s.id("select id from tool where name = $1", name)
}

// customer is the address that the customer of a job has.
func (s stock) customer(job int64) string {
	s.t.Helper()
	visit := s.id("select visit_id from job where id = $1", job)
	var token string
	err := db.Write(s.t.Context(), s.pool, func(tx pgx.Tx) (err error) {
		by := dbtest.Act(s.t, tx, history.By{At: time.Now()})
		token, err = link.Make(s.t.Context(), tx, by, linkKey, visit, by.At.Add(time.Hour))
		return err
	})
	if err != nil {
		s.t.Fatal(err)
	}
	return "/c/" + token
}

// wanted is the address in a message to a customer.
func (s stock) wanted() string {
	s.t.Helper()
	return "/m/" + message.Token(linkKey, s.id("select min(id) from message where kind = 'ready'"), message.Ready)
}

// doubtful is a message that may have been sent.
func (s stock) doubtful() int64 {
	s.t.Helper()
	return s.id(`update message set state = 'doubtful', why = 'stopped at its end', handed_over_at = at, subject = 'Ready', body = 'It is ready.', tries = 1
		where id = (select max(id) from message where state = 'waiting' and kind = 'received') returning id`)
}

// step is the address of the first step of a kind that the condition finds.
func (s stock) step(job int64, condition string) string {
	s.t.Helper()
	id := s.id("select id from sheet_step s where job_id = $1 and "+condition+" order by rank limit 1", job)
	return fmt.Sprintf("/bench/%d/steps/%d", job, id)
}

const (
	signed   = "exists (select from signoff where step_id = s.id)"
	unsigned = "not " + signed
)

// broughtFile has a value that changes, a new model and a row that is refused.
const broughtFile = `row,maker,model,years,kind,spring,damper,key,place,value,unit,source,words
value,Halvard,Sill,2021 to 2024,,,,damper seal head,stanchion-right,12,N·m,judgement,Halvard Ledge
model,Halvard,Fell,from 2025,fork,coil,sealed,,,,,,
value,Halvard,Sill,2021 to 2024,,,,stem,steerer,5,N·m,judgement,Halvard Ledge
`

// offer has a newer shipped text of a block wait beside the shop's own.
func (s stock) offer(code string) {
	s.t.Helper()
	_, err := s.pool.Exec(s.t.Context(), `with offered as (
			insert into block (code, title, revision, state, shipped) select code, title, 90, 'offered', 90 from block where code = $1 and shipped = 1 returning id)
		insert into step (block_id, seq, key, kind, title, text, caution, conditions)
		select o.id, s.seq, s.key, s.kind, s.title || ', as it is shipped now', s.text, s.caution, s.conditions
		from offered o, step s join block b on b.id = s.block_id where b.code = $1 and b.shipped = 1`, code)
	if err != nil {
		s.t.Fatal(err)
	}
}

// freeCustomer is somebody with units, and nothing that keeps them from being erased.
func (s stock) freeCustomer() int64 {
	s.t.Helper()
	rows, err := s.pool.Query(s.t.Context(), "select id from customer where erased_at is null and exists (select from unit where customer_id = customer.id) order by id desc")
	if err != nil {
		s.t.Fatal(err)
	}
	ids, err := pgx.CollectRows(rows, pgx.RowTo[int64])
	for _, id := range ids {
		if p, err := erase.Look(s.t.Context(), s.pool, id, time.Now()); err == nil && len(p.Holds) == 0 && p.Visits > 0 {
			return id
		}
	}
	s.t.Fatalf("nobody can be erased, %v", err)
	return 0
}

// erased is somebody who was.
func (s stock) erased() int64 {
	s.t.Helper()
	id := s.freeCustomer()
	err := db.Write(s.t.Context(), s.pool, func(tx pgx.Tx) error {
		return erase.Customer(s.t.Context(), tx, dbtest.Act(s.t, tx, history.By{At: time.Now()}), id)
	})
	if err != nil {
		s.t.Fatal(err)
	}
	return id
}

// views are all states of the pages that differ to those who see, hear or
// touch them, by the pattern of their route.
func views(s stock) map[string][]view {
	path := func(format string, id int64) string { return fmt.Sprintf(format, id) }
	queue, bench, final := s.job("in the queue"), s.job("on the bench"), s.job("final check")
	ready, fresh := s.job("ready for pickup"), s.job("dropped off")
	closed, lengthened := s.job("picked up"), s.id("select max(id) from job where stage = 'on the bench'")
	warranty := s.id("select visit_id from bill_line where payer = 'warranty' limit 1")
	drafted, revised := s.id("select model_id from sheet where state = 'draft'"), s.id("select model_id from sheet where revision = 2 and state = 'current'")
	inside := s.id("select min(unit_id) from unit_inside")
	checks := s.id("select job_id from sheet_step s where second_check and " + signed + ` and not exists (
		select from signoff where step_id = s.id and role = 'checked') order by job_id limit 1`)
	s.offer("Q")
	parts := s.parts()
	gone, old, here := s.erased(), s.freeCustomer(), s.id("select v.customer_id from visit v join job j on j.visit_id = v.id where j.id = $1", bench)
	list := map[string][]view{
		"/sign-in": {{"", "/sign-in", nil}, {"", "/board", nil}, {"", "/sign-in", func(h hand) {
			h.fill(`[name="name"]`, "Odile")
			h.fill(`[name="passphrase"]`, "something else")
			h.press("main form button.main")
		}}},
		"/c/{token}": {
			{"", s.customer(queue), nil}, {"", s.customer(bench), nil}, {"", s.customer(ready), nil},
			{"", s.customer(s.waiting("waiting on customer")), nil}, {"", s.customer(s.waiting("sent out")), nil},
			{"", "/c/there-is-no-such-address", nil},
		},
		"/c/{token}/card": {{"", s.customer(ready) + "/card", nil}},
		"/board":          {{"Odile", "/board", nil}, {"Ines", "/board", nil}, {"Odile", "/board?who=none&stage=final+check", nil}},
		"/answers": {{"Odile", "/answers", nil}, {"Odile", "/answers", func(h hand) {
			h.fill(`#asked-part [name="who"]`, strings.Repeat("x", 121))
			h.press(`#asked-part form button`)
		}}},
		"/m/{token}": {{"", s.wanted(), nil}, {"", s.wanted() + "?done=kept", nil}, {"", "/m/there-is-no-such-address", nil}},
		"/messages":  {{"Odile", "/messages", nil}, {"Ragna", "/messages?show=look", nil}, {"Odile", "/messages?show=not-sent", nil}},
		"/messages/{id}": {
			{"Odile", path("/messages/%d", s.id("select min(id) from message where state = 'waiting'")), nil},
			{"Odile", path("/messages/%d", s.id("select min(id) from message where state = 'dropped'")), nil},
			{"Odile", path("/messages/%d", s.doubtful()), nil},
		},
		"/messages/setup": {{"Ragna", "/messages/setup", nil}, {"Ragna", "/messages/setup", func(h hand) {
			h.fill(`[name="to"]`, "ragna@example.com")
			h.press(`form[action$="/test"] button`)
		}}},
		"/promises": {{"Odile", "/promises", nil}, {"Ragna", "/promises?done=moved", nil}},
		"/find": {
			{"Odile", "/find", nil}, {"Odile", "/find?q=trail+bike", nil}, {"Ines", "/find?q=mrash", nil},
			{"Odile", "/find?q=odette+07700+900+999", nil}, {"Odile", "/find?q=nobody+of+that+name", nil}, {"Ines", "/find?q=nobody+of+that+name", nil},
		},
		"/jobs/{id}": {
			{"Odile", path("/jobs/%d", fresh), nil}, {"Odile", path("/jobs/%d", bench), nil}, {"Ines", path("/jobs/%d", queue), nil},
			{"Odile", path("/jobs/%d", s.waiting("waiting on parts")), nil}, {"Odile", path("/jobs/%d", ready), nil},
			{"Odile", path("/jobs/%d", closed), nil}, {"Odile", "/jobs/999999", nil},
		},
		"/customers/{id}": {{"Odile", path("/customers/%d", s.id("select min(id) from customer")), nil}, {"Ines", path("/customers/%d", s.id("select min(id) from customer")), nil},
			{"Odile", path("/customers/%d", gone), nil}},
		"/customers/{id}/erase": {{"Ragna", path("/customers/%d/erase", here), nil}, {"Ragna", path("/customers/%d/erase", old), func(h hand) {
			h.fill(`[name="confirm"]`, "yes")
			h.press(`main form button.main`)
		}}},
		"/shop/retention": {{"Ragna", "/shop/retention", nil}, {"Ragna", "/shop/retention", func(h hand) {
			h.fill(`[name="years"]`, "31")
			h.press(`main form button.main`)
		}}},
		"/units/{id}/sell": {
			{"Odile", path("/units/%d/sell?who=ode", s.id("select max(id) from unit where customer_id = $1", old)), func(h hand) {
				h.fill(`[name="phone"]`, "12")
				h.press(`main form[method="post"] button.main`)
			}},
			{"Odile", path("/units/%d/sell", s.id("select unit_id from job where id = $1", bench)), nil},
		},
		"/customers/{id}/merge": {
			{"Odile", path("/customers/%d/merge", s.id("select min(id) from customer")), nil},
			{"Odile", fmt.Sprintf("/customers/%d/merge?with=%d", s.id("select min(id) from customer"), s.id("select max(id) from customer")), nil},
		},
		"/units/{id}": {
			{"Odile", path("/units/%d", s.id("select unit_id from job where id = $1", ready)), nil},
			{"Ines", path("/units/%d", s.id("select min(unit_id) from hour_reading")), func(h hand) {
				h.fill(`[name="hours"]`, "lots")
				h.press(`form[action$="/hours"] button.button`)
			}},
			{"Ines", path("/units/%d", s.id("select min(unit_id) from unit_event where kind = 'crash'")), func(h hand) {
				h.press(`form[action$="/happened"] button.button`)
			}},
			{"Odile", path("/units/%d", s.id("select min(unit_id) from hour_reading where kind = 'meter'")), nil},
			{"Ines", path("/units/%d", s.takenBack()), func(h hand) {
				h.click(`details:has(form[action$="/hours/back"]) > summary`)
				h.fill(`[name="back.why"]`, "of another fork")
				h.press(`form[action$="/hours/back"] button.button`)
			}},
			{"Odile", path("/units/%d", s.served()), func(h hand) {
				h.click(`details:has(form[action$="/book/back"]) > summary`)
				h.fill(`[name="book.why"]`, "of another fork")
				h.press(`form[action$="/book/back"] button.button`)
			}},
		},
		"/units/{id}/change": {{"Ines", path("/units/%d/change", s.id("select unit_id from job where id = $1", ready)), func(h hand) {
			h.fill(`[name="serial"]`, strings.Repeat("7", 121))
			h.press(`main form.plain button`)
		}}},
		"/units/{id}/inside": {
			{"Marit", path("/units/%d/inside", inside), nil},
			{"Ines", path("/units/%d/inside", s.id("select unit_id from job where id = $1", fresh)), func(h hand) {
				h.fill(`[name="travel"]`, "900")
				h.press(`main form.ruled button.main`)
			}},
		},
		"/units/{id}/inside/value": {{"Ines", path("/units/%d/inside/value?key=foot+bolt", inside), func(h hand) {
			h.fill(`[name="nominal"]`, "73 N·m")
			h.press("main form.plain button.main")
		}}},
		"/due/invite": {{"Odile", path("/due/invite?invite=%d:lower-leg", s.id("select min(unit_id) from due where service_code = 'lower-leg' and by is not null and open_job is null")), nil}},
		"/due":        {{"Odile", "/due", nil}, {"Odile", "/due?most=lots", nil}, {"Ragna", "/due?state=booked&most=3", nil}, {"Ragna", "/due?state=unknown&service=lower-leg", nil}, {"Odile", "/due?state=here+now&service=coil-spring", nil}, {"Ragna", "/due?sort=worth&ticked=yes", nil}, {"Odile", "/due?sort=customer", nil}},
		"/intervals": {{"Ragna", "/intervals", nil}, {"Ragna", "/intervals", func(h hand) {
			h.fill(`[name="counts.e-bike"]`, "9")
			h.press(`form[action="/intervals/counts"] button`)
		}}},
		"/intervals/event": {
			{"Ragna", "/intervals/event?kind=stored&service=lower-leg", nil},
			{"Ragna", "/intervals/event?kind=crash&service=full", func(h hand) {
				h.fill(`[name="days"]`, "soon")
				h.press("main form.plain button.main")
			}},
		},
		"/intervals/rule": {
			{"Ragna", "/intervals/rule?service=lower-leg", nil},
			{"Ragna", path("/intervals/rule?service=lower-leg&model=%d", s.id("select min(model_id) from interval_rule")), func(h hand) {
				h.fill(`[name="hours"]`, "fifty")
				h.press(`button[value="keep"]`)
			}},
		},
		"/models":     {{"Odile", "/models", nil}},
		"/models/csv": {{"Odile", "/models/csv", nil}, {"Ines", "/models/csv", nil}},
		"/models/csv/{id}": {{"Ines", path("/models/csv/%d", s.id(`insert into library_file (staff_id, name, content, at)
			select id, 'library.csv', convert_to($1, 'UTF8'), now() from staff where name = 'Ines' returning id`, broughtFile)), nil}},
		"/models/{id}": {{"Odile", path("/models/%d", s.id("select min(id) from model")), nil}, {"Ines", path("/models/%d", drafted), nil}},
		"/models/new": {{"Ragna", "/models/new", nil}, {"Ragna", "/models/new", func(h hand) {
			h.fill(`[name="maker"]`, "Halvard")
			h.fill(`[name="name"]`, "Fell")
			h.fill(`[name="travel"]`, "long")
			h.fill(`[name="spring"]`, "air")
			h.fill(`[name="damper"]`, "sealed")
			h.press("main form button.main")
		}}},
		"/models/{id}/change":            {{"Ragna", path("/models/%d/change", drafted), nil}},
		"/models/{id}/sheets/{revision}": {{"Odile", path("/models/%d/sheets/2", revised), nil}, {"Odile", path("/models/%d/sheets/1", revised), nil}},
		"/models/{id}/draft":             {{"Marit", path("/models/%d/draft", drafted), nil}, {"Ines", path("/models/%d/draft", revised), nil}},
		"/models/{id}/draft/value": {
			{"Ines", path("/models/%d/draft/value?key=stem", drafted), nil}, {"Ines", path("/models/%d/draft/value?key=air-side+oil", drafted), nil},
			{"Ines", path("/models/%d/draft/value?key=axle", drafted), func(h hand) {
				h.fill(`[name="nominal"]`, "120 N·m")
				h.press("main form button.main")
			}},
		},
		"/models/{id}/draft/chart": {{"Ines", path("/models/%d/draft/chart", drafted), nil}, {"Ines", path("/models/%d/draft/chart", drafted), func(h hand) {
			h.fill(`[name="row1.pressure"]`, "20")
			h.press("main form button.main")
		}}},
		"/models/{id}/draft/check": {{"Ines", path("/models/%d/draft/check", drafted), nil}, {"Marit", path("/models/%d/draft/check", drafted), nil}},
		"/calculators":             {{"Odile", "/calculators", nil}},
		"/calculators/{name}": {
			{"Ines", "/calculators/units?value=62+lbf%C2%B7in", nil}, {"Ines", "/calculators/units?value=lots", nil},
			{"Ines", path("/calculators/torque?torque=7.3+N%%C2%%B7m&tool=%d&length=300&extension=50&angle=0", s.tool("Wrench 3")), nil},
			{"Ines", "/calculators/pressure?pressure=85+psi&t1=20&h1=0&t2=0&h2=2000&most=", nil},
			{"Ines", "/calculators/fluid?v1=32&t1=40&v2=5.4&t2=100&at=10", nil},
			{"Ines", "/calculators/blend?thin=7.5&thick=16.1&want=10&amount=120+mL", nil}, {"Ines", "/calculators/blend?thin=7.5&thick=16.1&want=20&amount=120", nil},
			{"Marit", "/calculators/sag?pressure=70+psi&sag=25&pressure2=&sag2=&spacers=1&spacers2=2&spacer=10+mL&travel=150&want=20&least=40+psi&most=150+psi&rider=82+kg", nil},
			{"Ines", "/calculators/mix?v1=7.5&amount1=100+mL&v2=16.1&amount2=50+mL&v3=&amount3=", nil}, {"Odile", "/calculators/sag", nil},
			{"Ines", path("/calculators/riders?model=%d&rider=65+kg", s.id("select id from model where name = $1", "Kelp")), nil}, {"Ines", path("/calculators/riders?model=%d&rider=140+kg", s.id("select id from model where name = $1", "Kelp")), nil},
		},
		"/parts": {{"Odile", "/parts", nil}, {"Ines", "/parts?q=wiper&kind=wiper&gone=yes", nil}, {"Odile", "/parts?state=below+zero", nil}, {"Odile", "/parts?scan=nothing", nil}},
		"/parts/new": {{"Odile", "/parts/new", nil}, {"Ines", "/parts/new", func(h hand) {
			h.fill(`[name="code"]`, "--")
			h.fill(`[name="name"]`, "Thing")
			h.press(`main form.plain button.main`)
		}}},
		"/parts/{id}": {
			{"Odile", path("/parts/%d", parts.wiper), nil}, {"Ines", path("/parts/%d", parts.fluid), nil},
			{"Ragna", path("/parts/%d", parts.wiper), func(h hand) {
				h.fill(`[name="in.qty"]`, "many")
				h.fill(`[name="in.cost"]`, "1")
				h.press(`form[action$="/receive"] button`)
			}},
		},
		"/parts/{id}/label": {{"Odile", path("/parts/%d/label", parts.wiper), nil}},
		"/parts/{id}/change": {{"Odile", path("/parts/%d/change", parts.wiper), nil}, {"Ines", path("/parts/%d/change", parts.fluid), func(h hand) {
			h.fill(`[name="nu40"]`, "thick")
			h.press(`form[action$="/change"] button.main`)
		}}},
		"/parts/import":      {{"Odile", "/parts/import", nil}},
		"/parts/import/{id}": {{"Ragna", path("/parts/import/%d", parts.file), nil}},
		"/suppliers":         {{"Odile", "/suppliers", nil}},
		"/suppliers/new": {{"Odile", "/suppliers/new", nil}, {"Odile", "/suppliers/new", func(h hand) {
			h.fill(`[name="name"]`, "Somebody")
			h.fill(`[name="lead_days"]`, "soon")
			h.press(`main form.plain button.main`)
		}}},
		"/suppliers/{id}":  {{"Odile", path("/suppliers/%d", parts.supplier), nil}},
		"/shop/below-zero": {{"Ragna", "/shop/below-zero", nil}},
		"/tools":           {{"Ines", "/tools", nil}},
		"/tools/new": {{"Ragna", "/tools/new", nil}, {"Ragna", "/tools/new", func(h hand) {
			h.fill(`[name="name"]`, "Wrench 6")
			h.fill(`[name="range"]`, "25 to 5 N·m")
			h.fill(`[name="graduation"]`, "0.1")
			h.press("main form button.main")
		}}},
		"/tools/limits": {{"Ragna", "/tools/limits", func(h hand) {
			h.fill(`[name="share"]`, "lots")
			h.press(`main form button`)
		}}},
		"/tools/{id}":        {{"Ines", path("/tools/%d", s.tool("Wrench 3")), nil}, {"Ines", path("/tools/%d", s.tool("Wrench 4")), nil}},
		"/tools/{id}/change": {{"Ragna", path("/tools/%d/change", s.tool("Wrench 4")), nil}},
		"/drop-off": {
			{"Odile", "/drop-off?who=hanne", nil},
			{"Odile", "/drop-off", func(h hand) {
				for _, symptom := range []string{"sticky", "stuck-down", "crash"} {
					h.choose(`[value="` + symptom + `"]`)
				}
			}},
			{"Odile", "/drop-off", func(h hand) {
				h.fill(`[name="limit"]`, "20")
				h.choose(`[name="unit0.services"][value="lower-leg"]`)
				h.choose(`[name="unit0.services"][value="other"]`)
				h.reads("#promise", "above the spending limit")
			}},
			{"Odile", "/drop-off", func(h hand) {
				_, err := browsertest.Eval[bool](h.Tab, `document.querySelector('[name="unit0.measured.travel"]').closest("details").open = true`)
				h.must(err, "unfold what is measured")
				h.typeKeys(`[name="unit0.measured.travel"]`, "160")
				h.reads("#f-unit0-fits-part", "Models that fit")
			}},
			{"Odile", "/drop-off", func(h hand) { h.press(`button[value="take in"]`) }},
			{"Odile", "/drop-off", func(h hand) { h.press(`button[value="add"]`) }},
			{"Odile", "/drop-off?customer=new", func(h hand) {
				h.typeKeys(`[name="phone"]`, s.digits("select phone_digits from customer where phone_digits <> '' order by id limit 1"))
				h.reads("#alike", "Perhaps they are here already.")
			}},
			{"Ines", "/drop-off", nil},
		},
		"/visits/{id}/promise": {
			{"Odile", path("/visits/%d/promise", s.id("select visit_id from job where id = $1", bench)), nil},
			{"Odile", path("/visits/%d/promise", s.id("select visit_id from job where id = $1", ready)), nil},
			{"Odile", path("/visits/%d/promise", s.id("select visit_id from job where id = $1", bench)), func(h hand) { h.press("#content form .main") }},
		},
		"/visits/{id}": {
			{"Odile", path("/visits/%d", s.id("select visit_id from job where id = $1", bench)), nil},
			{"Odile", path("/visits/%d", s.id("select visit_id from job where id = $1", ready)), nil},
			{"Odile", path("/visits/%d", warranty), func(h hand) { h.must(h.Do(openDetails("#add-line")), "open the form of a line") }},
			{"Odile", path("/visits/%d", warranty), func(h hand) { h.fill(`[name="payment.amount"]`, "999"); h.press(`form[action$="/payment"] .button`) }},
			{"Ines", path("/visits/%d", warranty), nil},
		},
		"/visits/{id}/bill": {
			{"Odile", path("/visits/%d/bill", warranty), nil}, {"Odile", path("/visits/%d/bill?payer=warranty%%2C+claim+2041", warranty), nil},
			{"Odile", path("/visits/%d/bill", s.id("select visit_id from job where id = $1", bench)), nil},
		},
		"/services": {
			{"Ragna", "/services", nil},
			{"Ragna", "/services", func(h hand) { h.fill(`[name="price.lower-leg"]`, "lots"); h.press(".prices .main") }},
			{"Ragna", "/services", func(h hand) { h.press(`[action="/services/model"] .button`) }},
		},
		"/procedures":                             {{"Ragna", "/procedures", nil}},
		"/procedures/{code}":                      {{"Ragna", "/procedures/W", nil}, {"Ragna", "/procedures/Q", nil}},
		"/procedures/{code}/draft/preview":        {{"Ragna", "/procedures/W/draft/preview?model=1&came=whole+bike&service=full", nil}},
		"/procedures/services/new":                {{"Ragna", "/procedures/services/new", func(h hand) { h.fill(`[name="name"]`, "Look"); h.press("#content form .main") }}},
		"/procedures/services/{service}":          {{"Ragna", "/procedures/services/full", nil}},
		"/procedures/{code}/draft":                {{"Ragna", "/procedures/W/draft", nil}, {"Ragna", "/procedures/W/draft", func(h hand) { h.press(`[value="up:W4"]`) }}},
		"/procedures/{code}/revisions/{revision}": {{"Ragna", "/procedures/Q/revisions/1?with=2", nil}},
		"/procedures/{code}/draft/step": {
			{"Ragna", "/procedures/W/draft/step?key=W5", nil},
			{"Ragna", "/procedures/W/draft/step?after=W2", func(h hand) {
				h.fill(`[name="title"]`, "Blow dry")
				h.fill(`[name="text"]`, "Until it is dry.")
				h.fill(`[name="minutes"]`, "5")
				h.press("#content form .main")
			}},
		},
		"/board/wall": {{"Ines", "/board/wall", nil}, {"Odile", "/board/wall?page=2", nil}},
		"/services/times": {
			{"Ragna", "/services/times", nil},
			{"Ragna", "/services/times", func(h hand) { h.fill(`[name="minutes.lower-leg"]`, "an hour"); h.press(".prices .main") }},
		},
		"/shop/rota": {
			{"Ragna", "/shop/rota", func(h hand) {
				h.fill(`[name="monday"]`, "8 to 12")
				h.press("#week .button")
			}},
			{"Ragna", "/shop/rota", func(h hand) { h.fill(`[name="reserve"]`, "99"); h.press(`form[action="/shop/reserve"] .button`) }},
			{"Ragna", "/shop/rota", func(h hand) { h.fill(`[name="sure"]`, "100"); h.press(`#sure .button`) }},
		},
		"/services/tax/{code}": {{"Ragna", "/services/tax/A", nil}},
		"/jobs/{id}/change": {
			{"Odile", path("/jobs/%d/change", fresh), nil},
			{"Odile", path("/jobs/%d/change", bench), func(h hand) {
				h.fill(`[name="was.hangs"]`, "hook 99")
				h.fill(`[name="hangs"]`, "hook 98")
				h.press("main form .main")
				h.reads("#clashes", "Changed by somebody else too")
			}},
		},
		"/jobs/{id}/services": {
			{"Ines", path("/jobs/%d/services?service=air-spring", bench), nil}, {"Odile", path("/jobs/%d/services", fresh), nil},
			{"Ines", path("/jobs/%d/services?service=none", bench), nil},
		},
		"/jobs/{id}/services/off": {
			{"Odile", path("/jobs/%d/services/off", fresh), nil}, {"Ines", path("/jobs/%d/services/off?service=none", bench), nil},
			{"Ines", path("/jobs/%d/services/off", bench), nil},
			{"Ines", path("/jobs/%d/services?service=other", lengthened), func(h hand) {
				h.press("#content .main")
				h.reads("#take-off", "Take a service off")
				h.goTo(path("/jobs/%d/services/off?service=other", lengthened))
			}},
			{"Ines", path("/jobs/%d/services/off?service=other", lengthened), func(h hand) {
				h.fill(`[name="reason"]`, "Done elsewhere.")
				h.press("#content .main")
				h.reads("#taken-off", "Done elsewhere.")
			}},
		},
		"/visits/{id}/tickets": {{"Odile", path("/visits/%d/tickets?only=labels", s.id("select visit_id from job group by visit_id having count(*) > 1 limit 1")), nil}},
		"/visits/{id}/receipt": {{"Odile", path("/visits/%d/receipt", warranty), nil}},
		"/codes":               {{"Odile", "/codes?code=999999", nil}, {"Ines", "/codes?code=trail", nil}},
		"/jobs/{id}/ticket":    {{"Odile", path("/jobs/%d/ticket", bench), nil}},
		"/jobs/{id}/tag":       {{"Odile", path("/jobs/%d/tag", ready), nil}},
		"/me":                  {{"Odile", "/me", nil}},
		"/shop":                {{"Ragna", "/shop", nil}},
		"/shop/settings": {{"Ragna", "/shop/settings", nil}, {"Ragna", "/shop/settings", func(h hand) {
			h.fill(`[name="zone"]`, "Europe/Atlantis")
			h.press("main form .main")
		}}},
		"/shop/hours": {{"Ragna", "/shop/hours", nil}, {"Ragna", "/shop/hours", func(h hand) {
			h.fill(`[name="monday"]`, "10 to 6")
			h.press(`form[action="/shop/hours"] .button`)
		}}, {"Ragna", "/shop/hours", func(h hand) {
			h.fill(`[name="first"]`, time.Now().AddDate(0, 0, 1).Format(time.DateOnly))
			h.fill(`[name="last"]`, time.Now().AddDate(0, 0, 6).Format(time.DateOnly))
			h.press(`form[action="/shop/closures"] .button`)
		}}},
		"/review": {
			{"Ragna", "/review", nil}, {"Ragna", "/review?p=year", nil},
			{"Ragna", "/review?p=pick&from=2026-10-12&to=2026-10-01", nil}, {"Odile", "/review", nil},
		},
		"/shop/messages": {{"Ragna", "/shop/messages", nil}, {"Ragna", "/shop/messages", func(h hand) {
			h.fill(`[name="stillhere"]`, "61")
			h.press(`form[action="/shop/messages"] .main`)
		}}},
		"/shop/messages/{kind}": {
			{"Ragna", "/shop/messages/ready", nil}, {"Ragna", "/shop/messages/go-ahead-wanted", nil}, {"Ragna", "/shop/messages/due-soon", nil},
			{"Ragna", "/shop/messages/received?ticket=99999", nil},
			{"Ragna", "/shop/messages/received", func(h hand) {
				h.fill(`[name="body"]`, "Hello {frist name}")
				h.press(`[value="preview"]`)
			}},
			{"Ragna", "/shop/messages/still-here", func(h hand) {
				h.fill(`[name="body"]`, "Hello {first name}")
				h.press(`form[action="/shop/messages/still-here"] .main`)
			}},
		},
		"/shop/terms":   {{"Ragna", "/shop/terms", nil}, {"Ragna", "/shop/terms", func(h hand) { h.press(`form[action="/shop/terms"] .main`) }}},
		"/people":       {{"Ragna", "/people", nil}},
		"/people/{id}":  {{"Ragna", path("/people/%d", s.id("select id from staff where name = 'Ines'")), nil}},
		"/tablets":      {{"Ragna", "/tablets", nil}},
		"/tablets/{id}": {{"Ragna", path("/tablets/%d", s.id("select min(id) from device")), nil}},
		"/bench":        {{"Ines", "/bench", nil}, {"Ragna", "/bench", nil}},
		"/bench/{job}": {
			{"Ines", path("/bench/%d", bench), nil}, {"Odile", path("/bench/%d", bench), nil}, {"Ines", path("/bench/%d", queue), nil},
			{"Tobias", path("/bench/%d", final), nil}, {"Ines", path("/bench/%d", ready), nil},
		},
		"/bench/{job}/checks": {
			{"Ines", path("/bench/%d/checks", checks), nil}, {"Tobias", path("/bench/%d/checks", checks), nil},
			{"Ines", path("/bench/%d/checks", checks), func(h hand) { h.press(".together .main") }},
			{"Odile", path("/bench/%d/checks", checks), nil}, {"Ines", path("/bench/%d/checks", bench), nil},
		},
		"/bench/{job}/steps/{step}": {
			{"Ines", s.step(bench, "kind = 'torque' and "+unsigned), nil},
			{"Ines", s.step(bench, "kind = 'check' and "+unsigned), nil},
			{"Ines", s.step(bench, "kind = 'torque' and "+unsigned), func(h hand) { h.press(".signbar .main") }},
			{"Ines", s.step(bench, signed), nil},
			{"Ines", s.step(bench, "kind = 'volume' and "+signed), nil},
			{"Odile", s.step(bench, "kind = 'torque' and "+unsigned), nil},
		},
	}
	maps.Copy(list, orderViews(s))
	maps.Copy(list, shelfViews(s, "Views"))
	maps.Copy(list, needViews(s))
	maps.Copy(list, bookViews(s))
	return list
}

// patterns are the addresses in the server's own table that answer GET.
func patterns(t *testing.T, handler http.Handler) []string {
	t.Helper()
	routes, ok := handler.(chi.Routes)
	if !ok {
		t.Fatal("the server's handler does not list its routes")
	}
	var list []string
	err := chi.Walk(routes, func(method, pattern string, _ http.Handler, _ ...func(http.Handler) http.Handler) error {
		if method == http.MethodGet && !strings.HasPrefix(pattern, "/static/") {
			list = append(list, pattern)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return list
}
