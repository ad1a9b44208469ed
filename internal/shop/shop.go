// Package shop keeps what is true of the whole shop: its settings, the hours
// it is open and the terms its customers accept.
package shop

import (
	"context"
	"fmt"
	"net/mail"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/money"
	"damperdesk/internal/quantity"
)

// Settings is the shop's one row.
type Settings struct {
	Name    string
	Address string
	Phone   string
	Mail    string
	// Zone is a name of the tz database, such as "Europe/London".
	Zone string
	// Currency is an ISO 4217 code.
	Currency string
	// Hemisphere is "north" or "south": which months are the off-season, unless
	// the shop has dates of its own.
	Hemisphere string
	// SeasonFrom and SeasonTo are the month and day that the season begins and
	// ends on which people ride in, such as "03-01"; empty: as the hemisphere has
	// it. SetSeason keeps them, Save does not.
	SeasonFrom   string
	SeasonTo     string
	TorqueUnit   quantity.Unit
	VolumeUnit   quantity.Unit
	PressureUnit quantity.Unit
	MassUnit     quantity.Unit
	// PricesIncludeTax says that prices hold their tax as the shop types them.
	// SetPricesIncludeTax keeps it, Save does not.
	PricesIncludeTax bool
	// TaxNumber is the shop's number with the tax office, for its bills.
	TaxNumber string
	// TaxByLine says that tax is rounded for each line of a bill and not for
	// their sum. SetTaxByLine settles it, Save does not.
	TaxByLine bool
	// StockBelowZero says that parts may be used which the ledger does not have;
	// they are then ones to count. SetStockBelowZero keeps it, Save does not.
	StockBelowZero bool
	// EraseAfterYears is how long after their last visit customers are erased; nil:
	// never by themselves. SetEraseAfter keeps it, Save does not.
	EraseAfterYears *int
	// Version is 0 before the first Save.
	Version int
}

var unitChoices = map[quantity.Kind][]quantity.Unit{
	quantity.KindTorque:   {quantity.NewtonMetre, quantity.PoundForceInch},
	quantity.KindVolume:   {quantity.Millilitre},
	quantity.KindPressure: {quantity.PSI, quantity.Bar},
	quantity.KindMass:     {quantity.Kilogram, quantity.Pound},
}

// UnitChoices lists the units a shop may think in for a kind, the usual first;
// none for a kind that has no setting.
func UnitChoices(kind quantity.Kind) []quantity.Unit {
	return slices.Clone(unitChoices[kind])
}

// Location is the shop's zone; UTC when Zone is not in the tz database, which
// Save and Get refuse.
func (s Settings) Location() *time.Location {
	loc, err := location(s.Zone)
	if err != nil {
		return time.UTC
	}
	return loc
}

func (s Settings) trimmed() Settings {
	for _, text := range []*string{&s.Name, &s.Address, &s.Phone, &s.Mail, &s.Zone, &s.TaxNumber} {
		*text = strings.TrimSpace(*text)
	}
	s.Zone = zoneNamed(s.Zone)
	s.Currency = strings.ToUpper(strings.TrimSpace(s.Currency))
	return s
}

// check returns a *fault.Invalid that names every setting that cannot stand.
func (s Settings) check() error {
	fields := map[string]string{}
	refuse := func(bad bool, field, sentence string) {
		if bad {
			fields[field] = sentence
		}
	}
	refuse(s.Name == "", "name", "Give the shop’s name.")
	refuse(utf8.RuneCountInString(s.Name) > 120, "name", "Keep the name under 120 characters.")
	refuse(utf8.RuneCountInString(s.Address) > 500, "address", "Keep the address under 500 characters.")
	refuse(s.Phone != "" && !strings.ContainsFunc(s.Phone, unicode.IsDigit), "phone", "A phone number has digits.")
	refuse(utf8.RuneCountInString(s.Phone) > 60, "phone", "Keep the phone number under 60 characters.")
	refuse(s.Mail != "" && !plainAddress(s.Mail), "mail", "That is not a mail address, such as desk@example.com.")
	refuse(utf8.RuneCountInString(s.TaxNumber) > 60, "tax_number", "Keep the tax number under 60 characters.")
	_, err := location(s.Zone)
	refuse(err != nil, "zone", "That is not a time zone: choose one such as Europe/London.")
	refuse(!money.Known(s.Currency), "currency", "That is not a currency: give its three letters, such as EUR.")
	refuse(s.Hemisphere != "north" && s.Hemisphere != "south", "hemisphere", "Choose north or south.")
	for field, u := range map[string]struct {
		kind quantity.Kind
		unit quantity.Unit
	}{
		"torque_unit":   {quantity.KindTorque, s.TorqueUnit},
		"volume_unit":   {quantity.KindVolume, s.VolumeUnit},
		"pressure_unit": {quantity.KindPressure, s.PressureUnit},
		"mass_unit":     {quantity.KindMass, s.MassUnit},
	} {
		refuse(!slices.Contains(unitChoices[u.kind], u.unit), field, "Choose one of the units offered.")
	}
	if len(fields) > 0 {
		return &fault.Invalid{Fields: fields}
	}
	return nil
}

func plainAddress(s string) bool {
	a, err := mail.ParseAddress(s)
	return err == nil && a.Name == "" && a.Address == s
}

// Get reads the settings; a shop that has not been set up is a NotFound.
func Get(ctx context.Context, q db.Querier) (Settings, error) {
	rows, err := q.Query(ctx, `select name, address, phone, mail, zone, currency, hemisphere, season_from, season_to,
		torque_unit, volume_unit, pressure_unit, mass_unit, prices_include_tax, tax_number, tax_by_line, stock_below_zero, erase_after_years, version from shop`)
	s, err := db.One[Settings](rows, err, "shop yet")
	if err != nil {
		return Settings{}, fmt.Errorf("read shop settings: %w", err)
	}
	if _, err := location(s.Zone); err != nil {
		return Settings{}, fmt.Errorf("read shop settings: zone %q: %w", s.Zone, err)
	}
	return s, nil
}

