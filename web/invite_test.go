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
	invites("No mail goes out. To be rung about: 1")
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
