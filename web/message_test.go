package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/erase"
	"damperdesk/internal/history"
	"damperdesk/internal/message"
)

// posted is a shop with a customer and a message about each kind.
func (s *site) posted(kinds ...message.Kind) (who int64, ids []int64) {
	s.t.Helper()
	ctx := context.Background()
	s.write(func(tx pgx.Tx, by history.By) (err error) {
		if who, err = customer.Add(ctx, tx, by, customer.Details{Name: "Ada Rider", Mail: "ada@example.com"}); err != nil {
			return err
		}
		for _, k := range kinds {
			id, _, err := message.Post(ctx, tx, by, message.Cause{Kind: k, CustomerID: who, Key: fmt.Sprint(len(ids))})
			if err != nil {
				return err
			}
			ids = append(ids, id)
		}
		return nil
	})
	return who, ids
}

func (s *site) messageOf(id int64) message.Entry {
	s.t.Helper()
	e, err := message.Get(context.Background(), s.pool, id)
	if err != nil {
		s.t.Fatal(err)
	}
	return e
}

// came lets a message have come that far.
func (s *site) came(id int64, state message.State) {
	s.t.Helper()
	ctx := context.Background()
	s.write(func(tx pgx.Tx, by history.By) error {
		if _, err := tx.Exec(ctx, "update message set state = 'sending', lease = 1, tries = 1, leased_until = $2 where id = $1", id, by.At.AddDate(0, 0, 1)); err != nil {
			return err
		}
		m := message.Message{ID: id, CustomerID: s.messageOf(id).CustomerID, Lease: 1, Tries: 1, Mail: "ada@example.com", Kind: message.Received}
		if err := m.Write(ctx, tx, message.Letter{Subject: "It is ready", Text: "Come and get it."}); err != nil || state == message.Failed {
			if err == nil {
				err = m.PutOff(ctx, tx, by, message.BadAddress, true)
			}
			return err
		}
		if _, err := m.HandOver(ctx, tx, by); err != nil || state == message.Sent {
			if err == nil {
				err = m.Sent(ctx, tx, by)
			}
			return err
		}
		return m.Doubt(ctx, tx, by, message.NoReply)
	})
}

func TestTheDeskLooksAfterWhatWasNotSent(t *testing.T) {
	s := server(t)
	_, ids := s.posted(message.Ready, message.Received, message.GoAhead, message.FirstRide, message.Moved)
	ready, received, goAhead, firstRide, moved := ids[0], ids[1], ids[2], ids[3], ids[4]
	s.came(ready, message.Doubtful)
	s.came(received, message.Sent)
	s.came(goAhead, message.Failed)
	b := s.as(desk)
	for show, want := range map[string][]int64{"": {moved, firstRide, goAhead, received, ready}, "waiting": {moved}, "sent": {received},
		"look": {goAhead, ready}, "not-sent": {firstRide}} {
		p := b.get("/messages?show=" + show)
		p.want(http.StatusOK)
		var got []int64
		for _, a := range p.Find("tbody th a").EachIter() {
			var id int64
			fmt.Sscanf(a.AttrOr("href", ""), "/messages/%d", &id)
			got = append(got, id)
		}
		if fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("%q shows %v, want %v", show, got, want)
		}
	}
	if p := b.get("/board"); !strings.Contains(p.Find("#board-messages").Text(), "2 messages were not sent or may not have been") {
		t.Errorf("the board says %q", p.Find("#board-messages").Text())
	}
	path := func(id int64, press string) string { return fmt.Sprintf("/messages/%d%s", id, press) }
	if p := b.get(path(ready, "")); !strings.Contains(p.body, "It may have been sent, so it is not sent again by itself.") || !strings.Contains(p.body, "Come and get it.") {
		t.Errorf("a doubtful message is shown as:\n%s", p.body)
	}
	b.post(path(ready, "/again")).want(http.StatusSeeOther)
	if e := s.messageOf(ready); e.State != message.Waiting || e.Tries != 0 || s.mailed != 1 {
		t.Errorf("sent again it is %+v, and mail was looked at %d times", e, s.mailed)
	}
	b.post(path(goAhead, "/told")).want(http.StatusSeeOther)
	if e := s.messageOf(goAhead); e.State != message.Dropped || e.Why != message.Told || e.ToldBy != b.person.Name || e.ToldAt == nil {
		t.Errorf("told by voice it is %+v", e)
	}
	b.post(path(moved, "/drop")).want(http.StatusSeeOther)
	if e := s.messageOf(moved); e.State != message.Dropped || e.Why != message.AtTheDesk {
		t.Errorf("dropped it is %+v", e)
	}
	b.post(path(received, "/again")).want(http.StatusConflict) // it was sent
	more := b.post(path(received, "/more"))
	more.want(http.StatusSeeOther)
	if e := s.messageOf(received); e.State != message.Sent || !strings.HasSuffix(more.to, "?done=more") || strings.HasPrefix(more.to, path(received, "?")) {
		t.Errorf("sent once more it is %+v, and leads to %s", e, more.to)
	}
	if p := b.get(more.to); p.Find(`a[href="`+path(received, "")+`"]`).Length() == 0 {
		t.Error("the new message does not lead to the one before")
	}
	b.get("/messages?show=nothing").want(http.StatusNotFound)
	b.get("/messages/9999").want(http.StatusNotFound)
}

