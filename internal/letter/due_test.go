package letter_test

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/due"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
	"damperdesk/internal/letter"
	"damperdesk/internal/message"
)

func TestDueSoonSpeaksOfTheLastService(t *testing.T) {
	d := open(t)
	d.bring(d.jobs[0], toReady...)
	d.must(job.HandOver(ctx, d.tx, d.act(), d.jobs[0].ID, ""))
	d.late = 300 * 24 * time.Hour
	post := func(last time.Time) {
		t.Helper()
		if _, err := message.PostDueSoon(ctx, d.tx, d.act(), message.Reminder{UnitID: d.jobs[0].UnitID, Service: "lower-leg", Since: message.Since{Done: last}}); err != nil {
			t.Fatal(err)
		}
	}
	post(dbtest.Now)
	text := d.wants("due", message.DueSoon, "Weir Lane Cycles: lower-leg service for your Sill 34",
		"time again for a service of your Sill 34: lower-leg service.", "last done here on "+dbtest.Now.Format("2 January 2006"), "Lower-leg service again after 50 hours", "jet washed")
	if strings.Contains(text, "/c/") {
		t.Errorf("it leads to an old visit:\n%s", text)
	}
	first := d.of(message.DueSoon)
	_, err := d.tx.Exec(ctx, `update message set state = 'sent', sent_at = at, handed_over_at = at, subject = 'due', body = 'due', mail = 'mirela@example.com' where id = $1`, first.ID)
	d.must(err)
	if _, err := message.OnceMore(ctx, d.tx, d.act(), first.ID); err != nil || d.of(message.DueSoon).ID == first.ID {
		t.Fatalf("not sent once more: %v", err)
	}
	d.wants("once more", message.DueSoon, "Weir Lane Cycles: lower-leg service for your Sill 34")
	today := interval.Day(d.act().At, time.UTC)
	until := today.AddDate(0, 1, 0)
	d.must(due.Put(ctx, d.tx, d.act(), due.PutOff{UnitID: d.jobs[0].UnitID, Service: "lower-leg", Kind: due.Snoozed, Until: &until}, today))
	d.wantsMoot("put off", message.DueSoon)
	d.must(due.TakeBack(ctx, d.tx, d.act(), d.jobs[0].UnitID, "lower-leg"))
	d.wants("not put off any more", message.DueSoon, "Weir Lane Cycles: lower-leg service for your Sill 34")
	_, err = d.tx.Exec(ctx, "savepoint unbooked")
	d.must(err)
	in := job.DropOff{CustomerID: d.jobs[0].CustomerID, PromisedAt: d.act().At.AddDate(0, 1, 0), Currency: "GBP",
		Units: []job.DropOffUnit{{UnitID: d.jobs[0].UnitID, Symptoms: []string{job.JustDue}, Services: []string{"lower-leg"}}}}
	day := interval.Day(in.PromisedAt.AddDate(0, 0, -3), time.UTC)
	in.BookedFor = &day
	_, err = job.TakeIn(ctx, d.tx, d.act(), in)
	d.must(err)
	d.must(due.Settle(ctx, d.tx, d.act().At))
	d.wantsMoot("it is booked", message.DueSoon)
	_, err = d.tx.Exec(ctx, "rollback to unbooked")
	d.must(err)
	post(dbtest.Now.AddDate(0, 0, -9))
	d.wantsMoot("it was done since", message.DueSoon)
}

