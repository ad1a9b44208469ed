package work

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/rivertype"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/mail"
	"damperdesk/internal/message"
	"damperdesk/internal/shop"
)

// Post is how messages go out.
type Post struct {
	Server mail.Server // without a host messages wait
	// Write says what a message to a customer says, in the transaction that
	// leases it. Nil: only tests go out.
	Write   func(ctx context.Context, tx pgx.Tx, by history.By, m message.Message) (message.Letter, error)
	Key     []byte // of links
	BaseURL string // that links begin with
}

// Mail sends the messages that are due, by the clock or because one just was put
// into the outbox.
type Mail struct{}

// Kind is what River knows it by.
func (Mail) Kind() string { return "mail" }

// InsertOpts keep a slow mail server from holding up other work. Another job
// does what one that failed has left, so no job is tried again.
func (Mail) InsertOpts() river.InsertOpts { return river.InsertOpts{Queue: mailQueue, MaxAttempts: 1} }

const (
	mailQueue = "mail"
	// often is how long a message waits at most that nobody handed over.
	often = 30 * time.Second
	// busy is after which time a job begins no other message.
	busy = 5 * time.Minute
	// settling is how long it may take to write how a message went, when the
	// server is to stop.
	settling = 3 * time.Second
)

// regularly is a job for each time often has passed, with any leader.
func regularly(job river.JobArgs) *river.PeriodicJob {
	return river.NewPeriodicJob(river.PeriodicInterval(often), func() (river.JobArgs, *river.InsertOpts) {
		return job, &river.InsertOpts{Queue: mailQueue, MaxAttempts: 1, UniqueOpts: river.UniqueOpts{ByPeriod: often}}
	}, nil)
}

type mailer struct {
	river.WorkerDefaults[Mail]
	pool *db.Pool
	post Post
	log  *slog.Logger
}

// Timeout is for a mail server that is long in answering the last message.
func (*mailer) Timeout(*river.Job[Mail]) time.Duration { return busy + 7*time.Minute }

// Work sends one message after the other, each on a line of its own: a shop
// sends few, and no line is lost in its middle. It ends where the mail server
// takes none at all.
func (m *mailer) Work(ctx context.Context, job *river.Job[Mail]) error {
	begin := time.Now()
	if some, err := message.Abandoned(ctx, m.pool, begin); err != nil || some {
		if err == nil {
			err = act(ctx, m.pool, job.JobRow, "mail: give up", func(tx pgx.Tx, by history.By) error { return message.GiveUp(ctx, tx, by) })
		}
		if err != nil {
			return err
		}
	}
	if !m.post.Server.Set() {
		return nil
	}
	s, err := shop.Get(ctx, m.pool)
	if errors.As(err, new(fault.NotFound)) {
		return nil // not set up yet
	}
	if err != nil {
		return err
	}
	for n := 1; ctx.Err() == nil && time.Since(begin) < busy; n++ {
		if goOn, err := m.next(ctx, turn{job.JobRow, n}, s); err != nil || !goOn {
			return err
		}
	}
	return nil
}

// turn numbers the messages of a job, which names their acts.
type turn struct {
	job *rivertype.JobRow
	n   int
}

func (t turn) name(what string) string { return fmt.Sprintf("mail: %s %d", what, t.n) }

// next sends the next message; false where none is due, or none will be taken.
func (m *mailer) next(ctx context.Context, t turn, s shop.Settings) (goOn bool, err error) {
	hours, err := message.GetQuiet(ctx, m.pool)
	if err != nil {
		return false, err
	}
	now := time.Now()
	quiet := hours.At(now, s.Location()) || m.post.Write == nil
	if due, err := message.Due(ctx, m.pool, now, quiet); err != nil || !due {
		return false, err
	}
	var (
		msg    message.Message
		letter message.Letter
		ready  bool
	)
	err = act(ctx, m.pool, t.job, t.name("take"), func(tx pgx.Tx, by history.By) (err error) {
		if msg, ready, err = message.Take(ctx, tx, by, quiet); err != nil || !ready {
			return err
		}
		letter, err = m.write(ctx, tx, by, msg, s.Name)
		if errors.Is(err, message.ErrMoot) {
			ready = false
			return msg.Moot(ctx, tx, by)
		}
		if err != nil {
			ready = false
			m.log.WarnContext(ctx, "a message could not be written", "message", msg.ID, "kind", msg.Kind, "error", err)
			return msg.PutOff(ctx, tx, by, message.NotWritten, false)
		}
		return msg.Write(ctx, tx, letter)
	})
	if err != nil || !ready {
		return err == nil, err
	}
	return m.send(ctx, t, msg, letter, s.Name)
}

