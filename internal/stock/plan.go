package stock

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"
	"time"

	"damperdesk/internal/csvfile"
	"damperdesk/internal/db"
	"damperdesk/internal/fold"
)

// What a line of a file is to the shelf.
const (
	RowNew       = "new"
	RowChanged   = "changed"
	RowUnchanged = "unchanged"
)

// Plan is what a file would do to the shelf.
type Plan struct {
	Items   []ItemPlan
	Refused []csvfile.Refusal
	// Mark is of the file and of what it was compared with: another mark is
	// another plan.
	Mark string
}

// ItemPlan is what a file does to one item.
type ItemPlan struct {
	Line    int
	State   string
	ID      int64 // 0: new
	Version int
	Details Details
	Changes []Difference
	Sources []SourcePlan
	Opening []Opening
	Kept    bool // amounts of the file stay out: the ledger has the item already

	instead string // the key of what replaces it, where the file brings that
	seq     int
	cells   map[string]string
	lines   map[string]bool
}

// SourcePlan is what a line does to how an item is bought.
type SourcePlan struct {
	Line    int
	State   string
	Source  Source
	Changes []Difference
}

// Opening is an amount that a file brings of an item.
type Opening struct {
	Line       int
	Qty        int64
	Priced     int64 // what a piece, a litre or a kilogram of it cost
	Batch      string
	BestBefore *time.Time
}

// Any reports whether the file does anything.
func (p Plan) Any() bool { return slices.ContainsFunc(p.Items, ItemPlan.any) }

func (i ItemPlan) any() bool {
	return i.State != RowUnchanged || len(i.Opening) > 0 || slices.ContainsFunc(i.Sources, func(s SourcePlan) bool { return s.State != RowUnchanged })
}

// Count counts items of a state.
func (p Plan) Count(state string) (n int) {
	for _, i := range p.Items {
		if i.State == state {
			n++
		}
	}
	return n
}

// planner gathers a plan row by row.
type planner struct {
	plan     Plan
	bad      map[int]bool
	currency string
	rows     []csvRow
	file     map[string]bool // the keys of all codes of the file

	there     map[string]listed // by the key of the code
	known     map[string]int64  // items that others are replaced by
	barcodes  map[string]string // whose barcode it is: the key of a code
	suppliers map[string]int64
	models    map[string]int64 // 0: several
	taxes     map[string]bool
	at        map[string]int // where an item stands in the plan
}

// PlanImport says what a file would do; money in it is in the currency of that code.
// A file that cannot be read as one is a fault.Invalid on "file".
func PlanImport(ctx context.Context, q db.Querier, data []byte, currency string) (Plan, error) {
	p := &planner{bad: map[int]bool{}, currency: currency, file: map[string]bool{}, at: map[string]int{}}
	var err error
	if p.rows, err = readCSV(data, p.refuse); err != nil {
		return Plan{}, err
	}
	if err := p.readShelf(ctx, q); err != nil {
		return Plan{}, fmt.Errorf("plan the import of parts: %w", err)
	}
	for _, r := range p.rows {
		p.row(r)
	}
	return p.finished(data), nil
}

func (p *planner) refuse(line int, column, why string) {
	p.bad[line] = true
	p.plan.Refused = append(p.plan.Refused, csvfile.Refusal{Line: line, Column: column, Why: why})
}

// named is a row of what the file names.
type named struct {
	Key string
	ID  int64
}

