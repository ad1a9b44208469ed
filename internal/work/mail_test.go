package work

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/emersion/go-smtp"
	"github.com/jackc/pgx/v5"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/rivertype"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/mail"
	"damperdesk/internal/mail/mailtest"
	"damperdesk/internal/message"
	"damperdesk/internal/shop"
)

// office is a shop with a mail server and a customer.
type office struct {
	*mailer
	t        *testing.T
	by       history.By
	customer int64
	jobs     int64
}

func newOffice(t *testing.T, server *mailtest.Server) *office {
	t.Helper()
	pool := dbtest.Clone(t)
	o := &office{t: t, mailer: &mailer{pool: pool, log: quiet, post: Post{
		Server: mail.Server{Host: server.Host, Port: server.Port, Security: mail.Plain, From: "desk@example.org", Patience: 2 * time.Second},
		Key:    []byte(strings.Repeat("k", 32)), BaseURL: "https://desk.example.org",
		Write: func(_ context.Context, _ pgx.Tx, _ history.By, m message.Message) (message.Letter, error) {
			return message.Letter{Subject: "About " + m.Key(), Text: "See https://desk.example.org/c/" + strings.Repeat("s", 43) + "\n", HTML: "<html><body><p>See.</p></body></html>"}, nil
		}}}}
	o.write(func(tx pgx.Tx) error {
		o.by = dbtest.By(t, tx, "owner")
		err := shop.Save(t.Context(), tx, o.by, shop.Settings{Name: "Weir Lane Cycles", Zone: "Europe/London", Currency: "GBP", Hemisphere: "north",
			TorqueUnit: "N·m", VolumeUnit: "mL", PressureUnit: "psi", MassUnit: "kg"})
		if err != nil {
			return err
		}
		if err := message.SetQuiet(t.Context(), tx, o.by, message.Quiet{}); err != nil {
			return err
		}
		o.customer, err = customer.Add(t.Context(), tx, o.by, customer.Details{Name: "Ada Rider", Mail: "ada@example.com"})
		return err
	})
	return o
}

func (o *office) write(do func(pgx.Tx) error) {
	o.t.Helper()
	if err := db.Write(o.t.Context(), o.pool, do); err != nil {
		o.t.Fatal(err)
	}
}

func (o *office) posts(key string) (id int64) {
	o.t.Helper()
	o.write(func(tx pgx.Tx) (err error) {
		id, _, err = message.Post(o.t.Context(), tx, dbtest.Act(o.t, tx, o.by), message.Cause{Kind: message.Ready, CustomerID: o.customer, Key: key})
		return err
	})
	return id
}

// works is one job of the mailer's.
func (o *office) works() {
	o.t.Helper()
	o.jobs++
	err := o.Work(o.t.Context(), &river.Job[Mail]{JobRow: &rivertype.JobRow{ID: o.jobs, CreatedAt: time.Now(), EncodedArgs: []byte("{}")}})
	if err != nil {
		o.t.Fatal(err)
	}
}

// passes lets that time pass for whatever waits or is leased.
func (o *office) passes(d time.Duration) {
	o.t.Helper()
	_, err := o.pool.Exec(o.t.Context(), "update message set not_before = not_before - $1::interval, leased_until = leased_until - $1::interval, failing_since = failing_since - $1::interval", d)
	if err != nil {
		o.t.Fatal(err)
	}
}

func (o *office) wants(id int64, state message.State, why message.Why, tries int) {
	o.t.Helper()
	e, err := message.Get(o.t.Context(), o.pool, id)
	if err != nil || e.State != state || e.Why != why || e.Tries != tries {
		o.t.Errorf("the message is %s, %q after %d tries, want %s, %q after %d; %v", e.State, e.Why, e.Tries, state, why, tries, err)
	}
}

