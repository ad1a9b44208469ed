// Package customer keeps the people who bring units, their bikes and the units
// themselves, each with the keys that package find looks them up by.
package customer

import (
	"context"
	"fmt"
	"net/mail"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/fold"
	"damperdesk/internal/history"
	"damperdesk/internal/reconcile"
)

// Details is what the desk asks of a person; all but the name may be left out.
type Details struct {
	Name    string
	Phone   string
	Mail    string
	Address string // where a parcel goes, line by line
}

// Customer is a person as kept.
type Customer struct {
	ID      int64
	Name    string
	Phone   string
	Mail    string
	Address string
	Version int
	// ErasedAt is when all that said who they are was blanked; nil: never.
	ErasedAt *time.Time
}

// MostShort is how many characters the own words of a unit may have, and so its
// serial, its tag and the words about its bike.
const MostShort = 120

const (
	maxName    = 120
	maxAddress = 500
	maxPhone   = 15 // digits of an international number, ITU-T E.164
	minPhone   = 5
	// An international number may be typed with "00" before it and with the
	// trunk zero kept in brackets.
	extraPhone = 3
)

// Tidy is d without stray spaces.
func (d Details) Tidy() Details {
	return Details{Name: oneLine(d.Name), Phone: oneLine(d.Phone), Mail: strings.TrimSpace(d.Mail), Address: strings.TrimSpace(d.Address)}
}

// Check says by field ("name", "phone", "mail") what cannot be taken; empty
// when all is well.
func (d Details) Check() map[string]string {
	d = d.Tidy()
	faults := map[string]string{}
	switch {
	case d.Name == "" || fold.Text(d.Name) == "":
		faults["name"] = "Type the customer’s name."
	case utf8.RuneCountInString(d.Name) > maxName:
		faults["name"] = fmt.Sprintf("A name has at most %d characters.", maxName)
	}
	if s := phoneFault(d.Phone); s != "" {
		faults["phone"] = s
	}
	if s := mailFault(d.Mail); s != "" {
		faults["mail"] = s
	}
	if utf8.RuneCountInString(d.Address) > maxAddress {
		faults["address"] = fmt.Sprintf("An address has at most %d characters.", maxAddress)
	}
	return faults
}

// phoneFault lets any usual way of writing a number pass, with an extension
// behind it: "+44 7700 900118", "(020) 7946-0018 ext 12".
func phoneFault(phone string) string {
	if phone == "" {
		return ""
	}
	number, extension := phone, ""
	if i := strings.IndexFunc(phone, unicode.IsLetter); i >= 0 {
		number, extension = phone[:i], phone[i:]
	}
	strange := func(r rune) bool { return !strings.ContainsRune("0123456789 +()-‐–./", r) }
	digits := len(fold.Digits(number))
	switch {
	case strings.IndexFunc(number, strange) >= 0, strings.LastIndexByte(number, '+') > 0, !isExtension(extension):
		return "That is not a phone number: type digits, such as 07700 900118 or +44 7700 900118."
	case digits < minPhone:
		return "That phone number is too short: type it in full, such as 07700 900118."
	case digits > maxPhone+extraPhone:
		return "That phone number is too long: type one number, such as 07700 900118."
	}
	return ""
}

func isExtension(s string) bool {
	if s == "" {
		return true
	}
	for _, word := range []string{"extension", "ext.", "ext", "x"} {
		rest, ok := strings.CutPrefix(strings.ToLower(s), word)
		rest = strings.TrimSpace(rest)
		if ok && rest != "" && len(rest) <= 6 && rest == fold.Digits(rest) {
			return true
		}
	}
	return false
}

func mailFault(address string) string {
	const sentence = "That is not a mail address: type one such as odette@example.com."
	if address == "" {
		return ""
	}
	parsed, err := mail.ParseAddress(address)
	if err != nil || parsed.Name != "" || parsed.Address != address || len(address) > 254 {
		return sentence
	}
	domain := address[strings.LastIndexByte(address, '@')+1:]
	if !strings.Contains(domain, ".") {
		return sentence
	}
	return ""
}

// oneLine makes every run of spaces one plain space.
func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

func invalid(faults map[string]string) error {
	if len(faults) == 0 {
		return nil
	}
	return &fault.Invalid{Fields: faults}
}

