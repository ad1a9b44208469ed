package message_test

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/due"
	"damperdesk/internal/history"
	"damperdesk/internal/message"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

// What zdump with tzdata 2025b says of Europe/London in 2026: at 01:00 UTC on 29
// March the clocks go from 01:00 to 02:00, on 25 October from 02:00 to 01:00.
// Of Australia/Lord_Howe: on 5 April at 15:00 UTC of the 4th from 02:00 to 01:30.
func TestQuietHoursGoByTheClockOnTheWall(t *testing.T) {
	for _, c := range []struct {
		name, zone  string
		from, until int
		at, goesOut string // UTC
	}{
		{"in the evening until the morning", "Europe/London", 1200, 480, "2026-01-14T20:00:00Z", "2026-01-15T08:00:00Z"},
		{"after midnight", "Europe/London", 1200, 480, "2026-01-15T03:10:30Z", "2026-01-15T08:00:00Z"},
		{"the minute before", "Europe/London", 1200, 480, "2026-01-14T19:59:59Z", "2026-01-14T19:59:59Z"},
		{"the minute they end", "Europe/London", 1200, 480, "2026-01-15T08:00:00Z", "2026-01-15T08:00:00Z"},
		{"summer time", "Europe/London", 1200, 480, "2026-07-01T19:00:00Z", "2026-07-02T07:00:00Z"},
		{"the night the clocks go forward", "Europe/London", 1200, 480, "2026-03-28T23:00:00Z", "2026-03-29T07:00:00Z"},
		{"the night they go back", "Europe/London", 1200, 480, "2026-10-24T23:00:00Z", "2026-10-25T08:00:00Z"},
		{"until a time that never comes that night", "Europe/London", 1200, 90, "2026-03-28T23:00:00Z", "2026-03-29T01:00:00Z"},
		{"until a time that comes twice: the first is the end", "Europe/London", 1200, 90, "2026-10-24T23:00:00Z", "2026-10-25T00:30:00Z"},
		{"and what is due in the hour again waits again", "Europe/London", 1200, 90, "2026-10-25T01:10:00Z", "2026-10-25T01:30:00Z"},
		{"clocks that go back by half an hour", "Australia/Lord_Howe", 60, 110, "2026-04-04T14:30:00Z", "2026-04-04T14:50:00Z"},
		{"by day", "Europe/London", 720, 780, "2026-01-14T12:30:00Z", "2026-01-14T13:00:00Z"},
		{"never", "Europe/London", 0, 0, "2026-01-14T00:00:00Z", "2026-01-14T00:00:00Z"},
	} {
		zone, err := time.LoadLocation(c.zone)
		if err != nil {
			t.Fatal(err)
		}
		at, err := time.Parse(time.RFC3339, c.at)
		if err != nil {
			t.Fatal(err)
		}
		got := message.Quiet{FromMin: c.from, UntilMin: c.until}.After(at, zone).UTC().Format(time.RFC3339)
		if got != c.goesOut {
			t.Errorf("%s: what is due %s goes out %s, want %s", c.name, c.at, got, c.goesOut)
		}
	}
}

// box is an outbox with a customer.
type box struct {
	t        *testing.T
	tx       pgx.Tx
	by       history.By
	customer int64
}

func open(t *testing.T) *box {
	t.Helper()
	b := &box{t: t, tx: dbtest.Tx(t)}
	b.by = dbtest.By(t, b.tx, "desk", "owner")
	b.customer = b.add("Ada Rider", "ada@example.com")
	return b
}

func (b *box) add(name, mail string) int64 {
	b.t.Helper()
	id, err := customer.Add(b.t.Context(), b.tx, b.by, customer.Details{Name: name, Mail: mail})
	if err != nil {
		b.t.Fatal(err)
	}
	return id
}

func (b *box) post(kind message.Kind, customer int64, key string) (int64, bool) {
	b.t.Helper()
	id, posted, err := message.Post(b.t.Context(), b.tx, b.by, message.Cause{Kind: kind, CustomerID: customer, Key: key})
	if err != nil {
		b.t.Fatal(err)
	}
	return id, posted
}

func (b *box) wants(id int64, state message.State, why message.Why) {
	b.t.Helper()
	e, err := message.Get(b.t.Context(), b.tx, id)
	if err != nil || e.State != state || e.Why != why {
		b.t.Errorf("message %d is %s, %q; want %s, %q; %v", id, e.State, e.Why, state, why, err)
	}
}