// They go out in the order they were due, with an address to choose by, and
// what is kept of them opens no page.
func TestMessagesGoOutInTheirOrder(t *testing.T) {
	t.Parallel()
	server := mailtest.Start(t, mailtest.Settings{})
	o := newOffice(t, server)
	var ids []int64
	for n := range 5 {
		ids = append(ids, o.posts(fmt.Sprint(n)))
	}
	o.works()
	got := server.Received()
	if len(got) != len(ids) {
		t.Fatalf("received %d", len(got))
	}
	for n, id := range ids {
		o.wants(id, message.Sent, "", 1)
		token := message.Token(o.post.Key, id, message.Ready)
		for _, part := range []string{fmt.Sprintf("Subject: About %d\r\n", n), "To: \"Ada Rider\" <ada@example.com>\r\n", "From: \"Weir Lane Cycles\" <desk@example.org>\r\n",
			"List-Unsubscribe: <https://desk.example.org/m/" + token + ">\r\n", "List-Unsubscribe-Post: List-Unsubscribe=One-Click\r\n"} {
			if !strings.Contains(got[n].Data, part) {
				t.Errorf("message %d has no %q:\n%s", n, part, got[n].Data)
			}
		}
		e, err := message.Get(t.Context(), o.pool, id)
		if err != nil || strings.Contains(e.Body, "ssss") || strings.Contains(e.Body, token) || !strings.Contains(e.Body, "https://desk.example.org/c/…") {
			t.Errorf("kept is %q, %v", e.Body, err)
		}
	}
	o.works()
	if n := len(server.Received()); n != len(ids) {
		t.Errorf("sent again: %d", n)
	}
}

// A reply 4xx is tried again after a minute, then after longer pauses for some
// days until it has failed (RFC 5321 4.5.4.1: every two or three hours, for at least
// four to five days); a reply 5xx fails at once. Nothing is sent twice.
func TestWhatIsPutOffIsTriedAgainAndWhatIsRefusedIsNot(t *testing.T) {
	t.Parallel()
	var code atomic.Int32
	server := mailtest.Start(t, mailtest.Settings{At: func(stage mailtest.Stage, _ string) error {
		if c := int(code.Load()); stage == mailtest.Whole && c != 0 {
			return &smtp.SMTPError{Code: c, EnhancedCode: smtp.EnhancedCodeNotSet, Message: "words of the server"}
		}
		return nil
	}})
	o := newOffice(t, server)
	first := o.posts("first")
	code.Store(451)
	o.works()
	o.wants(first, message.Waiting, message.PutOff, 1)
	o.works()
	o.wants(first, message.Waiting, message.PutOff, 1)
	o.passes(time.Minute)
	code.Store(0)
	o.works()
	o.wants(first, message.Sent, "", 2)

	second := o.posts("second")
	code.Store(554)
	o.works()
	o.wants(second, message.Failed, message.Refused, 1)
	o.passes(30 * 24 * time.Hour)
	o.works()
	o.wants(second, message.Failed, message.Refused, 1)

	third := o.posts("third")
	code.Store(421)
	tries, day := 0, 24*time.Hour
	for waited := time.Duration(0); waited < 6*day; tries++ {
		o.works()
		if o.stateOf(third) == message.Failed {
			break
		}
		pause := 3 * time.Hour
		if first := []time.Duration{time.Minute, 5 * time.Minute, 30 * time.Minute}; tries < len(first) {
			pause = first[tries]
		}
		o.passes(pause - 2*time.Second)
		o.works()
		o.wants(third, message.Waiting, message.PutOff, tries+1)
		o.passes(3 * time.Second)
		waited += pause
		if waited < 4*day && o.stateOf(third) != message.Waiting {
			t.Fatalf("given up after %v", waited)
		}
	}
	o.wants(third, message.Failed, message.PutOff, tries+1)
	if n := len(server.Received()); n != 1 {
		t.Errorf("received %d, want 1", n)
	}
}

func (o *office) stateOf(id int64) message.State {
	o.t.Helper()
	e, err := message.Get(o.t.Context(), o.pool, id)
	if err != nil {
		o.t.Fatal(err)
	}
	return e.State
}