// readShelf reads what the file is compared with.
func (p *planner) readShelf(ctx context.Context, q db.Querier) error {
	keys, codes, barcodes := []string{}, []string{}, []string{}
	for _, r := range p.rows {
		p.file[fold.Code(r.Text("code"))] = true
		keys = append(keys, fold.Code(r.Text("code")))
		codes = append(codes, fold.Code(r.Text("replaced_by")))
		barcodes = append(barcodes, fold.Code(r.Text("barcode")))
	}
	list, err := readListed(ctx, q, keys)
	if err != nil {
		return err
	}
	p.there = map[string]listed{}
	for _, of := range list {
		p.there[of.Key()] = of
	}
	if p.known, err = readNamed(ctx, q, "select code_key as key, id from item where code_key = any ($1)", codes); err != nil {
		return err
	}
	rows, err := q.Query(ctx, "select barcode_key as barcode, code_key as code from item where barcode_key = any ($1) and barcode_key <> ''", barcodes)
	taken, err := db.All[struct{ Barcode, Code string }](rows, err)
	if err != nil {
		return err
	}
	p.barcodes = map[string]string{}
	for _, t := range taken {
		p.barcodes[t.Barcode] = t.Code
	}
	if p.suppliers, err = readNamed(ctx, q, "select lower(name) as key, id from supplier"); err != nil {
		return err
	}
	if p.models, err = readNamed(ctx, q, "select "+modelName+" as key, case when count(*) = 1 then min(m.id) else 0 end as id from model m group by 1"); err != nil {
		return err
	}
	codesOf, err := readNamed(ctx, q, "select distinct code as key, 1::bigint as id from tax_rate")
	p.taxes = map[string]bool{"": true}
	for code := range codesOf {
		p.taxes[code] = true
	}
	return err
}

func readNamed(ctx context.Context, q db.Querier, sql string, args ...any) (map[string]int64, error) {
	rows, err := q.Query(ctx, sql, args...)
	list, err := db.All[named](rows, err)
	ids := map[string]int64{}
	for _, n := range list {
		ids[n.Key] = n.ID
	}
	return ids, err
}

// row takes one line on the plan.
func (p *planner) row(r csvRow) {
	key := fold.Code(r.Text("code"))
	if key == "" {
		r.Wrong("code", "Give the code, with letters or digits.")
		return
	}
	at, further := p.at[key]
	if further {
		r.onlyFirst()
	} else {
		at = len(p.plan.Items)
		p.at[key] = at
		p.plan.Items = append(p.plan.Items, p.item(r, key))
	}
	i := &p.plan.Items[at]
	p.source(r, i)
	p.opening(r, i)
}

// item reads the first line of an item.
func (p *planner) item(r csvRow, key string) ItemPlan {
	old, is := p.there[key]
	if is {
		r.Keep(old.cells(p.currency))
	}
	i := ItemPlan{Line: r.Line, State: RowNew, ID: old.ID, Version: old.Version, seq: old.Seq, lines: map[string]bool{}}
	var now listed
	now.Details = r.details(p.currency)
	p.refer(r, key, &now, &i)
	r.say(now.Details.check())
	if is && old.Seq > 0 && now.Measure != old.Measure {
		r.Wrong("measure", "Some of it moved already: what it is counted in stays.")
	}
	if other, taken := p.barcodes[fold.Code(now.Barcode)]; taken && other != key {
		r.Wrong("barcode", "Another item has that barcode.")
	} else if now.Barcode != "" {
		p.barcodes[fold.Code(now.Barcode)] = key
	}
	i.Details = now.Details
	if p.bad[r.Line] {
		return i
	}
	i.cells = now.cells(p.currency)
	if is {
		i.State, i.Changes = RowUnchanged, differences(old.cells(p.currency), i.cells)
		if len(i.Changes) > 0 {
			i.State = RowChanged
		}
	}
	return i
}

// refer reads what the line says of other things: its tax, its models and what is
// bought in its place.
func (p *planner) refer(r csvRow, key string, now *listed, i *ItemPlan) {
	if !p.taxes[now.TaxCode] {
		r.Wrong("tax", "The shop has no such tax.")
	}
	for _, name := range strings.Split(r.Text("fits"), strings.TrimSpace(betweenModels)) {
		if name = strings.TrimSpace(name); name == "" {
			continue
		}
		id, known := p.models[name]
		switch {
		case !known:
			r.Wrong("fits", fmt.Sprintf("The library has no model “%s”.", name))
		case id == 0:
			r.Wrong("fits", fmt.Sprintf("Several models are listed as “%s”: tick the right one on the part’s page.", name))
		}
		now.Models, now.Fits = append(now.Models, id), append(now.Fits, name)
	}
	slices.Sort(now.Fits)
	now.Fits = slices.Compact(now.Fits)
	p.replace(r, key, now, i)
}

