package job

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// Who pays for the services of a job, the usual one first: the words of
// bill.Payers, which stands above this package.
const (
	PaysCustomer = "customer"
	PaysUs       = "us"
	PaysWarranty = "warranty"
	PaysOther    = "team or other shop"
)

// Payers in the order they are offered.
var Payers = []string{PaysCustomer, PaysUs, PaysWarranty, PaysOther}

// NotOpened is what holds of a warranty claim until it is authorised: common
// practice (no source).
const NotOpened = "Warranty claim: not opened until it is authorised."

// Unopened says whether a job is a claim that nobody has authorised.
func (j Job) Unopened() bool { return j.Payer == PaysWarranty && j.AuthorisedAt == nil }

// Authorise keeps that a warranty claim may be opened, with its number where
// that was not known.
func Authorise(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, claim string) error {
	j, err := lockOpen(ctx, tx, jobID)
	if err != nil {
		return err
	}
	claim = strings.TrimSpace(claim)
	switch {
	case !by.Has("desk") && !by.Has("owner"):
		return fault.Forbidden("That a claim is authorised is kept by the front desk or the owner.")
	case claim == "":
		return fault.Field("claim", "Type the number of the claim.")
	case utf8.RuneCountInString(claim) > maxShort:
		return fault.Field("claim", tooLong(maxShort))
	}
	tag, err := tx.Exec(ctx, "update job set authorised_at = $2, version = version + 1 where id = $1 and payer = $3 and authorised_at is null",
		jobID, by.At, PaysWarranty)
	if err != nil {
		return fmt.Errorf("authorise claim: %w", err)
	}
	if tag.RowsAffected() == 0 {
		return fault.Conflict("This job is no claim that waits to be authorised.")
	}
	if err := j.setWords(ctx, tx, "payer_words", claim); err != nil {
		return err
	}
	return j.append(ctx, tx, by, "claim authorised", nil)
}

// mayOpen refuses to begin on a claim that is not authorised.
func (j locked) mayOpen(ctx context.Context, tx pgx.Tx) error {
	var unopened bool
	err := tx.QueryRow(ctx, "select payer = $2 and authorised_at is null and started_at is null from job where id = $1", j.id, PaysWarranty).Scan(&unopened)
	if err != nil {
		return fmt.Errorf("read claim: %w", err)
	}
	if unopened {
		return fault.Conflict(NotOpened + " The front desk keeps that it is.")
	}
	return nil
}

// checkPayer says what is wrong with who pays and with the comeback.
func (u DropOffUnit) checkPayer(f faults, prefix string, k known) {
	f.add(prefix+"payer", !slices.Contains(Payers, u.Payer), unknownOne)
	f.add(prefix+"payerwords", u.Payer == PaysOther && u.PayerWords == "", "Say which team or shop.")
	f.long(prefix+"payerwords", u.PayerWords, maxShort)
	_, recent := k.recent[u.UnitID]
	f.add(prefix+"again", u.Comeback && !recent, fmt.Sprintf("It did not leave here within %d days, so this is no comeback.", ComebackDays))
}