// Where the desk looks it says since when nothing goes out, once a try or two are
// over, and why.
func TestTheDeskSeesThatNoMailGoesOut(t *testing.T) {
	s := server(t)
	_, ids := s.posted(message.Ready)
	b := s.as(desk)
	fails := func(why message.Why, minutes int) {
		t.Helper()
		_, err := s.pool.Exec(t.Context(), "update message set state = 'waiting', why = $2, tries = 2, failing_since = $3 where id = $1",
			ids[0], why, dbtest.Now.Add(-time.Duration(minutes)*time.Minute))
		if err != nil {
			t.Fatal(err)
		}
	}
	fails(message.Unreachable, 5)
	for _, at := range []string{"/board", "/messages"} {
		if strings.Contains(b.get(at).want(http.StatusOK).words("main"), "No mail has gone out") {
			t.Errorf("%s says so after the first try", at)
		}
	}
	fails(message.Unreachable, 12*60)
	since := "No mail has gone out since today 02:12"
	b.get("/board").wantWords("#board-messages", since)
	b.get("/messages").wantWords("#messages-stopped", since).wantWords("#messages-stopped", "The mail server was not reached.")
}

// oneClick is the press of a mail program, as its server sends it.
func (s *site) oneClick(path, kind, body string) {
	s.t.Helper()
	req, err := http.NewRequest(http.MethodPost, s.url+path, strings.NewReader(body))
	if err != nil {
		s.t.Fatal(err)
	}
	req.Header.Set("Content-Type", kind)
	req.Header.Set("Origin", "https://mail.example.org")
	req.Header.Set("Sec-Fetch-Site", "cross-site")
	if got := s.anybody().do(req); got.status != http.StatusNoContent {
		s.t.Errorf("one click as %s: %d %s", kind, got.status, got.body)
	}
}

// RFC 8058 section 3.2: the form is sent as multipart/form-data or, which is
// allowed as well, as application/x-www-form-urlencoded.
func TestOneClickComesAsMultipart(t *testing.T) {
	s := server(t)
	who, ids := s.posted(message.Ready)
	s.oneClick("/m/"+message.Token(linkKey, ids[0], message.Ready), "multipart/form-data; boundary=---edge",
		"-----edge\r\nContent-Disposition: form-data; name=\"List-Unsubscribe\"\r\n\r\nOne-Click\r\n-----edge--\r\n")
	if wanted, err := message.Wanted(t.Context(), s.pool, who); err != nil || wanted[message.Ready] || !wanted[message.Received] {
		t.Errorf("wanted are %v, %v", wanted, err)
	}
}