// write is the letter, in a part of the transaction that may fail by itself.
func (m *mailer) write(ctx context.Context, tx pgx.Tx, by history.By, msg message.Message, shopName string) (l message.Letter, err error) {
	if msg.Kind == message.Test {
		return testLetter(shopName), nil
	}
	err = pgx.BeginFunc(ctx, tx, func(tx pgx.Tx) error {
		l, err = m.post.Write(ctx, tx, by, msg)
		return err
	})
	if err == nil && (l.Subject == "" || l.Text == "") {
		err = errors.New("the letter is empty")
	}
	return l, err
}

// send hands it over and keeps how that went.
func (m *mailer) send(ctx context.Context, t turn, msg message.Message, l message.Letter, shopName string) (goOn bool, err error) {
	failed := m.post.Server.Send(ctx, m.post.envelope(msg, l, shopName, time.Now()), func() (err error) {
		var ok bool
		err = act(ctx, m.pool, t.job, t.name("hand over"), func(tx pgx.Tx, by history.By) (err error) {
			ok, err = msg.HandOver(ctx, tx, by)
			return err
		})
		if err == nil && !ok {
			return message.ErrLost
		}
		return err
	})
	if errors.Is(failed, message.ErrLost) {
		return true, nil
	}
	if failed != nil {
		m.log.WarnContext(ctx, "a message was not sent", "message", msg.ID, "kind", msg.Kind, "try", msg.Tries, "error", failed)
	}
	// It went as it went: that is kept even while the server stops.
	last, end := context.WithTimeout(context.WithoutCancel(ctx), settling)
	defer end()
	err = act(last, m.pool, t.job, t.name("settle"), func(tx pgx.Tx, by history.By) error { return settle(last, tx, by, msg, failed) })
	if err == nil && failed == nil {
		err = m.release(ctx, t)
	}
	return err == nil && !hopeless(failed), err
}

// release has what waited for a mail server tried again, by an act of its own: that
// one is sent is kept whatever becomes of this.
func (m *mailer) release(ctx context.Context, t turn) error {
	if some, err := message.Held(ctx, m.pool, time.Now()); err != nil || !some {
		return err
	}
	return act(ctx, m.pool, t.job, t.name("release"), func(tx pgx.Tx, by history.By) error { return message.Release(ctx, tx, by) })
}

// ways are the failures as messages keep them.
var ways = map[mail.Why]struct {
	why   message.Why
	final bool
}{
	mail.Unreachable: {why: message.Unreachable},
	mail.NotSecure:   {why: message.NotSecure},
	mail.SignIn:      {why: message.SignIn},
	mail.PutOff:      {why: message.PutOff},
	mail.BadAddress:  {why: message.BadAddress, final: true},
	mail.Refused:     {why: message.Refused, final: true},
	mail.BrokeOff:    {why: message.BrokeOff},
	mail.NotHanded:   {why: message.BrokeOff},
}

func settle(ctx context.Context, tx pgx.Tx, by history.By, msg message.Message, failed error) error {
	var f *mail.Failure
	switch {
	case failed == nil:
		return msg.Sent(ctx, tx, by)
	case !errors.As(failed, &f) || f.Why == mail.NoReply:
		return msg.Doubt(ctx, tx, by, message.NoReply)
	}
	way := ways[f.Why]
	return msg.PutOff(ctx, tx, by, way.why, way.final)
}

// hopeless reports whether no other message would be taken now.
func hopeless(failed error) bool {
	var f *mail.Failure
	return errors.As(failed, &f) && (f.Why == mail.Unreachable || f.Why == mail.NotSecure || f.Why == mail.SignIn)
}