// What is due of one customer is one letter, without what is moot by then; whoever
// has two forks at the shop wants no two mails (common practice, no source).
func TestWhatIsDueOfOneCustomerIsOneLetter(t *testing.T) {
	d, letters, err := bothDue(t)
	if err != nil || len(letters) != 1 || letters[message.Waiting] != 1 {
		t.Fatalf("two forks of one customer are %v letters, %v", letters, err)
	}
	lead := d.first(message.DueSoon)
	is := func(rule string, want ...message.State) {
		t.Helper()
		if got := d.states(message.DueSoon); !slices.Equal(got, want) {
			t.Errorf("%s: %q, want %q", rule, got, want)
		}
	}
	_, err = d.tx.Exec(ctx, "update message set state = 'dropped', why = 'told by voice', told_at = at, told_by = $1 where kind <> $2", d.by.Staff, message.DueSoon)
	d.must(err)
	taken, ok, err := message.Take(ctx, d.tx, d.act(), false)
	if err != nil || !ok || taken.ID != lead.ID {
		t.Fatalf("it took %d, %v, %v; want %d", taken.ID, ok, err, lead.ID)
	}
	l, err := letter.Write(ctx, d.tx, d.act(), key, base, taken)
	d.must(err)
	overdue := dbtest.Now.AddDate(1, 0, 0).Format("2 January 2006")
	for _, words := range []string{"a service of your Sill 34 and Kelp 120: lower-leg service.", "Sill 34: lower-leg service again after 50 hours of riding or by " + overdue, "Kelp 120: lower-leg service again"} {
		if !strings.Contains(l.Text, words) {
			t.Errorf("it does not say %q:\n%s", words, l.Text)
		}
	}
	if _, some, err := message.Take(ctx, d.tx, d.act(), false); err != nil || some {
		t.Errorf("the other fork has a mail of its own, %v", err)
	}
	d.must(taken.Write(ctx, d.tx, l))
	if ok, err := taken.HandOver(ctx, d.tx, d.act()); !ok || err != nil {
		t.Fatalf("not handed over: %v", err)
	}
	is("handed over", message.Sending, message.Sending)
	d.must(taken.Sent(ctx, d.tx, d.act()))
	is("sent", message.Sent, message.Sent)
	if _, err := message.OnceMore(ctx, d.tx, d.act(), lead.ID); err != nil {
		t.Fatal(err)
	}
	is("once more", message.Sent, message.Sent, message.Waiting, message.Waiting)
	last := d.of(message.DueSoon) // written in the letter of another
	d.must(message.Drop(ctx, d.tx, d.act(), last.ID))
	is("the whole letter is dropped", message.Sent, message.Sent, message.Dropped, message.Dropped)
	d.must(message.Again(ctx, d.tx, d.act(), last.ID))
	is("and sent again", message.Sent, message.Sent, message.Waiting, message.Waiting)
	var sent int
	d.must(d.tx.QueryRow(ctx, "select count(distinct subject_id) from event where subject_kind = 'message' and kind = 'message sent'").Scan(&sent))
	if sent != 2 {
		t.Errorf("the history of %d forks says that it was sent, want both", sent)
	}
}

// A fork that says nothing any more leaves the letter of the others, whichever it
// is.
func TestAMootReminderLeavesTheLetter(t *testing.T) {
	for moot, rule := range []string{"the one it goes with", "the one that goes with it"} {
		t.Run(rule, func(t *testing.T) { leavesTheLetter(t, moot) })
	}
}

func leavesTheLetter(t *testing.T, moot int) {
	d, _, err := bothDue(t)
	d.must(err)
	until := interval.Day(d.act().At, time.UTC).AddDate(0, 1, 0)
	d.must(due.Put(ctx, d.tx, d.act(), due.PutOff{UnitID: d.jobs[moot].UnitID, Service: "lower-leg", Kind: due.Snoozed, Until: &until}, until.AddDate(0, -1, 0)))
	var text string
	for {
		taken, ok, err := message.Take(ctx, d.tx, d.act(), false)
		d.must(err)
		if !ok {
			break
		}
		l, err := letter.Write(ctx, d.tx, d.act(), key, base, taken)
		if errors.Is(err, message.ErrMoot) {
			d.must(taken.Moot(ctx, d.tx, d.act()))
			continue
		}
		d.must(err)
		text += l.Subject
	}
	if want := "Weir Lane Cycles: lower-leg service for your " + []string{"Kelp 120", "Sill 34"}[moot]; text != want {
		t.Errorf("fork %d is moot: %q, want %q", moot+1, text, want)
	}
	want := []message.State{message.Sending, message.Sending}
	want[moot] = message.Dropped
	if got := d.states(message.DueSoon); !slices.Equal(got, want) {
		t.Errorf("fork %d is moot: %q, want %q", moot+1, got, want)
	}
}

// bothDue is a desk that both forks went home from long ago, whose customer wants to
// be told, with what came of the reminders of both.
func bothDue(t *testing.T) (d *desk, letters map[message.State]int, err error) {
	t.Helper()
	d = open(t)
	var list []message.Reminder
	for _, j := range d.jobs {
		d.bring(j, toReady...)
		d.must(job.HandOver(ctx, d.tx, d.act(), j.ID, ""))
		list = append(list, message.Reminder{UnitID: j.UnitID, Service: "lower-leg", Since: message.Since{Done: dbtest.Now}})
	}
	d.must(message.Say(ctx, d.tx, d.act(), d.of(message.Received).CustomerID, message.DueSoon, true, "desk"))
	d.late = 400 * 24 * time.Hour
	letters, err = message.PostDueSoon(ctx, d.tx, d.act(), list...)
	return d, letters, err
}

// first is the oldest message of a kind.
func (d *desk) first(kind message.Kind) (m message.Message) {
	d.t.Helper()
	d.must(d.tx.QueryRow(ctx, "select min(id) from message where kind = $1", kind).Scan(&m.ID))
	return m
}

// states are those of the messages of a kind, the oldest first.
func (d *desk) states(kind message.Kind) []message.State {
	d.t.Helper()
	rows, err := d.tx.Query(ctx, "select state from message where kind = $1 order by id", kind)
	d.must(err)
	list, err := pgx.CollectRows(rows, pgx.RowTo[message.State])
	d.must(err)
	return list
}