// Add keeps a new customer.
func Add(ctx context.Context, tx pgx.Tx, by history.By, d Details) (int64, error) {
	if err := invalid(d.Check()); err != nil {
		return 0, err
	}
	d = d.Tidy()
	name, mail, digits, grams := d.keys()
	var id int64
	err := tx.QueryRow(ctx, `insert into customer (name, phone, mail, name_key, mail_key, phone_digits, grams, keyed, address)
		values ($1, $2, $3, $4, $5, $6, $7, $8, $9) returning id`,
		d.Name, d.Phone, d.Mail, name, mail, digits, grams, keying, d.Address).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("add customer: %w", err)
	}
	return id, history.Append(ctx, tx, by, history.Event{
		SubjectKind: "customer", SubjectID: id, Customer: id, Kind: "customer added"})
}

// Update changes a customer that is still at the version the person saw.
func Update(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, d Details) error {
	if err := invalid(d.Check()); err != nil {
		return err
	}
	switch c, err := Get(ctx, tx, id); {
	case err != nil:
		return err
	case c.ID != id:
		return errMerged
	case c.ErasedAt != nil:
		return errErased
	}
	err := db.Changed(tx.Exec(ctx, "select from customer where id = $1 and version = $2 for no key update", id, version))
	if err != nil {
		return fmt.Errorf("change customer: %w", err)
	}
	if err := setDetails(ctx, tx, id, d); err != nil {
		return fmt.Errorf("change customer: %w", err)
	}
	return history.Append(ctx, tx, by, history.Event{
		SubjectKind: "customer", SubjectID: id, Customer: id, Kind: "customer changed"})
}

// DetailFields are the fields of Details, in the order of their form.
var DetailFields = []string{"name", "phone", "mail", "address"}

// Facts are the details as their form has them.
func (d Details) Facts() reconcile.Facts {
	return reconcile.Facts{"name": d.Name, "phone": d.Phone, "mail": d.Mail, "address": d.Address}
}

func detailsOf(f reconcile.Facts) Details {
	return Details{Name: f["name"], Phone: f["phone"], Mail: f["mail"], Address: f["address"]}
}

// Change keeps what somebody changed of a customer's details, beside what others
// changed meanwhile; others names those fields. Where both changed one it is
// refused as a reconcile.Differ, and nothing is kept.
func Change(ctx context.Context, tx pgx.Tx, by history.By, id int64, was, mine reconcile.Facts) (others []string, err error) {
	if _, err := tx.Exec(ctx, "select from customer where id = $1 for no key update", id); err != nil {
		return nil, fmt.Errorf("change customer: %w", db.Translate(err))
	}
	c, err := Get(ctx, tx, id)
	switch {
	case err != nil:
		return nil, err
	case c.ID != id:
		return nil, errMerged
	case c.ErasedAt != nil:
		return nil, errErased
	}
	theirs := c.Details().Facts()
	merged, clashes, others := reconcile.Fields(DetailFields, was, theirs, mine)
	if err := invalid(detailsOf(merged).Check()); err != nil {
		return nil, err
	}
	if len(clashes) > 0 {
		return nil, reconcile.Differ{Clashes: clashes, Merged: merged, Now: theirs}
	}
	if detailsOf(merged).Tidy() == c.Details() {
		return others, nil
	}
	return others, Update(ctx, tx, by, id, c.Version, detailsOf(merged))
}

// setDetails keeps the details of a customer whose row is held.
func setDetails(ctx context.Context, tx pgx.Tx, id int64, d Details) error {
	d = d.Tidy()
	name, mail, digits, grams := d.keys()
	_, err := tx.Exec(ctx, `update customer set name = $2, phone = $3, mail = $4,
			name_key = $5, mail_key = $6, phone_digits = $7, grams = $8, keyed = $9, address = $10, version = version + 1
		where id = $1`, id, d.Name, d.Phone, d.Mail, name, mail, digits, grams, keying, d.Address)
	return err
}

// SendTo keeps where a parcel to a customer goes.
func SendTo(ctx context.Context, tx pgx.Tx, by history.By, id int64, address string) error {
	c, err := Get(ctx, tx, id)
	if err != nil {
		return err
	}
	d := c.Details()
	d.Address = address
	if d.Tidy() == c.Details() {
		return nil
	}
	return Update(ctx, tx, by, c.ID, c.Version, d)
}

// Get reads one customer: who they are now, where they were merged into another.
func Get(ctx context.Context, q db.Querier, id int64) (Customer, error) {
	rows, err := q.Query(ctx, "select k.id, k.name, k.phone, k.mail, k.address, k.version, k.erased_at from customer_now c join customer k on k.id = c.now_id where c.id = $1", id)
	c, err := db.One[Customer](rows, err, "customer")
	if err != nil {
		return Customer{}, fmt.Errorf("read customer: %w", err)
	}
	return c, nil
}