// replace reads the code of what is bought in an item's place: what is so already,
// something else on the shelf, or what the file brings.
func (p *planner) replace(r csvRow, key string, now *listed, i *ItemPlan) {
	now.Instead = r.Text("replaced_by")
	instead, old := fold.Code(now.Instead), p.there[key]
	now.ReplacedBy = p.known[instead]
	switch {
	case now.Instead == "":
	case fold.Code(old.Instead) == instead:
		now.Instead, now.ReplacedBy = old.Instead, old.ReplacedBy
	case instead == key:
		r.Wrong("replaced_by", "An item does not take its own place.")
	case now.ReplacedBy == 0 && !p.file[instead]:
		r.Wrong("replaced_by", "Neither the shelf nor this file has an item of that code.")
	case now.ReplacedBy == 0:
		i.instead = instead
	}
}

// source reads whom the line says the item is bought from.
func (p *planner) source(r csvRow, i *ItemPlan) {
	name := r.Text("supplier")
	if name == "" {
		for _, column := range []string{"supplier_code", "supplier_barcode", "pack", "pack_price"} {
			if r.Text(column) != "" {
				r.Wrong("supplier", "Name the supplier.")
				return
			}
		}
		return
	}
	id, known := p.suppliers[strings.ToLower(name)]
	if !known {
		r.Wrong("supplier", "No supplier on the list has that name: add it first.")
		return
	}
	if slices.ContainsFunc(i.Sources, func(s SourcePlan) bool { return s.Source.SupplierID == id }) {
		r.Wrong("supplier", "That supplier of this item stands in an earlier line already.")
		return
	}
	var old Source
	if all := p.there[fold.Code(i.Details.Code)].Sources; len(all) > 0 {
		if at := slices.IndexFunc(all, func(s Source) bool { return s.SupplierID == id }); at >= 0 {
			old = all[at]
			r.Keep(old.cells(i.Details.Measure, p.currency))
		}
	}
	s := r.source(i.Details.Measure, p.currency)
	s.ItemID, s.SupplierID, s.Version, s.First = i.ID, id, old.Version, len(i.Sources) == 0
	s.Supplier = cmp.Or(old.Supplier, name)
	if r.say(s.check()); p.bad[r.Line] {
		return
	}
	plan := SourcePlan{Line: r.Line, State: RowNew, Source: s}
	if old.Version > 0 {
		plan.State, plan.Changes = RowUnchanged, differences(old.cells(i.Details.Measure, p.currency), s.cells(i.Details.Measure, p.currency))
		if len(plan.Changes) > 0 || s.First && !old.First {
			plan.State = RowChanged
		}
	}
	i.Sources = append(i.Sources, plan)
}

// opening reads what the line says there is of an item that nothing has moved of.
func (p *planner) opening(r csvRow, i *ItemPlan) {
	if i.seq > 0 {
		i.Kept = i.Kept || r.Text("stock") != ""
		return
	}
	o := r.opening(i.Details, p.currency)
	if o.Qty == 0 || p.bad[r.Line] {
		return
	}
	if i.lines[o.Batch] {
		r.Wrong("stock", "The amount of that batch stands in an earlier line already.")
		return
	}
	i.lines[o.Batch] = true
	i.Opening = append(i.Opening, o)
}

// finished puts the plan in order and marks it.
func (p *planner) finished(data []byte) Plan {
	h := sha256.New()
	h.Write(data)
	fmt.Fprint(h, p.currency)
	for _, i := range p.plan.Items {
		fmt.Fprintf(h, "|%d %d %d %d%s %v %d", i.Line, i.ID, i.Version, i.seq, i.State, i.Changes, len(i.Opening))
		for _, s := range i.Sources {
			fmt.Fprintf(h, " %d %d%s %v", s.Source.SupplierID, s.Source.Version, s.State, s.Changes)
		}
	}
	slices.SortStableFunc(p.plan.Refused, func(a, b csvfile.Refusal) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
	p.plan.Mark = hex.EncodeToString(h.Sum(nil))
	return p.plan
}
