package work

import (
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/erase"
	"damperdesk/internal/history"
	"damperdesk/internal/mail/mailtest"
	"damperdesk/internal/message"
)

// What happens while the mail server is spoken to, up to the last dot, decides
// whether the message still goes.
func TestWhatHappensBeforeTheLastDotCounts(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		rule  string
		then  func(o *office, tx pgx.Tx, by history.By, id int64) error
		state message.State
		why   message.Why
	}{
		{"nothing", func(*office, pgx.Tx, history.By, int64) error { return nil }, message.Sent, ""},
		{"told by voice", func(o *office, tx pgx.Tx, by history.By, id int64) error {
			return message.Tell(o.t.Context(), tx, by, id)
		}, message.Dropped, message.Told},
		{"consent withdrawn", func(o *office, tx pgx.Tx, by history.By, _ int64) error {
			return message.Say(o.t.Context(), tx, by, o.customer, message.Ready, false, message.InMail)
		}, message.Dropped, message.NotWanted},
		{"customer erased", func(o *office, tx pgx.Tx, by history.By, _ int64) error {
			return erase.Customer(o.t.Context(), tx, by, o.customer)
		}, message.Dropped, message.Erased},
		{"address taken away", func(o *office, tx pgx.Tx, _ history.By, _ int64) error {
			_, err := tx.Exec(o.t.Context(), "update customer set mail = '' where id = $1", o.customer)
			return err
		}, message.Dropped, message.NoAddress},
		{"another address", func(o *office, tx pgx.Tx, _ history.By, _ int64) error {
			_, err := tx.Exec(o.t.Context(), "update customer set mail = 'new@example.com' where id = $1", o.customer)
			return err
		}, message.Sending, ""},
	} {
		t.Run(c.rule, func(t *testing.T) {
			var during func()
			server := mailtest.Start(t, mailtest.Settings{At: func(stage mailtest.Stage, to string) error {
				if do := during; stage == mailtest.Rcpt && do != nil {
					during = nil
					do()
				}
				return nil
			}})
			o := newOffice(t, server)
			id := o.posts("")
			during = func() {
				o.write(func(tx pgx.Tx) error {
					by := dbtest.Act(t, tx, o.by)
					by.At = time.Now().UTC()
					return c.then(o, tx, by, id)
				})
			}
			o.works()
			o.wants(id, c.state, c.why, 1)
			want := 0
			if c.state == message.Sent {
				want = 1
			}
			if n := len(server.Received()); n != want {
				t.Errorf("received %d, want %d", n, want)
			}
			if c.state != message.Sending {
				return
			}
			o.passes(time.Hour)
			o.works()
			if got := server.Received(); len(got) != 1 || got[0].To != "new@example.com" {
				t.Errorf("after the lease it went to %+v", got)
			}
		})
	}
}