func (b *box) visit() (id int64) {
	b.t.Helper()
	b.must(b.tx.QueryRow(b.t.Context(), "insert into visit (customer_id, promised_at, came, goes_back, currency, opened_at) values ($1, $2, 'counter', 'pickup', 'GBP', $2) returning id",
		b.customer, b.by.At).Scan(&id))
	return id
}

func (b *box) must(err error) {
	b.t.Helper()
	if err != nil {
		b.t.Fatal(err)
	}
}

func TestACauseMakesOneMessage(t *testing.T) {
	b := open(t)
	first, posted := b.post(message.Ready, b.customer, "1")
	if !posted {
		t.Fatal("it was not posted")
	}
	if _, again := b.post(message.Ready, b.customer, "1"); again {
		t.Error("the same cause made a second message")
	}
	if second, posted := b.post(message.Ready, b.customer, "2"); !posted || second == first {
		t.Error("another cause made none")
	}
	nobody, _ := b.post(message.Ready, b.add("Bo", ""), "3")
	b.wants(nobody, message.Dropped, message.NoAddress)
	later, _ := b.post(message.DueSoon, b.customer, "4")
	b.wants(later, message.Dropped, message.NotWanted)
}

// What two customers said before they were merged holds for the one they are:
// the newest counts, and what waits for either goes.
func TestWhatIsWantedSurvivesAMerge(t *testing.T) {
	b := open(t)
	other := b.add("A. Rider", "a.rider@example.com")
	b.must(message.Say(b.t.Context(), b.tx, b.by, other, message.DueSoon, true, message.AtDesk))
	waits, _ := b.post(message.DueSoon, other, "1")
	b.wants(waits, message.Waiting, "")
	b.must(merge(b, b.customer, other))
	wanted, err := message.Wants(b.t.Context(), b.tx, b.customer, message.DueSoon)
	if err != nil || !wanted {
		t.Errorf("wanted %v, %v", wanted, err)
	}
	onList := func(want bool) {
		t.Helper()
		mail, _, err := due.Wanting(t.Context(), b.tx, []int64{b.customer})
		if err != nil || mail[b.customer] != want {
			t.Errorf("on the due list wanted is %v, want %v; %v", mail[b.customer], want, err)
		}
	}
	onList(true)
	b.must(message.Say(b.t.Context(), b.tx, b.by, b.customer, message.DueSoon, false, message.OnPage))
	onList(false)
	b.wants(waits, message.Dropped, message.NotWanted)
	if all, err := message.Wanted(b.t.Context(), b.tx, other); err != nil || all[message.DueSoon] {
		t.Errorf("who was merged wants %v, %v", all, err)
	}
	var said int
	b.must(message.Say(b.t.Context(), b.tx, b.by, b.customer, message.DueSoon, false, message.InMail))
	b.must(b.tx.QueryRow(b.t.Context(), "select count(*) from consent").Scan(&said))
	if said != 2 {
		t.Errorf("%d sayings are kept, want 2: what stands already is not said again", said)
	}
}

func merge(b *box, into, from int64) error {
	_, err := b.tx.Exec(b.t.Context(), "update customer set merged_into = $1 where id = $2", into, from)
	return err
}

// Somebody is rung while their mail is on its way to a server that does not
// answer: no later try says it again, nor does a sender after one that stopped.
func TestWhatWasToldWhileItWasSentIsNotTriedAgain(t *testing.T) {
	b := open(t)
	for _, c := range []struct {
		rule string
		then func(message.Message)
	}{
		{"the server was not reached", func(m message.Message) { b.must(m.PutOff(t.Context(), b.tx, b.by, message.Unreachable, false)) }},
		{"the sender stopped", func(message.Message) {
			b.by.At = b.by.At.Add(time.Hour)
			if m, ok, err := message.Take(t.Context(), b.tx, b.by, false); ok || err != nil {
				t.Errorf("%d is sent again, %v", m.ID, err)
			}
		}},
	} {
		id, _, err := message.Post(t.Context(), b.tx, b.by, message.Cause{Kind: message.Ready, CustomerID: b.customer, VisitID: b.visit(), Key: c.rule})
		b.must(err)
		m, ok, err := message.Take(t.Context(), b.tx, b.by, false)
		if err != nil || !ok || m.ID != id {
			t.Fatalf("%s: took %d, %v, want %d; %v", c.rule, m.ID, ok, id, err)
		}
		b.must(message.Tell(t.Context(), b.tx, b.by, id))
		b.wants(id, message.Sending, "")
		c.then(m)
		b.wants(id, message.Dropped, message.Told)
	}
}

