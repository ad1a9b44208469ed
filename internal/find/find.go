// Package find finds jobs, customers and units from whatever somebody has to go
// by. It writes nothing; the keys it looks at are made by package customer.
//
// What is typed is taken apart into terms. Each term has to fit something of
// whatever is found: a customer by name, mail address or phone number; a unit
// by its serial, own tag number, model or words, by its bike's colour, words or
// frame number, and by its customer. How well a row fits is its worst term's
// Fit; among equals the sum over the terms counts, then units that are here,
// then the newest. Mistyped words fill up what better ones leave free.
package find

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/fold"
)

// Fit is how well something fits, the best first.
type Fit int

const (
	Exact  Fit = iota // the ticket, serial, tag or frame number itself
	Whole             // a whole word, phone number or mail address
	Begun             // the beginning of one, or the last digits of a number
	Within            // something inside a number
	Near              // a word mistyped
)

// Result is what was found, each list the best first.
type Result struct {
	Jobs      []Job // of the units, open ones first
	Customers []Customer
	Units     []Unit
	// Without is what had to be left out of the search to find anything.
	Without string
	// OnlyJob or OnlyUnit is what a code leads straight to: it is its ticket,
	// serial, tag or frame number, and nothing else's.
	OnlyJob, OnlyUnit int64

	typed typed
}

// Customer is a person that was found.
type Customer struct {
	customer.Customer
	Units    int
	LastHere *time.Time // when the newest visit was opened
	Fit      Fit        `db:"-"`
}

// Unit is a unit that was found.
type Unit struct {
	customer.Unit
	Owner Customer
	Fit   Fit
}

// Job is a job of a unit that was found.
type Job struct {
	ID         int64
	Number     int
	UnitID     int64
	Stage      string
	Ending     string // empty while open
	PromisedAt time.Time
	ClosedAt   *time.Time
	Unit       Unit `db:"-"`
}

const (
	unitsAtMost     = 30
	customersAtMost = 30
	jobsAtMost      = 12
	// enough better ones and mistyped words add nothing.
	enough = 6
)

// Person is a customer, and the unit they were found by; nil for one who was
// found by name, phone number or mail address.
type Person struct {
	Customer
	By *Unit
}

// People lists who was found, and whose units were, the best first.
func (r Result) People(limit int) []Person {
	var list []Person
	for _, c := range r.Customers {
		list = append(list, Person{Customer: c})
	}
	for _, u := range r.Units {
		if !slices.ContainsFunc(list, func(p Person) bool { return p.ID == u.CustomerID }) {
			u.Owner.Fit = u.Fit
			list = append(list, Person{u.Owner, &u})
		}
	}
	slices.SortStableFunc(list, func(a, b Person) int { return cmp.Compare(a.Fit, b.Fit) })
	return list[:min(len(list), limit)]
}

// Nothing says whether nothing was found.
func (r Result) Nothing() bool { return len(r.Jobs)+len(r.Customers)+len(r.Units) == 0 }

// All looks for the text. Where nothing fits all of it, groups of digits are
// taken one by one, then numbers beside words are left out: the number of
// somebody who is known may be new.
func All(ctx context.Context, q db.Querier, text string) (Result, error) {
	r, err := all(ctx, q, clean(text))
	if err != nil {
		return Result{}, fmt.Errorf("find: %w", err)
	}
	return r, nil
}

func all(ctx context.Context, q db.Querier, text string) (r Result, err error) {
	exactly, err := exact(ctx, q, text)
	if err != nil {
		return r, err
	}
	library, err := readLibrary(ctx, q)
	if err != nil {
		return r, err
	}
	var hit hits
	ways := readings(text)
	for _, terms := range ways {
		if r.typed, hit, err = look(ctx, q, library, terms); err != nil {
			return r, err
		}
		if !hit.nothing() || !exactly.nothing() {
			break
		}
	}
	if words, numbers := parted(ways[0]); hit.nothing() && exactly.nothing() && len(words) > 0 && numbers != "" {
		r.Without = numbers
		if r.typed, hit, err = look(ctx, q, library, words); err != nil {
			return r, err
		}
	}
	return r, r.read(ctx, q, exactly, hit)
}

// parted is the terms that are no numbers, and the numbers as written.
func parted(terms []term) (words []term, numbers string) {
	for _, t := range terms {
		if t.digits == "" {
			words = append(words, t)
		} else {
			numbers += t.text + " "
		}
	}
	return words, numbers[:max(0, len(numbers)-1)]
}

