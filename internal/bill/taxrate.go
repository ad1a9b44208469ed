package bill

import (
	"context"
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// TaxRate is a kind of tax as it is in force. Lines are marked with its code,
// a letter.
type TaxRate struct {
	Code    string
	Name    string
	BP      int
	Version int
}

const (
	maxName     = 60 // characters of the name of a kind of tax
	ratesInUse  = "(select distinct on (code) * from tax_rate order by code, version desc)"
	pricesInUse = "(select distinct on (service_code, model_id) * from price order by service_code, model_id, version desc)"
	ratesSQL    = "select code, name, bp, version from " + ratesInUse + " r order by code"
)

// TaxRates lists the kinds of tax by code.
func TaxRates(ctx context.Context, q db.Querier) ([]TaxRate, error) {
	rows, err := q.Query(ctx, ratesSQL)
	list, err := db.All[TaxRate](rows, err)
	if err != nil {
		return nil, fmt.Errorf("list kinds of tax: %w", err)
	}
	return list, nil
}

// SetTaxRate keeps a new version of a kind of tax that is still at the version
// the person saw, or with an empty code adds a kind under the next letter. The
// fields are name and rate.
func SetTaxRate(ctx context.Context, tx pgx.Tx, by history.By, r TaxRate) error {
	if !by.Has("owner") {
		return errOwner
	}
	r.Name = strings.TrimSpace(r.Name)
	wrong := map[string]string{}
	switch {
	case r.Name == "":
		wrong["name"] = "Give it a name, as it stands on a bill."
	case utf8.RuneCountInString(r.Name) > maxName:
		wrong["name"] = fmt.Sprintf("Keep the name under %d characters.", maxName)
	}
	if r.BP < 0 || r.BP > 10_000 {
		wrong["rate"] = "A rate is from 0 to 100 per cent."
	}
	if len(wrong) > 0 {
		return &fault.Invalid{Fields: wrong}
	}
	var err error
	switch {
	case r.Code == "":
		r.Code, err = nextCode(ctx, tx)
	case r.Version == 0:
		err = fault.NotFound("There is no such kind of tax.")
	}
	if err != nil {
		return err
	}
	err = db.Changed(tx.Exec(ctx, `insert into tax_rate (code, version, name, bp, actor_id, intent_id, at)
		select $1, $2 + 1, $3, $4, nullif($5, 0::bigint), $6, $7
		where $2 = (select coalesce(max(version), 0) from tax_rate where code = $1)`,
		r.Code, r.Version, r.Name, r.BP, by.Staff, by.Intent, by.At))
	if err != nil {
		return fmt.Errorf("set kind of tax: %w", db.Translate(err))
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "shop", SubjectID: 1, Kind: "tax set",
		Detail: map[string]any{"tax": r.Code, "bp": r.BP, "version": r.Version + 1}})
}

func nextCode(ctx context.Context, q db.Querier) (string, error) {
	var last string
	if err := q.QueryRow(ctx, "select coalesce(max(code), '@') from tax_rate").Scan(&last); err != nil {
		return "", fmt.Errorf("count kinds of tax: %w", err)
	}
	if last == "Z" {
		return "", fault.Conflict("There are as many kinds of tax as letters: change one instead.")
	}
	return string(rune(last[0] + 1)), nil
}