// Looking changes nothing; the form keeps what is ticked; one click of a mail
// program (RFC 8058), from another site and without cookies, ends the kind.
func TestAReaderSaysWhatTheyWant(t *testing.T) {
	s := server(t)
	who, ids := s.posted(message.Ready, message.StillHere)
	wants := func(want string) {
		t.Helper()
		wanted, err := message.Wanted(t.Context(), s.pool, who)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, k := range message.Kinds {
			if wanted[k] {
				got = append(got, string(k))
			}
		}
		if strings.Join(got, ", ") != want {
			t.Errorf("wanted are %s, want %s", strings.Join(got, ", "), want)
		}
	}
	const usual = "received, go-ahead wanted, promise moved, ready, still here"
	path := "/m/" + message.Token(linkKey, ids[0], message.Ready)
	p := s.anybody().get(path)
	p.want(http.StatusOK)
	if n := p.Find("[name=kind]").Length(); n != len(message.Kinds) || p.Find("[name=kind][checked]").Length() != 5 {
		t.Errorf("%d kinds are offered, %d ticked", n, p.Find("[name=kind][checked]").Length())
	}
	wants(usual)

	s.oneClick(path, "application/x-www-form-urlencoded", "List-Unsubscribe=One-Click")
	wants("received, go-ahead wanted, promise moved, still here")
	if e := s.messageOf(ids[0]); e.State != message.Dropped || e.Why != message.NotWanted {
		t.Errorf("what waited of the kind is %+v", e)
	}
	if e := s.messageOf(ids[1]); e.State != message.Waiting {
		t.Errorf("what waited of another kind is %+v", e)
	}

	s.anybody().post(path, "kind", "ready", "kind", "due soon").want(http.StatusSeeOther)
	wants("ready, due soon")
	s.anybody().send(http.MethodPost, path, url.Values{"List-Unsubscribe": {"One-Click"}}) // once more, after they wanted it again
	wants("due soon")

	gone := s.anybody().get("/m/" + message.Token(linkKey, 9999, message.Ready))
	gone.want(http.StatusNotFound)
	for _, bad := range []string{path[:len(path)-1], "/m/x", "/m/" + message.Token(linkKey, ids[0], message.Moved), "/m/" + message.Token([]byte("another key"), ids[0], message.Ready)} {
		p := s.anybody().get(bad)
		p.want(http.StatusNotFound)
		if p.Find("main p").First().Text() != gone.Find("main p").First().Text() {
			t.Errorf("%s is told apart from one that is not there", bad)
		}
		s.anybody().send(http.MethodPost, bad, url.Values{"List-Unsubscribe": {"One-Click"}}).want(http.StatusNotFound)
	}
	s.write(func(tx pgx.Tx, by history.By) error { return erase.Customer(t.Context(), tx, by, who) })
	if p := s.anybody().get(path).want(http.StatusNotFound); p.Find("main").Text() != gone.Find("main").Text() {
		t.Errorf("that of somebody who was erased is told apart from one that is not there: %q", p.words("main"))
	}
	s.anybody().send(http.MethodPost, path, url.Values{"List-Unsubscribe": {"One-Click"}}).want(http.StatusNotFound)
	s.anybody().post(path, "kind", "ready").want(http.StatusNotFound)
	if strings.Contains(s.log.String(), path) {
		t.Error("the address is in the log")
	}
}

func TestTheDeskKeepsWhatACustomerWants(t *testing.T) {
	s := server(t)
	who, _ := s.posted()
	at := fmt.Sprintf("/customers/%d", who)
	b := s.as(desk)
	if n := b.get(at).Find(`form[action$="/messages"] [name=kind][checked]`).Length(); n != 5 {
		t.Errorf("%d kinds are ticked", n)
	}
	b.post(at+"/messages", "kind", "after the first ride").want(http.StatusSeeOther)
	wanted, err := message.Wanted(t.Context(), s.pool, who)
	if err != nil || !wanted[message.FirstRide] || wanted[message.Ready] {
		t.Errorf("wanted are %v, %v", wanted, err)
	}
	var said int
	err = s.pool.QueryRow(t.Context(), "select count(*) from consent where how = 'desk' and actor_id = $1", b.person.ID).Scan(&said)
	if err != nil || said != 6 {
		t.Errorf("%d changes are kept, want 6; %v", said, err)
	}
}

func TestHowMailIsSent(t *testing.T) {
	s := server(t)
	b := s.as(owner)
	p := b.get("/messages/setup")
	p.want(http.StatusOK)
	if !strings.Contains(p.body, "No mail server is set") || p.Find("[name=from]").AttrOr("value", "") != "20:00" || p.Find("[name=until]").AttrOr("value", "") != "08:00" {
		t.Errorf("shown is:\n%s", p.body)
	}
	b.post("/messages/setup", "from", "quiet", "until", "07:00", "version", "0").want(http.StatusUnprocessableEntity)
	b.post("/messages/setup", "from", "21:30", "until", "07:00", "version", "0").want(http.StatusSeeOther)
	b.post("/messages/setup", "from", "21:30", "until", "06:00", "version", "0").want(http.StatusConflict)
	q, err := message.GetQuiet(t.Context(), s.pool)
	if err != nil || q != (message.Quiet{FromMin: 21*60 + 30, UntilMin: 7 * 60, Version: 1}) {
		t.Errorf("kept is %+v, %v", q, err)
	}
	refused := b.post("/messages/setup/test", "to", "me@example.org")
	refused.want(http.StatusUnprocessableEntity)
	if !strings.Contains(refused.body, "No mail server is set, so nothing can be sent.") || refused.Find("[name=to]").AttrOr("value", "") != "me@example.org" {
		t.Error("a test without a mail server does not say so beside its field")
	}
	s.write(func(tx pgx.Tx, by history.By) error {
		id, err := message.PostTest(context.Background(), tx, by, "me@example.org")
		if err == nil {
			_, err = tx.Exec(context.Background(), "update message set state = 'failed', why = $2, tries = 1 where id = $1", id, message.SignIn)
		}
		return err
	})
	if p := b.get("/messages/setup"); !strings.Contains(p.Find("#test-part").Text(), "The mail server refused the user or the password.") {
		t.Errorf("of the test it says %q", p.Find("#test-part").Text())
	}
}
