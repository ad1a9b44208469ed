package stock

import (
	"context"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/fold"
)

// Filter says which items a list has; empty fields ask nothing.
type Filter struct {
	Words string // in the name, the place or a code
	Kind  Sort
	Place string
	State string // one of States
	// Supplier is one that they are bought from; 0: whoever sells them.
	Supplier int64
	Gone     bool // also those no longer kept
	// After is the key of the item the page begins behind: Item.Key.
	After string
}

// States of items that a list can be narrowed to.
const (
	StateLow     = "below what is ordered at"
	StateBelow   = "below zero"
	StateAside   = "set aside more than there is"
	StateNone    = "none there"
	StateNoPrice = "never bought"
)

// States in the order they are offered.
var States = []string{StateLow, StateNone, StateBelow, StateAside, StateNoPrice}

// stateSQL leans on every item having a balance from the start.
var stateSQL = map[string]string{
	StateLow:     "i.low is not null and coalesce(b.qty, 0) - coalesce(b.aside, 0) < i.low",
	StateNone:    "b.qty = 0",
	StateBelow:   "b.qty < 0",
	StateAside:   "b.aside - greatest(b.qty, 0) > 0",
	StateNoPrice: "b.paid_qty = 0",
}

// PageSize is how many items a page of a list has.
const PageSize = 50

// Key is where an item stands in lists.
func (i Item) Key() string { return fold.Code(i.Code) }

// List gives a page of items in the order of their codes, and whether there are
// more behind it.
func List(ctx context.Context, q db.Querier, f Filter) (list []Item, more bool, err error) {
	where, args := []string{"i.code_key > $1"}, []any{f.After}
	ask := func(sql string, arg any) {
		args = append(args, arg)
		where = append(where, fmt.Sprintf(sql, len(args)))
	}
	if grams := f.grams(); len(grams) > 0 {
		keys, err := []string{}, error(nil)
		if f.Place == "" { // in one place there are few anyhow
			keys, err = fitting(ctx, q, grams)
		}
		switch {
		case err != nil:
			return nil, false, fmt.Errorf("list items: %w", err)
		case f.Place == "" && len(keys) <= few:
			ask("i.code_key = any ($%d)", keys)
		default: // on the way through the codes there is soon a page of them
			ask("i.grams @> $%d", grams)
		}
	}
	if f.Kind != "" {
		ask("i.kind = $%d", f.Kind)
	}
	if f.Place != "" {
		ask("i.place = $%d", f.Place)
	}
	if f.Supplier != 0 {
		ask("i.id in (select item_id from item_supplier where supplier_id = $%d)", f.Supplier)
	}
	if sql, ok := stateSQL[f.State]; ok {
		where = append(where, sql)
	}
	if !f.Gone {
		where = append(where, "i.left_on is null")
	}
	args = append(args, PageSize+1)
	rows, err := q.Query(ctx, fmt.Sprintf("%s where %s order by i.code_key limit $%d", selectItem, strings.Join(where, " and "), len(args)), args...)
	list, err = db.All[Item](rows, err)
	if err != nil {
		return nil, false, fmt.Errorf("list items: %w", err)
	}
	if len(list) > PageSize {
		return list[:PageSize], true, nil
	}
	return list, false, nil
}

// few items are put in order after they are found; of more than that a page is
// found by going through all in their order.
const few = 1000

// fitting are the keys of items that have all of the trigrams, no more than one more
// than few. The database cannot guess how many there are, and its guess decides
// between a millisecond and a third of a second.
func fitting(ctx context.Context, q db.Querier, grams []string) ([]string, error) {
	rows, err := q.Query(ctx, "select code_key as key from item where grams @> $1 limit $2", grams, few+1)
	list, err := db.All[struct{ Key string }](rows, err)
	keys := make([]string, len(list))
	for i, of := range list {
		keys[i] = of.Key
	}
	return keys, err
}

// grams are the trigrams of the beginnings of what is typed: an item has for each
// word one that begins so, in its name, kind, place or code.
func (f Filter) grams() (all []string) {
	for word := range strings.FieldsSeq(fold.Text(f.Words)) {
		grams := fold.Grams(word)
		all = append(all, grams[:len(grams)-1]...)
	}
	return all
}

