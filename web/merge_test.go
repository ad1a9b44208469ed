package web

import (
	"context"
	"net/url"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

func (c frontDesk) addCustomer(d customer.Details) (id int64) {
	c.t.Helper()
	c.write(func(tx pgx.Tx, by history.By) (err error) {
		id, err = customer.Add(context.Background(), tx, by, d)
		return err
	})
	return id
}

func TestSomebodyTypedAsNewIsOfferedWhoTheyMayBe(t *testing.T) {
	c := newFrontDesk(t)
	p := c.get("/drop-off/alike?name=odette+mrash&phone=&mail=").want(200)
	p.wantWords("fieldset", "Odette Marsh a name close to it, 07700 900118")
	p = c.get("/drop-off/alike?" + url.Values{"name": {"Noor"}, "phone": {"+44 (0)7700 900-118"}}.Encode()).want(200)
	p.wantWords("fieldset", "Odette Marsh the same phone number")
	if p := c.get("/drop-off/alike?name=Noor+Ashby&phone=07700+900733").want(200); p.Find("fieldset").Length() != 0 {
		t.Errorf("somebody nobody is like brings %q", p.words("body"))
	}
	fields := c.fields("customer", "new", "name", "Odette Marsh", "unit0.unit", "new", "unit0.kind", "fork", "unit0.words", "grey fork")
	p = c.post("/drop-off", fields...).want(422)
	if got := p.wrong("somebodyelse"); !strings.Contains(got, "say that it is somebody else") {
		t.Errorf("beside the choice stands %q", got)
	}
	p.wantWords("#alike", "Odette Marsh the same name")
	if p.value("name") != "Odette Marsh" {
		t.Errorf("the name that was typed is %q", p.value("name"))
	}
	p = c.post("/drop-off", append(fields, "somebodyelse", "yes")...).want(303)
	p = c.get(p.to).want(200)
	p.wantWords("main", "Visit of Odette Marsh")
	var n int
	if err := c.pool.QueryRow(context.Background(), "select count(*) from customer where name = 'Odette Marsh'").Scan(&n); err != nil || n != 2 {
		t.Errorf("%d of that name, %v; want two people", n, err)
	}
}

func TestTwoCustomersBecomeOne(t *testing.T) {
	c := newFrontDesk(t)
	p := c.post("/drop-off", c.fields()...).want(303)
	visit := p.to
	other := c.addCustomer(customer.Details{Name: "Odette Marsch", Phone: "07700 900555", Mail: "odette@example.com"})
	p = c.get("/customers/" + c.id(other)).want(200)
	p.wantWords("section:has(#alike-title)", "Odette Marsh a name close to it, 07700 900118")
	p = c.get("/customers/" + c.id(other) + "/merge?with=" + c.id(c.customer)).want(200)
	p.wantWords("main", "They have a name close to it.")
	p.wantWords("main", "Its unit goes over to Odette Marsch")
	p = c.post("/customers/"+c.id(other)+"/merge", "with", c.id(c.customer), "version", "1", "other", "1", "name", "theirs", "phone", "ours", "mail", "ours").want(303)
	p = c.get(p.to).want(200)
	p.wantWords("h1", "Odette Marsh")
	p.wantWords("main", "07700 900555")
	p.wantWords("main", "Tindra Lode")
	p.wantWords("section:has(#merged-title)", "Odette Marsh 07700 900118")
	if p := c.get("/customers/" + c.id(c.customer)).want(303); p.to != "/customers/"+c.id(other) {
		t.Errorf("the merged one leads to %q", p.to)
	}
	p = c.get(visit).want(200)
	if href, _ := p.Find("h1 a").Attr("href"); href != "/customers/"+c.id(other) {
		t.Errorf("the visit names %q as whose it is", href)
	}
	p.wantWords("main", "07700 900555")
	rows, err := job.Board(context.Background(), c.pool, job.BoardFilter{})
	if err != nil || len(rows) != 1 || rows[0].CustomerID != other || rows[0].Customer != "Odette Marsh" {
		t.Errorf("the board has %+v, %v", rows, err)
	}
	c.post("/customers/"+c.id(other)+"/merge", "with", c.id(c.customer), "version", "9", "other", "9", "name", "ours").want(409)
	// A drop-off that was open while they were merged.
	c.write(func(tx pgx.Tx, by history.By) error {
		return job.Cancel(context.Background(), tx, by, rows[0].ID, "returned undone", "")
	})
	c.post("/drop-off", c.fields()...).want(303)

	p = c.post("/customers/"+c.id(other)+"/part", "other", c.id(c.customer)).want(303)
	c.get(p.to).want(200).wantWords("main", "They are two again.")
	c.get("/customers/"+c.id(c.customer)).want(200).wantWords("main", "Tindra Lode")
	c.get(visit).want(200).wantWords("h1", "Odette Marsh")
	c.post("/customers/"+c.id(other)+"/part", "other", c.id(c.customer)).want(409)
}

func TestACustomerIsNotMergedWithThemselves(t *testing.T) {
	c := newFrontDesk(t)
	c.get("/customers/"+c.id(c.customer)+"/merge?with="+c.id(c.customer)).want(200).wantWords("main", "The other one")
	c.post("/customers/"+c.id(c.customer)+"/merge", "with", c.id(c.customer), "version", "1", "other", "1").want(422)
	c.get("/customers/"+c.id(c.customer)+"/merge?who=nobody").want(200).wantWords("main", "Nobody else fits that.")
	c.get("/customers/999999/merge").want(404)
}

// What is chosen of each field is what they have then, the address with it.
func TestAMergeKeepsTheAddressThatWasChosen(t *testing.T) {
	c := newFrontDesk(t)
	const ours, theirs = "3 Reedbank, Otterham", "9 Weir Lane, Otterham"
	for side, want := range map[string]string{"ours": ours, "theirs": theirs} {
		keep := c.addCustomer(customer.Details{Name: "Tindra Ash", Phone: "07700 900555", Address: ours})
		other := c.addCustomer(customer.Details{Name: "Tindra Ashe", Phone: "07700 900556", Address: theirs})
		c.post("/customers/"+c.id(keep)+"/merge", "with", c.id(other), "version", "1", "other", "1", "name", "ours", "phone", "ours", "mail", "ours", "address", side).want(303)
		got, err := customer.Get(context.Background(), c.pool, keep)
		if err != nil || got.Address != want || got.Phone != "07700 900555" {
			t.Errorf("with the address of %s they are at %q, %q, %v; want %q", side, got.Address, got.Phone, err, want)
		}
	}
}
