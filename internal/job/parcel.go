package job

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/link"
	"damperdesk/internal/message"
	"damperdesk/internal/money"
)

// Parcel is how a job goes back by post.
type Parcel struct {
	Carrier  string
	Tracking string // empty: it has no code
	AirOut   bool   // the air is let out and a tag at it says so
	Unpaid   string // why it goes before it is paid

	// Billed, OwedMinor and Currency are how its visit stands.
	Billed    bool
	OwedMinor int64
	Currency  string
}

// Settled says that there is a bill and nothing of it is left to pay.
func (p Parcel) Settled() bool { return p.Billed && p.OwedMinor <= 0 }

// check holds that payment comes first; the desk and the owner may say why not
// this time.
func (p Parcel) check(roles []string) faults {
	f := faults{}
	f.add("carrier", p.Carrier == "", "Say who carries it.")
	f.long("carrier", p.Carrier, maxShort)
	f.long("tracking", p.Tracking, maxShort)
	f.long("unpaid", p.Unpaid, maxLong)
	if p.Settled() {
		return f
	}
	owed := "there is no bill yet"
	if p.Billed {
		owed = money.Format(p.OwedMinor, p.Currency) + " is still owed"
	}
	if slices.ContainsFunc(roles, func(r string) bool { return slices.Contains(counter, r) }) {
		f.add("unpaid", p.Unpaid == "", "Payment first: "+owed+". Take it before it is sent, or say why it goes unpaid.")
	} else {
		f.add("how", true, "Payment first: "+owed+". The desk or the owner may send it unpaid.")
	}
	return f
}

// SendBack lets a job that is ready leave the shop by post, done.
func SendBack(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, p Parcel) error {
	p.Carrier, p.Tracking, p.Unpaid = strings.TrimSpace(p.Carrier), strings.TrimSpace(p.Tracking), strings.TrimSpace(p.Unpaid)
	j, err := lockOpen(ctx, tx, jobID)
	if err != nil {
		return err
	}
	if err := p.check(by.Roles).err(); err != nil {
		return err
	}
	unpaid := !p.Settled()
	if !unpaid {
		p.Unpaid = ""
	}
	if err := j.leave(ctx, tx, by, SentBack, p.AirOut, unpaid); err != nil {
		return err
	}
	for column, words := range map[string]string{"carrier": p.Carrier, "tracking": p.Tracking, "unpaid_words": p.Unpaid} {
		if err := j.setWords(ctx, tx, column, words); err != nil {
			return err
		}
	}
	detail := map[string]any{"how": SentBack, "air out": p.AirOut}
	if unpaid {
		detail["unpaid"] = max(p.OwedMinor, 0)
	}
	return j.append(ctx, tx, by, "job handed over", detail)
}

// leave hands the job over that is ready, once nothing keeps it here.
func (j locked) leave(ctx context.Context, tx pgx.Tx, by history.By, how string, airOut, unpaid bool) error {
	if j.stage != Ready {
		return fault.Conflict("Only a job that is ready for pickup is handed over; this one is " + j.stage + ". To give it back otherwise, cancel it and say how it ends.")
	}
	if _, err := legal(j.stage, how, by.Roles); err != nil {
		return err
	}
	if err := j.mustNotWait(ctx, tx); err != nil {
		return err
	}
	_, err := tx.Exec(ctx, `insert into hand_over (job_id, how, air_out, unpaid, actor_id, intent_id, at)
		values ($1, $2, $3, $4, nullif($5, 0::bigint), $6, $7)`, j.id, how, airOut, unpaid, by.Staff, by.Intent, by.At)
	if err != nil {
		return fmt.Errorf("hand over: %w", db.Translate(err))
	}
	if err := j.close(ctx, tx, by, how, Done); err != nil {
		return err
	}
	if err := message.PostFirstRide(ctx, tx, by, j.visitID); err != nil {
		return err
	}
	return link.Lengthen(ctx, tx, by, j.unitID)
}
