package job

import (
	"context"
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/fold"
)

// ForgetDrafts lets go of drafts that nobody has touched for thirty days.
func ForgetDrafts(ctx context.Context, tx pgx.Tx, now time.Time) error {
	if _, err := tx.Exec(ctx, "delete from draft where kept_at < $1", now.Add(-draftsLast)); err != nil {
		return fmt.Errorf("forget drafts: %w", err)
	}
	return nil
}

// ThrowDraftsOf takes away the drafts that are about any of these people: those in
// which they are chosen, or their name, phone or mail was typed, and those that a
// visit of theirs was taken in from. It returns what their pictures wait under.
func ThrowDraftsOf(ctx context.Context, tx pgx.Tx, people []customer.Customer) ([]uuid.UUID, error) {
	ids := make([]int64, len(people))
	for i, c := range people {
		ids[i] = c.ID
	}
	rows, err := tx.Query(ctx, `select id, root, about, fields, exists (select from visit v where v.draft_root = d.root and v.customer_id = any ($1)) as theirs
		from draft d for update`, ids)
	list, err := db.All[draftText](rows, err)
	if err != nil {
		return nil, fmt.Errorf("look for drafts: %w", db.Translate(err))
	}
	var gone, roots []uuid.UUID
	for _, d := range list {
		if d.Theirs || slices.ContainsFunc(people, d.isAbout) {
			gone, roots = append(gone, d.ID), append(roots, d.Root)
		}
	}
	if _, err := tx.Exec(ctx, "delete from draft where id = any ($1)", gone); err != nil {
		return nil, fmt.Errorf("throw drafts away: %w", err)
	}
	return roots, nil
}

type draftText struct {
	ID, Root      uuid.UUID
	About, Fields string
	Theirs        bool // a visit of theirs was taken in from it
}

func (d draftText) isAbout(c customer.Customer) bool {
	fields, err := url.ParseQuery(d.Fields)
	if err != nil || fields.Get("customer") == strconv.FormatInt(c.ID, 10) {
		return true
	}
	name, digits, mail := fold.Text(c.Name), fold.PhoneDigits(c.Phone), strings.ToLower(c.Mail)
	if !strings.ContainsFunc(name, unspaced) {
		name = " " + name + " "
	}
	digits = digits[max(0, len(digits)-9):]
	names := func(text string) bool {
		return strings.TrimSpace(name) != "" && strings.Contains(" "+fold.Text(text)+" ", name) || digits != "" && strings.Contains(fold.Digits(text), digits) ||
			mail != "" && strings.Contains(strings.ToLower(text), mail)
	}
	for _, values := range fields {
		if slices.ContainsFunc(values, names) {
			return true
		}
	}
	return names(d.About)
}

// unspaced reports a letter of a script that puts no spaces between words, or
// endings on names.
func unspaced(r rune) bool {
	return unicode.In(r, unicode.Han, unicode.Hiragana, unicode.Katakana, unicode.Hangul, unicode.Thai, unicode.Lao, unicode.Khmer, unicode.Myanmar, unicode.Tibetan)
}
