package stock

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/fold"
	"damperdesk/internal/history"
)

// Supplier is somebody the shop buys from.
type Supplier struct {
	ID           int64
	Name         string
	Mail         string
	Phone        string
	Account      string // what they know the shop by
	Note         string
	LeadDays     int     // days from order to delivery, as promised
	MinimumMinor *int64  // their smallest order; nil: none
	OrderDays    []int16 // weekdays they take orders on, Monday 1; empty: any
	LeftOn       *time.Time
	Version      int
}

const selectSupplier = `select id, name, mail, phone, account, note, lead_days, minimum_minor, order_days, left_on, version from supplier`

// Suppliers lists them by name, those the shop left last.
func Suppliers(ctx context.Context, q db.Querier) ([]Supplier, error) {
	rows, err := q.Query(ctx, selectSupplier+" order by left_on is not null, lower(name)")
	list, err := db.All[Supplier](rows, err)
	if err != nil {
		return nil, fmt.Errorf("list suppliers: %w", err)
	}
	return list, nil
}

// GetSupplier reads one.
func GetSupplier(ctx context.Context, q db.Querier, id int64) (Supplier, error) {
	rows, err := q.Query(ctx, selectSupplier+" where id = $1", id)
	return db.One[Supplier](rows, err, "supplier")
}

func (s Supplier) tidied() Supplier {
	s.Name = strings.Join(strings.Fields(s.Name), " ")
	for _, t := range []*string{&s.Mail, &s.Phone, &s.Account, &s.Note} {
		*t = strings.TrimSpace(*t)
	}
	slices.Sort(s.OrderDays)
	s.OrderDays = append([]int16{}, slices.Compact(s.OrderDays)...)
	return s
}

func (s Supplier) check() error {
	wrong := map[string]string{}
	refuse := func(bad bool, field, sentence string) {
		if bad {
			wrong[field] = sentence
		}
	}
	refuse(s.Name == "", "name", "Give the supplier’s name.")
	for name, text := range map[string]string{"name": s.Name, "mail": s.Mail, "phone": s.Phone, "account": s.Account} {
		refuse(utf8.RuneCountInString(text) > mostName, name, fmt.Sprintf("At most %d characters fit here.", mostName))
	}
	refuse(s.Mail != "" && !strings.Contains(s.Mail, "@"), "mail", "That is not a mail address, such as orders@example.com.")
	refuse(utf8.RuneCountInString(s.Note) > mostWords, "note", fmt.Sprintf("Write at most %d characters.", mostWords))
	refuse(s.LeadDays < 0 || s.LeadDays > 365, "lead_days", "Give the days from order to delivery, from 0 to 365.")
	refuse(s.MinimumMinor != nil && (*s.MinimumMinor < 0 || *s.MinimumMinor > mostMinor), "minimum", "That is too large for a smallest order.")
	refuse(slices.ContainsFunc(s.OrderDays, func(d int16) bool { return d < 1 || d > 7 }), "order_days", "Choose weekdays.")
	if len(wrong) > 0 {
		return &fault.Invalid{Fields: wrong}
	}
	return nil
}

// AddSupplier adds one.
func AddSupplier(ctx context.Context, tx pgx.Tx, by history.By, s Supplier) (id int64, err error) {
	s = s.tidied()
	if err := mayWrite(by, s.check); err != nil {
		return 0, err
	}
	err = tx.QueryRow(ctx, `insert into supplier (name, mail, phone, account, note, lead_days, minimum_minor, order_days)
		values ($1, $2, $3, $4, $5, $6, $7, $8) returning id`,
		s.Name, s.Mail, s.Phone, s.Account, s.Note, s.LeadDays, s.MinimumMinor, s.OrderDays).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("add supplier: %w", db.Translate(err))
	}
	return id, history.Append(ctx, tx, by, history.Event{SubjectKind: "supplier", SubjectID: id, Kind: "supplier added"})
}

// ChangeSupplier corrects what is said of one, and with LeftOn that nothing is
// bought there any more.
func ChangeSupplier(ctx context.Context, tx pgx.Tx, by history.By, s Supplier) error {
	s = s.tidied()
	if err := mayWrite(by, s.check); err != nil {
		return err
	}
	tag, err := tx.Exec(ctx, `update supplier set name = $3, mail = $4, phone = $5, account = $6, note = $7, lead_days = $8, minimum_minor = $9,
			order_days = $10, left_on = $11, version = version + 1
		where id = $1 and version = $2`,
		s.ID, s.Version, s.Name, s.Mail, s.Phone, s.Account, s.Note, s.LeadDays, s.MinimumMinor, s.OrderDays, s.LeftOn)
	if err := db.Changed(tag, err); err != nil {
		return fmt.Errorf("change supplier %d: %w", s.ID, db.Translate(err))
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "supplier", SubjectID: s.ID, Kind: "supplier changed"})
}

// Source is how an item is bought from a supplier.
type Source struct {
	ItemID     int64
	SupplierID int64
	Supplier   string
	LeadDays   int
	OrderDays  []int16
	Code       string // theirs
	Barcode    string
	Pack       int64  // it comes in so much
	PriceMinor *int64 // of a pack, before tax; nil: not known
	First      bool   // it is ordered there unless somebody says otherwise
	Version    int    // 0: new
}