// One that is being sent while a newer one of its kind is caused is not waited for;
// put off, it is not tried again beside the newer one.
func TestANewerMessageOvertakesOneThatWasBeingSent(t *testing.T) {
	b := open(t)
	visit := b.visit()
	moved := func(key string) {
		b.must(message.PostVisit(t.Context(), b.tx, b.by, message.Moved, visit, key, b.by.At))
	}
	moved("1")
	m, ok, err := message.Take(t.Context(), b.tx, b.by, false)
	if err != nil || !ok {
		t.Fatalf("took %v, %v", ok, err)
	}
	moved("2")
	b.wants(m.ID, message.Sending, "")
	b.must(m.PutOff(t.Context(), b.tx, b.by, message.Unreachable, false))
	b.wants(m.ID, message.Dropped, message.Overtaken)
	if next, ok, err := message.Take(t.Context(), b.tx, b.by, false); err != nil || !ok || next.Key() != "2" {
		t.Errorf("then %q is sent, %v, %v", next.Key(), ok, err)
	}
}

// Whatever has gone out, or may have, stays so once it is told; whatever else is not
// sent any more.
func TestWhatIsToldKeepsWhatWentOut(t *testing.T) {
	b := open(t)
	var ids []int64
	for n := range 6 {
		id, _ := b.post(message.Ready, b.customer, fmt.Sprint(n))
		ids = append(ids, id)
	}
	take := func() message.Message {
		m, ok, err := message.Take(t.Context(), b.tx, b.by, false)
		if err != nil || !ok {
			t.Fatalf("took %v, %v", ok, err)
		}
		b.must(m.Write(t.Context(), b.tx, message.Letter{Subject: "s", Text: "t"}))
		return m
	}
	b.must(take().Sent(t.Context(), b.tx, b.by))
	doubtful := take()
	_, err := doubtful.HandOver(t.Context(), b.tx, b.by)
	b.must(err)
	b.must(doubtful.Doubt(t.Context(), b.tx, b.by, message.NoReply))
	b.must(take().PutOff(t.Context(), b.tx, b.by, message.BadAddress, true))
	take()
	b.must(message.Drop(t.Context(), b.tx, b.by, ids[4]))
	for i, want := range []struct {
		state message.State
		why   message.Why
	}{{message.Sent, ""}, {message.Doubtful, message.NoReply}, {message.Dropped, message.Told}, {message.Sending, ""}, {message.Dropped, message.Told}, {message.Dropped, message.Told}} {
		b.must(message.Tell(t.Context(), b.tx, b.by, ids[i]))
		b.wants(ids[i], want.state, want.why)
		if e, err := message.Get(t.Context(), b.tx, ids[i]); err != nil || e.ToldAt == nil {
			t.Errorf("%d: it is not kept that it was told, %v", i, err)
		}
	}
}

// What does not go out is said from its first failed try on, until anything goes out
// or somebody has dealt with all of it. A mail server that answers is no such thing.
func TestTheOutboxKnowsSinceWhenNothingGoesOut(t *testing.T) {
	b := open(t)
	stopped := func(rule string, want time.Time, why message.Why) {
		t.Helper()
		s, err := message.Stand(t.Context(), b.tx)
		if err != nil || want.IsZero() != (s.StoppedAt == nil) || s.StoppedAt != nil && !s.StoppedAt.Equal(want) || s.StoppedWhy != why {
			t.Errorf("%s: %v, %q, %v; want %v, %q", rule, s.StoppedAt, s.StoppedWhy, err, want, why)
		}
	}
	tries := func(why message.Why, final bool) (m message.Message) {
		t.Helper()
		m, ok, err := message.Take(t.Context(), b.tx, b.by, false)
		if err != nil || !ok {
			t.Fatalf("took %v, %v", ok, err)
		}
		if why != "" {
			b.must(m.PutOff(t.Context(), b.tx, b.by, why, final))
		}
		return m
	}
	first, _ := b.post(message.Ready, b.customer, "1")
	stopped("nothing was tried", time.Time{}, "")
	begin := b.by.At
	tries(message.Unreachable, false)
	b.by.At = begin.Add(time.Hour)
	tries(message.SignIn, false)
	stopped("tried twice", begin, message.SignIn)
	b.post(message.Ready, b.customer, "2")
	tries(message.BadAddress, true)
	stopped("and an address was refused", begin, message.SignIn)
	b.by.At = begin.Add(message.Lasts)
	tries(message.Unreachable, false)
	b.wants(first, message.Failed, message.Unreachable)
	stopped("given up", begin, message.Unreachable)
	b.post(message.Ready, b.customer, "3")
	third := tries("", false)
	b.must(third.Write(t.Context(), b.tx, message.Letter{Subject: "s", Text: "t"}))
	b.must(third.Sent(t.Context(), b.tx, b.by))
	stopped("another was sent", time.Time{}, "")
	b.by.At = b.by.At.Add(time.Minute)
	b.must(message.Again(t.Context(), b.tx, b.by, first))
	tries(message.Unreachable, false)
	stopped("pressed, and it fails still", b.by.At, message.Unreachable)
	b.must(message.Tell(t.Context(), b.tx, b.by, first))
	stopped("told", time.Time{}, "")
}

