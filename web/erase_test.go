package web

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bill"
	"damperdesk/internal/customer"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

// An open job and money owed come first; then the word is typed, and nothing says
// who they were.
func TestAnOwnerErasesACustomer(t *testing.T) {
	c := newFrontDesk(t)
	boss := c.as(owner)
	page := "/customers/" + c.id(c.customer)
	visit := c.post("/drop-off", c.fields("unit0.complaint", "my husband dropped it")...).want(303).to
	c.get(page).want(200)
	if c.get(page).Find(`a[href$="/erase"]`).Length() != 0 {
		t.Error("the desk is offered to erase")
	}
	boss.get(page+"/erase").want(200).wantWords("section:has(#first)", "Ticket 1001 is open")
	boss.post(page+"/erase", "confirm", "ERASE").want(409).wantWords("main", "cannot be erased yet")

	var jobs []job.BoardRow
	c.write(func(tx pgx.Tx, by history.By) (err error) {
		if jobs, err = job.Board(context.Background(), tx, job.BoardFilter{}); err != nil {
			return err
		}
		if err := bill.SetTaxRate(context.Background(), tx, by, bill.TaxRate{Name: "VAT", BP: 2000}); err != nil {
			return err
		}
		if err := bill.AddLine(context.Background(), tx, by, jobs[0].VisitID, bill.NewLine{Kind: "other", Words: "a look", QtyMilli: 1000, UnitMinor: 1000, TaxCode: "A"}); err != nil {
			return err
		}
		return job.Cancel(context.Background(), tx, by, jobs[0].ID, "returned undone", "she changed her mind")
	})
	boss.get(page+"/erase").want(200).wantWords("section:has(#first)", "The customer owes £12.00")
	c.write(func(tx pgx.Tx, by history.By) error {
		return bill.Pay(context.Background(), tx, by, jobs[0].VisitID, bill.NewPayment{Kind: "cash", Minor: 1200})
	})
	p := boss.get(page + "/erase").want(200)
	p.wantWords("section:has(#goes)", "Words of 1 visit")
	p.wantWords("section:has(#stays)", "1 unit with serial")
	p = boss.post(page+"/erase", "confirm", "yes").want(422)
	if p.wrong("confirm") == "" || p.value("confirm") != "yes" {
		t.Errorf("beside the word stands %q, in it %q", p.wrong("confirm"), p.value("confirm"))
	}
	intent := uuid.NewString()
	for range 2 {
		boss.post(page+"/erase", "confirm", "erase", "intent", intent).wantTo(page + "?done=erased")
	}
	p = boss.get(page + "?done=erased").want(200)
	p.wantWords("h1", "erased customer "+c.id(c.customer))
	p.wantWords("main", "Who they were is not kept")
	p.wantWords("main", "Tindra Lode")
	p.wantWords("#history, section", "customer erased")
	if p.Find(`a[href^="/drop-off"]`).Length() > 1 || p.Find(`form[action$="/export"]`).Length() != 0 {
		t.Error("somebody who was erased can be taken in, or given a file")
	}
	for _, path := range []string{visit, page, "/jobs/" + c.id(jobs[0].ID), "/find?q=marsh", "/units/" + c.id(c.fork)} {
		if body := boss.get(path).body; strings.Contains(body, "Odette") || strings.Contains(body, "Marsh") || strings.Contains(body, "900118") || strings.Contains(body, "husband") || strings.Contains(body, "her mind") {
			t.Errorf("%s speaks of them still", path)
		}
	}
	boss.get(page + "/erase").wantTo(page)
	c.post("/drop-off", c.fields()...).want(409)
	boss.post(page + "/export").want(409)
}

// The file has what is kept, and the history says who took it; a second press
// sends it again and says no more.
func TestACustomerIsGivenTheirFile(t *testing.T) {
	c := newFrontDesk(t)
	c.post("/drop-off", c.fields("unit0.complaint", "sticks when it is cold")...).want(303)
	page := "/customers/" + c.id(c.customer)
	intent := c.get(page).want(200).intent(page + "/export")
	for range 2 {
		p := c.post(page+"/export", "intent", intent).want(200)
		z, err := zip.NewReader(bytes.NewReader([]byte(p.body)), int64(len(p.body)))
		if err != nil {
			t.Fatal(err)
		}
		in, err := z.Open("data.json")
		if err != nil {
			t.Fatal(err)
		}
		var file struct {
			Format string
			Data   map[string][]map[string]any
		}
		if err := json.NewDecoder(in).Decode(&file); err != nil {
			t.Fatal(err)
		}
		if file.Format != "damperdesk customer 1" || file.Data["details"][0]["name"] != "Odette Marsh" || file.Data["jobs"][0]["complaint"] != "sticks when it is cold" ||
			file.Data["units"][0]["serial"] != "TL-20418" || len(file.Data["bikes"]) != 0 {
			t.Errorf("the file has %+v", file)
		}
	}
	var n int
	if err := c.pool.QueryRow(context.Background(), "select count(*) from event where kind = 'customer exported'").Scan(&n); err != nil || n != 1 {
		t.Errorf("taken %d times, %v", n, err)
	}
	c.post("/customers/999999/export").want(404)
}