// read fetches what the ids of the hits stand for.
func (r *Result) read(ctx context.Context, q db.Querier, x exactly, h hits) error {
	h.Units = filled(append(x.hits(), h.Units...))
	h.Customers = filled(h.Customers)
	units, err := customer.UnitsByID(ctx, q, ids(h.Units))
	if err != nil {
		return err
	}
	owners := ids(h.Customers)
	for _, u := range units {
		owners = append(owners, u.CustomerID)
	}
	people, err := readCustomers(ctx, q, owners)
	if err != nil {
		return err
	}
	for _, id := range h.Customers {
		c := people[id.ID]
		c.Fit = id.Fit
		r.Customers = append(r.Customers, c)
	}
	for i, u := range units {
		r.Units = append(r.Units, Unit{Unit: u, Owner: people[u.CustomerID], Fit: h.Units[i].Fit})
	}
	if r.Jobs, err = readJobs(ctx, q, x.job, r.Units); err != nil {
		return err
	}
	r.OnlyJob, r.OnlyUnit = x.only()
	return nil
}

// hit is the id of a row that fits, and how well.
type hit struct {
	ID  int64
	Fit Fit
}

type hits struct{ Customers, Units []hit }

func (h hits) nothing() bool { return len(h.Customers)+len(h.Units) == 0 }

func ids(list []hit) []int64 {
	ids := []int64{}
	for _, h := range list {
		ids = append(ids, h.ID)
	}
	return ids
}

// filled leaves out what stands in the list already, and mistyped words beyond
// enough.
func filled(list []hit) []hit {
	var kept []hit
	for _, h := range list {
		known := slices.ContainsFunc(kept, func(k hit) bool { return k.ID == h.ID })
		if !known && (h.Fit < Near || len(kept) < enough) {
			kept = append(kept, h)
		}
	}
	return kept
}

// exactly is what has the text as its ticket or other number.
type exactly struct {
	job, jobUnit int64 // 0 for none
	units        []int64
}

func (x exactly) nothing() bool { return x.job == 0 && len(x.units) == 0 }

// hits are the units, that of the ticket first.
func (x exactly) hits() []hit {
	var list []hit
	if x.job != 0 {
		list = append(list, hit{x.jobUnit, Exact})
	}
	for _, id := range x.units {
		list = append(list, hit{id, Exact})
	}
	return list
}

func (x exactly) only() (job, unit int64) {
	switch {
	case len(x.units) == 0:
		return x.job, 0
	case len(x.units) == 1 && x.job == 0:
		return 0, x.units[0]
	}
	return 0, 0
}

func exact(ctx context.Context, q db.Querier, text string) (x exactly, err error) {
	err = q.QueryRow(ctx, "select id, unit_id from job where number = $1", ticketIn(text)).Scan(&x.job, &x.jobUnit)
	if err != nil && !errors.Is(err, pgx.ErrNoRows) {
		return x, err
	}
	rows, err := q.Query(ctx, `select id from unit where serial_key = $1 and serial_key <> ''
		union select id from unit where tag_key = $1 and tag_key <> ''
		union select id from unit where frame_key = $1 and frame_key <> ''
		order by id desc limit $2`, fold.Code(text), unitsAtMost)
	if err != nil {
		return x, err
	}
	x.units, err = pgx.CollectRows(rows, pgx.RowTo[int64])
	return x, err
}

func readCustomers(ctx context.Context, q db.Querier, ids []int64) (map[int64]Customer, error) {
	rows, err := q.Query(ctx, `select id, name, phone, mail, address, version, erased_at,
			(select count(*) from unit u where u.customer_id = c.id)::int as units,
			(select max(opened_at) from visit v where v.customer_id in (select id from customer where id = c.id or merged_into = c.id)) as last_here
		from customer c where id = any ($1)`, ids)
	list, err := db.All[Customer](rows, err)
	byID := map[int64]Customer{}
	for _, c := range list {
		byID[c.ID] = c
	}
	return byID, err
}

// readJobs puts the job of the ticket first.
func readJobs(ctx context.Context, q db.Querier, ticket int64, units []Unit) ([]Job, error) {
	of, byID := []int64{}, map[int64]Unit{}
	for _, u := range units {
		of, byID[u.ID] = append(of, u.ID), u
	}
	rows, err := q.Query(ctx, `select j.id, j.number, j.unit_id, j.stage, coalesce(j.ending, '') as ending, v.promised_at, j.closed_at
		from job j join visit v on v.id = j.visit_id
		where j.unit_id = any ($1)
		order by j.id = $2 desc, j.closed_at is not null, array_position($1, j.unit_id), j.id desc limit $3`, of, ticket, jobsAtMost)
	list, err := db.All[Job](rows, err)
	for i, j := range list {
		list[i].Unit = byID[j.UnitID]
	}
	return list, err
}
