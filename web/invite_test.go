package web

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/history"
	"damperdesk/internal/message"
)

// The due list says what came of inviting: a call where nobody can be written to,
// a mail once they can, and nothing where they were invited before.
func TestInvitingSaysWhatCameOfIt(t *testing.T) {
	c := lastYear(t)
	b, unit := c.as(desk), strings.TrimPrefix(unitURL(c), "/units/")
	invites := func(says string) {
		t.Helper()
		p := b.post("/due/invite", "invite", unit+":lower-leg")
		p.want(http.StatusSeeOther)
		b.get(p.to).want(http.StatusOK).wantWords("main", says)
	}
	invites("No mail goes out. Customers to ring: 1")
	c.write(func(tx pgx.Tx, by history.By) error {
		var customer int64
		err := tx.QueryRow(t.Context(), "update customer set mail = 'odette@example.com' where id = (select customer_id from unit where id = $1::text::bigint) returning id", unit).Scan(&customer)
		if err != nil {
			return err
		}
		return message.Say(t.Context(), tx, by, customer, message.DueSoon, true, message.OnPage)
	})
	invites("Invitations on their way: 1.")
	invites("Nobody was invited")
	b.post(unitURL(c)+"/put-off", "kind", "elsewhere").want(http.StatusSeeOther)
	b.post("/due/invite", "invite", unit+":lower-leg").want(http.StatusConflict)
}

// Two forks of one customer are one letter, and the page of one that nobody was
// sent has the line to read out with everything in it.
func TestAnInvitationToRingHasItsLine(t *testing.T) {
	c := lastYear(t)
	b, unit := c.as(desk), strings.TrimPrefix(unitURL(c), "/units/")
	var other string
	c.write(func(tx pgx.Tx, by history.By) error {
		return tx.QueryRow(t.Context(), `with twin as (insert into unit (kind, customer_id, model_words) select kind, customer_id, 'Kelp 120' from unit where id = $1::text::bigint returning id)
			select id::text from twin`, unit).Scan(&other)
	})
	b.post("/units/"+other+"/happened", "what", "jet wash").want(http.StatusSeeOther)
	p := b.post("/due/invite", "invite", unit+":lower-leg", "invite", other+":lower-leg")
	p.want(http.StatusSeeOther)
	b.get(p.to).want(http.StatusOK).wantWords("main", "Customers to ring: 1,")
	list := b.get("/messages?show=not-sent").want(http.StatusOK).wantWords("main", "unit, and 1 more service")
	path, _ := list.Find(`main th a[href^="/messages/"]`).First().Attr("href")
	page := b.get(path).want(http.StatusOK).wantWords("main", "It is time again for a service of your Halvard Sill and Kelp 120: lower-leg service.").
		wantWords("main", "Halvard Sill: lower-leg service again after 50 hours of riding or by 13 October")
	if sms, _ := page.Find(`a[href^="sms:"]`).Attr("href"); !strings.HasPrefix(sms, "sms:07700900118?body=") || !strings.Contains(sms, "time%20again") {
		t.Errorf("the text message is %q", sms)
	}
	told := b.post(path + "/told").want(http.StatusSeeOther)
	b.get(told.to).want(http.StatusOK).wantWords("main", "Told by voice by")
	b.get("/due").want(http.StatusOK)
}

// One press invites for a hundred services, each as it would be by itself.
func TestAHundredAreInvitedAtOnce(t *testing.T) {
	c := manyDue(t, 102)
	b, fields := c.as(desk), []string(nil)
	for _, unit := range c.dueUnits() {
		fields = append(fields, "invite", fmt.Sprint(unit, ":lower-leg"))
	}
	b.post(fmt.Sprint("/units/", c.dueUnits()[0], "/put-off"), "kind", "elsewhere").want(http.StatusSeeOther)
	b.post("/due/invite", fields...).want(http.StatusConflict).wantWords("main", "at most 100")
	b.post("/due/invite", fields[:200]...).wantTo("/due?done=invited&mails=79&rung=20")
	if n := c.count("select count(distinct unit_id) from message where kind = 'due soon'"); n != 99 {
		t.Errorf("%d units were invited, want the 99 that are not put off", n)
	}
}