// What broke off in its text is sent again; what broke off after its last dot
// is doubtful, until somebody has it sent again.
func TestOnlyWhatWasHandedOverIsInDoubt(t *testing.T) {
	t.Parallel()
	var at atomic.Value
	at.Store(mailtest.Begun)
	server := mailtest.Start(t, mailtest.Settings{At: func(stage mailtest.Stage, _ string) error {
		if stage == at.Load() {
			return mailtest.ErrCut
		}
		return nil
	}})
	o := newOffice(t, server)
	write := o.post.Write
	o.post.Write = func(ctx context.Context, tx pgx.Tx, by history.By, m message.Message) (message.Letter, error) {
		l, err := write(ctx, tx, by, m)
		l.Text += strings.Repeat("more than any buffer holds ", 300_000)
		return l, err
	}
	id := o.posts("")
	o.works()
	o.wants(id, message.Waiting, message.BrokeOff, 1)
	at.Store(mailtest.Whole)
	o.passes(time.Minute)
	o.post.Write = write
	o.works()
	o.wants(id, message.Doubtful, message.NoReply, 2)
	o.passes(30 * 24 * time.Hour)
	o.works()
	o.wants(id, message.Doubtful, message.NoReply, 2)
	if n := len(server.Received()); n != 1 {
		t.Errorf("received %d, want 1", n)
	}
	at.Store(mailtest.Stage(""))
	o.write(func(tx pgx.Tx) error { return message.Again(t.Context(), tx, dbtest.Act(t, tx, o.by), id) })
	o.works()
	o.wants(id, message.Sent, "", 1)
}

// A server that was killed leaves a lease. What it had not handed over another
// sends once the lease is over; what it had is doubtful. The killed one, if it
// only slept, may not hand over any more.
func TestWhatAKilledServerHadIsTakenUpOnce(t *testing.T) {
	t.Parallel()
	server := mailtest.Start(t, mailtest.Settings{})
	o := newOffice(t, server)
	taken, handed := o.posts("taken"), o.posts("handed over")
	var had []message.Message
	for _, id := range []int64{taken, handed} {
		o.write(func(tx pgx.Tx) error {
			by := dbtest.Act(t, tx, o.by)
			by.At = time.Now()
			m, ok, err := message.Take(t.Context(), tx, by, false)
			if err != nil || !ok || m.ID != id {
				return fmt.Errorf("took %+v, %v, %v", m, ok, err)
			}
			had = append(had, m)
			if err := m.Write(t.Context(), tx, message.Letter{Subject: "s", Text: "t"}); err != nil || id == taken {
				return err
			}
			_, err = m.HandOver(t.Context(), tx, by)
			return err
		})
	}
	o.works()
	o.wants(taken, message.Sending, "", 1)
	o.wants(handed, message.Sending, "", 1)
	o.passes(time.Hour)
	o.works()
	o.wants(taken, message.Sent, "", 2)
	o.wants(handed, message.Doubtful, message.Stopped, 1)
	err := db.Write(t.Context(), o.pool, func(tx pgx.Tx) error {
		_, err := had[0].HandOver(t.Context(), tx, dbtest.Act(t, tx, o.by))
		return err
	})
	if !errors.Is(err, message.ErrLost) {
		t.Errorf("it was handed over once more: %v", err)
	}
	o.write(func(tx pgx.Tx) error { return had[1].Sent(t.Context(), tx, dbtest.Act(t, tx, o.by)) })
	o.wants(handed, message.Sent, "", 1)
	if n := len(server.Received()); n != 1 {
		t.Errorf("received %d, want 1", n)
	}
}

