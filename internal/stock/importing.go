package stock

import (
	"context"
	"fmt"
	"slices"
	"time"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/fold"
	"damperdesk/internal/history"
)

// File is a CSV file that a person brought to look at what it would do.
type File struct {
	ID      int64
	Name    string
	Content []byte
	At      time.Time
}

const (
	// MostFile is the most bytes of a file that are read.
	MostFile = 4 << 20
	// mostLines is the most lines of one, so that all of them are taken in within
	// the time of a press.
	mostLines = 3000
)

// BringFile keeps a file for whoever brings it, in place of the one they brought
// before. One that cannot be read is a fault.Invalid on "file".
func BringFile(ctx context.Context, tx pgx.Tx, by history.By, name string, content []byte) (id int64, err error) {
	if err := mayWrite(by, nil); err != nil {
		return 0, err
	}
	if len(content) > MostFile {
		return 0, fault.Field("file", fmt.Sprintf("The file has more than %d MB: bring it in parts.", MostFile>>20))
	}
	rows, err := readCSV(content, func(int, string, string) {})
	if err != nil {
		return 0, err
	}
	if len(rows) > mostLines {
		return 0, fault.Field("file", fmt.Sprintf("The file has more than %d lines: bring it in parts.", mostLines))
	}
	if utf8.RuneCountInString(name) > mostName || !utf8.ValidString(name) {
		name = "parts.csv"
	}
	if _, err := tx.Exec(ctx, "lock table item_file in share row exclusive mode"); err != nil {
		return 0, db.Translate(err)
	}
	if _, err := tx.Exec(ctx, "delete from item_file where staff_id = $1", by.Staff); err != nil {
		return 0, fmt.Errorf("keep a file of parts: %w", err)
	}
	err = tx.QueryRow(ctx, "insert into item_file (staff_id, name, content, at) values ($1, $2, $3, $4) returning id", by.Staff, name, content, by.At).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("keep a file of parts: %w", db.Translate(err))
	}
	return id, nil
}

// GetFile reads a file that a person brought; those of others are not there.
func GetFile(ctx context.Context, q db.Querier, id, staffID int64) (File, error) {
	rows, err := q.Query(ctx, "select id, name, content, at from item_file where id = $1 and staff_id = $2", id, staffID)
	f, err := db.One[File](rows, err, "file; it was taken in already, or another one brought")
	if err != nil {
		return File{}, fmt.Errorf("read a file of parts: %w", err)
	}
	return f, nil
}

// Import does what a plan of the file showed, which mark is of, all of it or nothing;
// where the shelf has changed since, or a line is refused, it is a Conflict.
func Import(ctx context.Context, tx pgx.Tx, by history.By, fileID int64, mark, currency string) (Plan, error) {
	if err := mayWrite(by, nil); err != nil {
		return Plan{}, err
	}
	if _, err := tx.Exec(ctx, "lock table item, item_supplier in share row exclusive mode"); err != nil {
		return Plan{}, db.Translate(err)
	}
	file, err := GetFile(ctx, tx, fileID, by.Staff)
	if err != nil {
		return Plan{}, err
	}
	plan, err := PlanImport(ctx, tx, file.Content, currency)
	if err != nil {
		return Plan{}, err
	}
	switch {
	case plan.Mark != mark:
		return Plan{}, fault.Conflict("The shelf changed since you looked at what the file does. Nothing was taken in: look again.")
	case len(plan.Refused) > 0:
		return Plan{}, fault.Conflict("Lines of the file are refused. Put them right and bring it again: it is taken in whole or not at all.")
	case !plan.Any():
		return Plan{}, fault.Conflict("The file changes nothing.")
	}
	if err := plan.apply(ctx, tx, by); err != nil {
		return Plan{}, fmt.Errorf("import parts: %w", err)
	}
	_, err = tx.Exec(ctx, "delete from item_file where id = $1", fileID)
	return plan, err
}

func (p Plan) apply(ctx context.Context, tx pgx.Tx, by history.By) error {
	ids := map[string]int64{}
	for n := range p.Items {
		i := &p.Items[n]
		if err := i.put(ctx, tx, by); err != nil {
			return err
		}
		ids[fold.Code(i.Details.Code)] = i.ID
	}
	for _, i := range p.Items {
		if i.instead != "" { // the file brought it too
			if err := p.replace(ctx, tx, by, i, ids[i.instead]); err != nil {
				return err
			}
		}
		for _, s := range slices.Backward(i.Sources) { // the first choice last: it takes the place of the one before
			if s.State == RowUnchanged {
				continue
			}
			s.Source.ItemID = i.ID
			if err := PutSource(ctx, tx, by, s.Source); err != nil {
				return err
			}
		}
	}
	return p.receive(ctx, tx, by)
}

// put adds or changes an item.
func (i *ItemPlan) put(ctx context.Context, tx pgx.Tx, by history.By) (err error) {
	switch i.State {
	case RowNew:
		i.Version = 1
		i.ID, err = Add(ctx, tx, by, i.Details)
	case RowChanged:
		err = Change(ctx, tx, by, i.ID, i.Version, i.Details)
		i.Version++
	}
	return err
}

func (p Plan) replace(ctx context.Context, tx pgx.Tx, by history.By, i ItemPlan, instead int64) error {
	i.Details.ReplacedBy = instead
	return Change(ctx, tx, by, i.ID, i.Version, i.Details)
}

// receive posts what there is. Lines of one item at one price share what all of
// them cost, so that the rounding of each does not add up.
func (p Plan) receive(ctx context.Context, tx pgx.Tx, by history.By) error {
	ids := []int64{}
	for _, i := range p.Items {
		if len(i.Opening) > 0 {
			ids = append(ids, i.ID)
		}
	}
	shelf, err := Lock(ctx, tx, ids...)
	if err != nil {
		return err
	}
	for _, i := range p.Items {
		before := map[int64]int64{}
		for _, o := range i.Opening {
			m := i.Details.Measure
			post := Posting{Item: i.ID, Kind: Receive, Qty: o.Qty, Cost: m.Worth(o.Priced, before[o.Priced]+o.Qty) - m.Worth(o.Priced, before[o.Priced])}
			before[o.Priced] += o.Qty
			if o.Batch != "" {
				if post.Batch, err = TakeBatch(ctx, tx, by, i.ID, o.Batch, o.BestBefore); err != nil {
					return err
				}
			}
			if _, err := shelf.Post(ctx, tx, by, post); err != nil {
				return err
			}
		}
	}
	return nil
}