// The mail server is back: what it kept waiting goes at once, what it put off itself
// when it said.
func TestWhatWaitedForTheServerGoesOnceItIsThere(t *testing.T) {
	b := open(t)
	for n, why := range []message.Why{message.Unreachable, message.SignIn, message.PutOff} {
		b.post(message.Ready, b.customer, fmt.Sprint(n))
		m, ok, err := message.Take(t.Context(), b.tx, b.by, false)
		if err != nil || !ok {
			t.Fatalf("took %v, %v", ok, err)
		}
		b.must(m.PutOff(t.Context(), b.tx, b.by, why, false))
	}
	id, err := message.PostTest(t.Context(), b.tx, b.by, "owner@example.org")
	b.must(err)
	m, ok, err := message.Take(t.Context(), b.tx, b.by, false)
	if err != nil || !ok || m.ID != id {
		t.Fatalf("took %d, %v, %v", m.ID, ok, err)
	}
	b.must(m.Write(t.Context(), b.tx, message.Letter{Subject: "s", Text: "t"}))
	b.must(m.Sent(t.Context(), b.tx, b.by))
	held := func() bool {
		some, err := message.Held(t.Context(), b.tx, b.by.At)
		b.must(err)
		return some
	}
	if !held() {
		t.Error("nothing is held up")
	}
	b.must(message.Release(t.Context(), b.tx, b.by))
	if held() {
		t.Error("something is held up still")
	}
	for _, want := range []string{"0", "1"} {
		if m, ok, err := message.Take(t.Context(), b.tx, b.by, false); err != nil || !ok || m.Key() != want {
			t.Errorf("took %q, %v, %v; want %q", m.Key(), ok, err, want)
		}
	}
	if m, ok, err := message.Take(t.Context(), b.tx, b.by, false); ok || err != nil {
		t.Errorf("%q goes too, %v", m.Key(), err)
	}
}

// A list goes on where the page before ended, whatever came meanwhile.
func TestTheListGoesOnByItsPages(t *testing.T) {
	b := open(t)
	for n := range message.PageSize + 3 {
		b.post(message.Ready, b.customer, fmt.Sprint(n))
	}
	first, err := message.List(t.Context(), b.tx, message.ShowWaiting, 0)
	b.must(err)
	b.post(message.Ready, b.customer, "meanwhile")
	second, err := message.List(t.Context(), b.tx, message.ShowWaiting, first[len(first)-1].ID)
	b.must(err)
	if len(first) != message.PageSize || len(second) != 3 || first[len(first)-1].ID <= second[0].ID {
		t.Errorf("pages of %d and %d", len(first), len(second))
	}
}

func TestATokenIsOfItsMessageAndKey(t *testing.T) {
	b := open(t)
	key := []byte(strings.Repeat("k", 32))
	id, _ := b.post(message.Ready, b.customer, "1")
	token := message.Token(key, id, message.Ready)
	who, kind, err := message.Open(context.Background(), b.tx, key, token)
	if err != nil || who != b.customer || kind != message.Ready {
		t.Errorf("it opens %d, %s, %v", who, kind, err)
	}
	for _, bad := range []string{"", "-", token + "x", token[1:], strings.ToUpper(token), message.Token(key, id+1, message.Ready), message.Token(key, id, message.Moved)} {
		if _, _, err := message.Open(context.Background(), b.tx, key, bad); err == nil {
			t.Errorf("%q opens", bad)
		}
	}
	if _, secret, _ := strings.Cut(token, "-"); len(secret) != 32 { // base64 of 192 bits
		t.Errorf("the secret is %q", secret)
	}
}