// Two servers that look at once send each message once.
func TestTwoServersSendEachMessageOnce(t *testing.T) {
	t.Parallel()
	server := mailtest.Start(t, mailtest.Settings{})
	o := newOffice(t, server)
	const many = 30
	for n := range many {
		o.posts(fmt.Sprint(n))
	}
	var both sync.WaitGroup
	for n := range 2 {
		both.Go(func() {
			job := &rivertype.JobRow{ID: int64(100 + n), CreatedAt: time.Now(), EncodedArgs: []byte("{}")}
			if err := o.Work(t.Context(), &river.Job[Mail]{JobRow: job}); err != nil {
				t.Error(err)
			}
		})
	}
	both.Wait()
	seen := map[string]int{}
	for _, r := range server.Received() {
		_, id, _ := strings.Cut(r.Data, "Message-ID: ")
		id, _, _ = strings.Cut(id, "\r\n")
		seen[id]++
	}
	for id, n := range seen {
		if n != 1 {
			t.Errorf("%s was sent %d times", id, n)
		}
	}
	if len(seen) != many {
		t.Errorf("%d messages were sent, want %d", len(seen), many)
	}
}

// In quiet hours a test goes out and nothing else. What nobody wants any more,
// or has no address by now, is not sent; a letter that cannot be written waits.
func TestWhatIsNotToGoOutStays(t *testing.T) {
	t.Parallel()
	server := mailtest.Start(t, mailtest.Settings{})
	o := newOffice(t, server)
	id := o.posts("quiet")
	var test int64
	now := time.Now().In(time.UTC)
	o.write(func(tx pgx.Tx) (err error) {
		wall := o.zone(t).hour(now)
		if err = message.SetQuiet(t.Context(), tx, o.by, message.Quiet{FromMin: (wall + 23*60) % 1440, UntilMin: (wall + 60) % 1440, Version: 1}); err != nil {
			return err
		}
		test, err = message.PostTest(t.Context(), tx, dbtest.Act(t, tx, o.by), "owner@example.org")
		return err
	})
	o.works()
	o.wants(id, message.Waiting, "", 0)
	o.wants(test, message.Sent, "", 1)
	o.write(func(tx pgx.Tx) error { return message.SetQuiet(t.Context(), tx, o.by, message.Quiet{Version: 2}) })

	write := o.post.Write
	o.post.Write = func(ctx context.Context, tx pgx.Tx, _ history.By, _ message.Message) (message.Letter, error) {
		_, err := tx.Exec(ctx, "select 1 / 0")
		return message.Letter{}, err
	}
	o.works()
	o.wants(id, message.Waiting, message.NotWritten, 1)
	o.post.Write = write
	if _, err := o.pool.Exec(t.Context(), "update customer set mail = ''"); err != nil {
		t.Fatal(err)
	}
	o.passes(time.Hour)
	o.works()
	o.wants(id, message.Dropped, message.NoAddress, 2)
	if got := server.Received(); len(got) != 1 || got[0].To != "owner@example.org" {
		t.Errorf("received %+v", got)
	}
}

// zone tells the minute of the day on the shop's wall.
func (o *office) zone(t *testing.T) wall {
	t.Helper()
	zone, err := time.LoadLocation("Europe/London")
	if err != nil {
		t.Fatal(err)
	}
	return wall{zone}
}

type wall struct{ *time.Location }

func (w wall) hour(at time.Time) int { at = at.In(w.Location); return at.Hour()*60 + at.Minute() }

// A server takes up what waits when it starts, without waiting for a leader.
func TestAServerSendsWhatWaitsWhenItStarts(t *testing.T) {
	t.Parallel()
	server := mailtest.Start(t, mailtest.Settings{})
	o := newOffice(t, server)
	id := o.posts("")
	crew, err := Start(context.WithoutCancel(t.Context()), o.pool, leftOver(t, 0), o.post, quiet)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { stop(t, crew) })
	for end := time.Now().Add(5 * time.Second); len(server.Received()) == 0 && time.Now().Before(end); {
		time.Sleep(10 * time.Millisecond)
	}
	stop(t, crew)
	o.wants(id, message.Sent, "", 1)
}