// The unit goes over with its book, the visit stays with whoever it was written
// for, and it can be sold back.
func TestAUnitIsSoldAndSoldBack(t *testing.T) {
	c := newFrontDesk(t)
	unit, odette := "/units/"+c.id(c.fork), "/customers/"+c.id(c.customer)
	c.post("/drop-off", c.fields()...).want(303)
	c.get(unit+"/sell").want(200).wantWords("main", "end that first")
	c.post(unit+"/sell", "customer", "unknown").want(409)
	c.write(func(tx pgx.Tx, by history.By) error {
		rows, err := job.Board(context.Background(), tx, job.BoardFilter{})
		if err != nil {
			return err
		}
		return job.Cancel(context.Background(), tx, by, rows[0].ID, "returned undone", "")
	})
	p := c.post(unit+"/sell", "customer", "new", "name", "", "phone", "12").want(422)
	if p.wrong("name") == "" || p.wrong("phone") == "" || p.value("phone") != "12" {
		t.Errorf("beside the name %q, the phone %q", p.wrong("name"), p.wrong("phone"))
	}
	c.post(unit+"/sell", "customer", "somebody").want(422)
	c.post(unit+"/sell", "customer", "new", "name", "Noor Ashby", "phone", "07700 900733").wantTo(unit + "?done=sold")
	p = c.get(unit).want(200)
	p.wantWords(".head", "Noor Ashby")
	p.wantWords("section:has(#owners)", "from Odette Marsh to Noor Ashbysold on 13 October")
	p.wantWords("section:has(#closed)", "Lower-leg service")
	c.get(odette).want(200).wantWords("section:has(#sold)", "Tindra Lodesold on 13 October").wantWords("section:has(#closed)", "Lower-leg service")

	p = c.get(unit + "/sell?who=marsh").want(200)
	p.wantWords("fieldset", "Odette Marsh 07700 900118")
	c.post(unit+"/sell", "customer", c.id(c.customer)).wantTo(unit + "?done=sold")
	if c.get(odette).want(200).Find("#sold").Length() != 0 {
		t.Error("what was sold back is still said to be sold")
	}
	c.post(unit+"/sell", "customer", c.id(c.customer)).want(422)
	c.post(unit+"/sell", "customer", "unknown").wantTo(unit + "?done=sold")
	c.get(unit).want(200).wantWords(".head", "Unknown owner of Tindra Lode, serial TL-20418")
	c.get("/units/999999/sell").want(404)
}

// A link of the seller's that is being made while the unit is sold ends as well.
func TestNoLinkOutlivesASale(t *testing.T) {
	c, ctx := newFrontDesk(t), context.Background()
	making, err := c.pool.Begin(ctx)
	if err != nil {
		t.Fatal(err)
	}
	defer making.Rollback(ctx)
	for _, sql := range []string{"select from unit where id = $1 for no key update", `insert into link (token_hash, purpose, unit_id, made_at, expires_at)
		select sha256('a link'), 'unit', $1::bigint, now(), now() + interval '1 year'`} {
		if _, err := making.Exec(ctx, sql, c.fork); err != nil {
			t.Fatal(err)
		}
	}
	made := make(chan error)
	go func() {
		var waits bool
		for range 50 {
			time.Sleep(20 * time.Millisecond)
			err := c.pool.QueryRow(ctx, "select exists (select from pg_stat_activity where datname = current_database() and wait_event_type = 'Lock')").Scan(&waits)
			if err != nil || waits {
				break
			}
		}
		made <- making.Commit(ctx)
	}()
	c.post("/units/"+c.id(c.fork)+"/sell", "customer", "new", "name", "Noor Ashby").want(303)
	if err := <-made; err != nil {
		t.Fatal(err)
	}
	var live int
	if err := c.pool.QueryRow(ctx, "select count(*) from link where unit_id = $1 and revoked_at is null", c.fork).Scan(&live); err != nil || live != 0 {
		t.Errorf("%d links outlive the sale, %v", live, err)
	}
}

func TestHowLongCustomersAreKept(t *testing.T) {
	c := newFrontDesk(t)
	boss := c.as(owner)
	boss.get("/shop").want(200).wantWords("main", "never by itself")
	c.write(func(tx pgx.Tx, by history.By) error {
		by.At = by.At.AddDate(-6, 0, 0)
		_, err := customer.Add(context.Background(), tx, by, customer.Details{Name: "Long Gone"})
		return err
	})
	p := boss.get("/shop/retention").want(200)
	p.wantWords("table", "5 years 17 years 0")
	version := p.value("version")
	for _, typed := range []string{"0", "31", "five", "1.5"} {
		if p := boss.post("/shop/retention", "version", version, "years", typed).want(422); p.wrong("years") == "" || p.value("years") != typed {
			t.Errorf("%s: beside it %q", typed, p.wrong("years"))
		}
	}
	boss.post("/shop/retention", "version", version, "years", "6").wantTo("/shop?done=retention")
	boss.get("/shop/retention").want(200).wantWords("table", "6 years as it is set07 years 0")
	boss.get("/shop").want(200).wantWords("main", "6 years after their last visit")
	boss.post("/shop/retention", "version", version, "years", "5").want(409)
	boss.post("/shop/retention", "version", boss.get("/shop/retention").value("version"), "years", "").wantTo("/shop?done=retention")
}