// Sources lists where items are bought, the first choice at the head.
func Sources(ctx context.Context, q db.Querier, items ...int64) ([]Source, error) {
	rows, err := q.Query(ctx, `select p.item_id, p.supplier_id, s.name as supplier, s.lead_days, s.order_days, p.code, p.barcode, p.pack, p.price_minor, p.first, p.version
		from item_supplier p join supplier s on s.id = p.supplier_id
		where p.item_id = any ($1) order by p.item_id, p.first desc, s.left_on is not null, lower(s.name)`, items)
	list, err := db.All[Source](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read where items are bought: %w", err)
	}
	return list, nil
}

// PutSource says how an item is bought from a supplier; Version is that which was
// read, 0 for a new one. The only one is the first choice.
func PutSource(ctx context.Context, tx pgx.Tx, by history.By, s Source) error {
	if err := mayWrite(by, s.check); err != nil {
		return err
	}
	if s.First {
		_, err := tx.Exec(ctx, "update item_supplier set first = false, version = version + 1 where item_id = $1 and supplier_id <> $2 and first", s.ItemID, s.SupplierID)
		if err != nil {
			return fmt.Errorf("put source: %w", err)
		}
	}
	sql := `insert into item_supplier (item_id, supplier_id, code, code_key, barcode, barcode_key, pack, price_minor, first)
		values ($1, $2, $3, $4, $5, $6, $7, $8, $9 or not exists (select from item_supplier where item_id = $1)) on conflict do nothing`
	row := []any{s.ItemID, s.SupplierID, strings.TrimSpace(s.Code), fold.Code(s.Code), strings.TrimSpace(s.Barcode), fold.Code(s.Barcode), s.Pack, s.PriceMinor, s.First}
	if s.Version > 0 {
		sql = `update item_supplier set code = $3, code_key = $4, barcode = $5, barcode_key = $6, pack = $7, price_minor = $8,
			first = first or $9, version = version + 1 where item_id = $1 and supplier_id = $2 and version = $10`
		row = append(row, s.Version)
	}
	if err := db.Changed(tx.Exec(ctx, sql, row...)); err != nil {
		return fmt.Errorf("put source of item %d: %w", s.ItemID, db.Translate(err))
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "item", SubjectID: s.ItemID, Kind: "source kept",
		Detail: map[string]any{"supplier": s.SupplierID, "pack": s.Pack, "price": s.PriceMinor}})
}

// DropSource says that an item is not bought from a supplier; of the others the
// first by name becomes the first choice where that one was.
func DropSource(ctx context.Context, tx pgx.Tx, by history.By, item, supplier int64, version int) error {
	if err := mayWrite(by, nil); err != nil {
		return err
	}
	err := db.Changed(tx.Exec(ctx, "delete from item_supplier where item_id = $1 and supplier_id = $2 and version = $3", item, supplier, version))
	if err != nil {
		return fmt.Errorf("drop source of item %d: %w", item, db.Translate(err))
	}
	_, err = tx.Exec(ctx, `update item_supplier set first = true, version = version + 1
		where not exists (select from item_supplier where item_id = $1 and first) and (item_id, supplier_id) in (
			select p.item_id, p.supplier_id from item_supplier p join supplier s on s.id = p.supplier_id
			where p.item_id = $1 order by s.left_on is not null, lower(s.name) limit 1)`, item)
	if err != nil {
		return fmt.Errorf("drop source of item %d: %w", item, err)
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "item", SubjectID: item, Kind: "source dropped", Detail: map[string]any{"supplier": supplier}})
}

func (s Source) check() error {
	wrong := map[string]string{}
	if s.SupplierID == 0 {
		wrong["supplier"] = "Choose the supplier."
	}
	if s.Pack <= 0 || s.Pack > mostAmount {
		wrong["pack"] = "Say how much a pack holds."
	}
	if s.PriceMinor != nil && (*s.PriceMinor < 0 || *s.PriceMinor > mostMinor) {
		wrong["price"] = "That is too large for a price."
	}
	for name, text := range map[string]string{"supplier_code": s.Code, "supplier_barcode": s.Barcode} {
		if utf8.RuneCountInString(text) > mostCode {
			wrong[name] = fmt.Sprintf("At most %d characters fit here.", mostCode)
		}
	}
	if err := CheckBarcode(s.Barcode); err != nil {
		wrong["supplier_barcode"] = err.Error()
	}
	if len(wrong) > 0 {
		return &fault.Invalid{Fields: wrong}
	}
	return nil
}

// OrderDay is the first day from a day on that a supplier takes orders on, whose
// weekdays count from Monday 1; without any it takes them always.
func OrderDay(from time.Time, weekdays []int16) time.Time {
	for range 7 {
		if len(weekdays) == 0 || slices.Contains(weekdays, int16((from.Weekday()+6)%7+1)) {
			return from
		}
		from = from.AddDate(0, 0, 1)
	}
	return from
}