// Places lists where items lie, by name.
func Places(ctx context.Context, q db.Querier) ([]string, error) {
	rows, err := q.Query(ctx, `with recursive p as (
			(select place from item where place > '' order by place limit 1)
			union all select (select place from item where place > p.place order by place limit 1) from p where p.place is not null)
		select place from p where place is not null`)
	list, err := db.All[struct{ Place string }](rows, err)
	if err != nil {
		return nil, fmt.Errorf("list places: %w", err)
	}
	names := make([]string, len(list))
	for i, p := range list {
		names[i] = p.Place
	}
	return names, nil
}

// labelled is how the address on one of our own labels ends, as a scanner types it
// that may be set to another keyboard.
var labelled = regexp.MustCompile(`[/-]parts[/-]([1-9][0-9]{0,17})/?$`)

// Labelled is the item whose label says the text; 0 for any other text.
func Labelled(text string) int64 {
	m := labelled.FindStringSubmatch(strings.TrimSpace(text))
	if m == nil {
		return 0
	}
	id, _ := strconv.ParseInt(m[1], 10, 64)
	return id
}

// Scan finds the item that was scanned or typed: the address on our label, its code,
// its barcode, or those of a supplier. Where several are meant it says so on the
// field "scan".
func Scan(ctx context.Context, q db.Querier, text string) (Item, error) {
	text = strings.TrimSpace(text)
	id, key := Labelled(text), fold.Code(text)
	if id == 0 && (utf8.RuneCountInString(text) > mostCode || key == "") {
		return Item{}, fault.Field("scan", "Scan a label or type a code.")
	}
	rows, err := q.Query(ctx, selectItem+` where i.id in (select $2::bigint where $2 > 0
			union select id from item where code_key = $1 and $2 = 0
			union select id from item where barcode_key = $1 and barcode_key <> '' and $2 = 0
			union select item_id from item_supplier where code_key = $1 and code_key <> '' and $2 = 0
			union select item_id from item_supplier where barcode_key = $1 and barcode_key <> '' and $2 = 0)
		order by i.code_key = $1 desc, i.barcode_key = $1 desc, i.left_on is not null, i.code_key limit 10`, key, id)
	list, err := db.All[Item](rows, err)
	switch {
	case err != nil:
		return Item{}, fmt.Errorf("look for what was scanned: %w", err)
	case len(list) == 0:
		return Item{}, fault.Field("scan", "No item has that code or barcode.")
	}
	first := list[0]
	if len(list) > 1 && first.Key() != key && fold.Code(first.Barcode) != key {
		return Item{}, fault.Field("scan", "Several items are bought under that code: "+first.Code+" and "+list[1].Code+". Type our own code.")
	}
	return first, nil
}

// FluidsNamed finds the fluids and greases that are called as somebody wrote them,
// by the name folded. Of several the one with the first code is meant.
func FluidsNamed(ctx context.Context, q db.Querier, names []string) (map[string]int64, error) {
	var all []string
	keys := map[string]bool{}
	for _, name := range names {
		if key := fold.Text(name); key != "" && !keys[key] {
			keys[key] = true
			all = append(all, fold.AllGrams(key)...)
		}
	}
	found := map[string]int64{}
	if len(keys) == 0 {
		return found, nil
	}
	rows, err := q.Query(ctx, `select id, name from item where grams && $1 and kind in ('fluid', 'grease') and measure = 'volume' and left_on is null order by code_key desc`, all)
	list, err := db.All[struct {
		ID   int64
		Name string
	}](rows, err)
	if err != nil {
		return nil, fmt.Errorf("look for fluids by name: %w", err)
	}
	for _, f := range list {
		if key := fold.Text(f.Name); keys[key] {
			found[key] = f.ID
		}
	}
	return found, nil
}

// ByCode finds an item by its own code alone; none at all is a NotFound.
func ByCode(ctx context.Context, q db.Querier, code string) (Item, error) {
	rows, err := q.Query(ctx, selectItem+" where i.code_key = $1", fold.Code(code))
	return db.One[Item](rows, err, "item")
}