// Save checks and keeps the settings: with Version 0 as the first ones, else
// over the version that was read. The first ones come before there is an owner.
func Save(ctx context.Context, tx pgx.Tx, by history.By, s Settings) error {
	if err := mayRun(by); err != nil && s.Version != 0 {
		return err
	}
	s = s.trimmed()
	if err := s.check(); err != nil {
		return err
	}
	sql := `update shop set name = $1, address = $2, phone = $3, mail = $4, zone = $5, currency = $6,
			hemisphere = $7, torque_unit = $8, volume_unit = $9, pressure_unit = $10, mass_unit = $11,
			tax_number = $12, version = version + 1
		where version = $13`
	args := []any{s.Name, s.Address, s.Phone, s.Mail, s.Zone, s.Currency,
		s.Hemisphere, s.TorqueUnit, s.VolumeUnit, s.PressureUnit, s.MassUnit, s.TaxNumber}
	if s.Version == 0 {
		sql = `insert into shop (name, address, phone, mail, zone, currency, hemisphere,
				torque_unit, volume_unit, pressure_unit, mass_unit, tax_number)
			values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12) on conflict (id) do nothing`
	} else {
		args = append(args, s.Version)
	}
	if err := db.Changed(tx.Exec(ctx, sql, args...)); err != nil {
		return fmt.Errorf("save shop settings: %w", err)
	}
	return tell(ctx, tx, by, "settings saved", map[string]any{"version": s.Version + 1})
}

// SetPricesIncludeTax says over the version that was read whether prices hold
// their tax. Bills that are written already stay as they are.
func SetPricesIncludeTax(ctx context.Context, tx pgx.Tx, by history.By, version int, included bool) error {
	if err := mayRun(by); err != nil {
		return err
	}
	err := db.Changed(tx.Exec(ctx, "update shop set prices_include_tax = $1, version = version + 1 where version = $2", included, version))
	if err != nil {
		return fmt.Errorf("set what prices include: %w", err)
	}
	return tell(ctx, tx, by, "settings saved", map[string]any{"version": version + 1})
}

// SetStockBelowZero says over the version that was read whether the ledger of parts
// may go below zero.
func SetStockBelowZero(ctx context.Context, tx pgx.Tx, by history.By, version int, may bool) error {
	if err := mayRun(by); err != nil {
		return err
	}
	err := db.Changed(tx.Exec(ctx, "update shop set stock_below_zero = $1, version = version + 1 where version = $2", may, version))
	if err != nil {
		return fmt.Errorf("set whether parts go below zero: %w", err)
	}
	return tell(ctx, tx, by, "settings saved", map[string]any{"version": version + 1})
}

// MostEraseYears is the longest that customers may be kept for a setting.
const MostEraseYears = 30

// SetEraseAfter says over the version that was read after how many years without a
// visit customers are erased; nil: never by themselves.
func SetEraseAfter(ctx context.Context, tx pgx.Tx, by history.By, version int, years *int) error {
	if err := mayRun(by); err != nil {
		return err
	}
	if years != nil && (*years < 1 || *years > MostEraseYears) {
		return fault.Field("years", fmt.Sprintf("Give 1 to %d whole years, or nothing for never.", MostEraseYears))
	}
	err := db.Changed(tx.Exec(ctx, "update shop set erase_after_years = $1, version = version + 1 where version = $2", years, version))
	if err != nil {
		return fmt.Errorf("set when customers are erased: %w", err)
	}
	return tell(ctx, tx, by, "settings saved", map[string]any{"version": version + 1})
}

// SetTaxByLine settles over the version that was read how tax is rounded. Once a
// line of a bill is written it stays so, and every bill adds up in one way.
func SetTaxByLine(ctx context.Context, tx pgx.Tx, by history.By, version int, byLine bool) error {
	if err := mayRun(by); err != nil {
		return err
	}
	// Whoever writes a line shares the shop's row: the next question sees it.
	if _, err := tx.Exec(ctx, "select from shop for update"); err != nil {
		return fmt.Errorf("settle how tax is rounded: %w", db.Translate(err))
	}
	settled, err := TaxSettled(ctx, tx)
	if err != nil {
		return err
	}
	if settled {
		return fault.Conflict("A bill is written, so it stays how tax is rounded.")
	}
	err = db.Changed(tx.Exec(ctx, "update shop set tax_by_line = $1, version = version + 1 where version = $2", byLine, version))
	if err != nil {
		return fmt.Errorf("settle how tax is rounded: %w", err)
	}
	return tell(ctx, tx, by, "settings saved", map[string]any{"version": version + 1})
}

// TaxSettled reports whether a bill was ever written, so that it stays how tax
// is rounded.
func TaxSettled(ctx context.Context, q db.Querier) (settled bool, err error) {
	if err = q.QueryRow(ctx, "select exists (select from bill_line)").Scan(&settled); err != nil {
		return false, fmt.Errorf("look for a bill: %w", err)
	}
	return settled, nil
}

// mayRun refuses whoever is no owner.
func mayRun(by history.By) error {
	if !by.Has("owner") {
		return fault.Forbidden("What holds for the whole shop is set by an owner.")
	}
	return nil
}

// tell appends an event about the one shop.
func tell(ctx context.Context, tx pgx.Tx, by history.By, kind string, detail map[string]any) error {
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "shop", SubjectID: 1, Kind: kind, Detail: detail})
}
