package web

import (
	"context"
	"net/http"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/partslist"
	"damperdesk/internal/stock"
)

// keptItem puts an item on the shelf in an amount.
func (s *site) keptItem(code string, kind stock.Sort, measure stock.Measure, amount int64) (id int64) {
	s.t.Helper()
	s.write(func(tx pgx.Tx, by history.By) (err error) {
		by.Roles = []string{owner}
		id, err = stock.Add(context.Background(), tx, by, stock.Details{Code: code, Name: code + ", invented", Kind: kind, Measure: measure, Place: "A3"})
		if err == nil && amount > 0 {
			_, err = stock.Post(context.Background(), tx, by, stock.Posting{Item: id, Kind: stock.Receive, Qty: amount, Cost: 500})
		}
		return err
	})
	return id
}

func (s *site) needOf(jobID, item int64) (need partslist.Need) {
	s.t.Helper()
	needs, err := partslist.OfJobs(context.Background(), s.pool, jobID)
	if err != nil {
		s.t.Fatal(err)
	}
	for _, n := range needs {
		if n.ItemID == item {
			return n
		}
	}
	return need
}

func TestAPartsListIsKeptAndSetsAside(t *testing.T) {
	s := server(t)
	c := s.counter()
	foams := s.keptItem("FR-35", "foam ring", stock.Each, 5)
	b, list := s.as(mechanic), "/services/lower-leg/parts"
	b.get("/parts/lists").want(http.StatusOK).wantWords("#content", "nothing listed")
	b.get(list).want(http.StatusOK).wantWords("#content", "Nothing is listed yet")
	b.post(list, "item", "nothing such", "qty", "2").want(http.StatusUnprocessableEntity).wrong("item")
	p := b.post(list, "item", "fr 35", "qty", "two", "step", "W4", "must", "yes").want(http.StatusUnprocessableEntity)
	p.wrong("qty")
	if got := p.Find("#f-item").AttrOr("value", ""); got != "fr 35" {
		t.Errorf("the item is shown as %q, want as it was typed", got)
	}
	b.post(list, "item", "fr 35", "qty", "2", "step", "W4", "must", "yes").wantTo(list + "?done=put")
	b.get(list).want(http.StatusOK).wantWords("#content table", "FR-35, invented").wantWords("#content table", "the work waits")
	b.get("/parts/lists").wantWords("#content", "1 item")

	j := c.benchJob()
	path := "/jobs/" + strconv.FormatInt(j.ID, 10)
	if n := s.needOf(j.ID, foams); n.Aside != 2 || !n.Must {
		t.Fatalf("set aside: %+v", n)
	}
	b.get(path).want(http.StatusOK).wantWords("#standing-part", "Parts: 1 set aside")
	b.get(path+"/parts").want(http.StatusOK).wantWords("#content table", "2 pieces set aside")
	line := b.get(list).Find("#content button[name=line]").AttrOr("value", "")
	b.post(list+"/off", "line", line).wantTo(list + "?done=off")
	b.get(list).wantWords("#content", "Nothing is listed yet")
}

func TestPartsOfAJobAreChosen(t *testing.T) {
	s := server(t)
	c := s.counter()
	foams, other := s.keptItem("FR-35", "foam ring", stock.Each, 5), s.keptItem("FR-36", "foam ring", stock.Each, 1)
	j := c.benchJob()
	b := s.as(mechanic)
	path := "/jobs/" + strconv.FormatInt(j.ID, 10) + "/parts"
	b.get(path).want(http.StatusOK).wantWords("#content", "Nothing is listed for its services")
	b.post(path, "item", "FR-35", "qty", "0").want(http.StatusUnprocessableEntity).wrong("qty")
	b.post(path, "item", "FR-35", "qty", "2", "step", "W4", "must", "yes").wantTo(path + "?done=add")
	b.post(path, "item", "FR-35", "qty", "1", "step", "W4").want(http.StatusUnprocessableEntity).wrong("item")
	n := s.needOf(j.ID, foams)
	at := path + "/" + strconv.FormatInt(n.ID, 10)
	version := func() string { return strconv.Itoa(s.needOf(j.ID, foams).Version) }
	b.get(at).want(http.StatusOK).wantWords("#content", "the customer’s own")
	b.post(at, "version", version(), "choice", "kept", "qty", "2", "item", "FR-35").want(http.StatusUnprocessableEntity).wrong("condition")
	b.post(at, "version", version(), "choice", "kept", "condition", "soft and whole", "qty", "2", "item", "FR-35").wantTo(path + "?done=keep")
	if n := s.needOf(j.ID, foams); n.Aside != 0 || n.Choice != partslist.Kept {
		t.Errorf("kept: %+v", n)
	}
	b.post(at, "version", "1", "choice", "new", "qty", "2", "item", "FR-36").want(http.StatusConflict)
	b.post(at, "version", version(), "choice", "new", "qty", "2", "item", "FR-36").wantTo(path + "?done=keep")
	if n := s.needOf(j.ID, other); n.Aside != 1 || n.Open() != 1 || n.InsteadOf != "FR-35" {
		t.Errorf("another in its place: %+v", n)
	}
	b.get(path).wantWords("#content", "1 piece set aside, 1 piece lacking").wantWords("#content", "The job waits on parts")
	b.post(path+"/tray", "tray", " ").want(http.StatusUnprocessableEntity).wrong("tray")
	b.post(path+"/tray", "tray", "tray 4").wantTo(path + "?done=tray")
	b.get(path).wantWords("#content", "its own lie in tray 4")
	b.post(at+"/off", "version", strconv.Itoa(s.needOf(j.ID, other).Version)).wantTo(path + "?done=off")
	if n := s.needOf(j.ID, other); n.ID != 0 {
		t.Errorf("it is still there: %+v", n)
	}
	if p := b.get("/jobs/" + strconv.FormatInt(j.ID, 10)); p.Find("#standing-part .waits").Length() != 0 {
		t.Error("the job waits for what it needs no more")
	}
}

func TestWhatNoStepUsesIsUsedByHand(t *testing.T) {
	s := server(t)
	c := s.counter()
	grease := s.keptItem("GR-1", stock.Grease, stock.Mass, 400_000)
	j := c.benchJob()
	b := s.as(mechanic)
	path := "/jobs/" + strconv.FormatInt(j.ID, 10) + "/parts"
	b.post(path, "item", "GR-1", "qty", "5 g").wantTo(path + "?done=add")
	n := s.needOf(j.ID, grease)
	b.post(path+"/"+strconv.FormatInt(n.ID, 10)+"/use", "version", strconv.Itoa(n.Version)).wantTo(path + "?done=use")
	b.get(path).wantWords("#content table", "5 g used").wantWords("#moved + .rows", "5 g used GR-1, invented")
}

// Two pieces at 4.50 and 250 mL of a fluid at 40.00 a litre: 9.00 and 10.00
// (arithmetic).
func TestPartsThatWereUsedGoOnTheBillOnce(t *testing.T) {
	c := pricedDesk(t)
	c.post("/drop-off", c.fields()...).want(http.StatusSeeOther)
	s, j := c.site, c.only()
	var items []int64
	s.write(func(tx pgx.Tx, by history.By) error {
		by.Roles = []string{owner}
		for _, d := range []struct {
			stock.Details
			price, qty int64
		}{
			{stock.Details{Code: "P1", Name: "Pad", Kind: "other part", Measure: stock.Each}, 450, 2},
			{stock.Details{Code: "F1", Name: "Bath oil", Kind: stock.Fluid, Measure: stock.Volume}, 4000, 250_000},
			{stock.Details{Code: "P2", Name: "Unsold", Kind: "other part", Measure: stock.Each}, 0, 1},
		} {
			if d.price > 0 {
				d.SaleMinor = &d.price
			}
			id, err := stock.Add(context.Background(), tx, by, d.Details)
			if err == nil {
				_, err = stock.Post(context.Background(), tx, by, stock.Posting{Item: id, Kind: stock.Receive, Qty: 10 * d.qty, Cost: 500})
			}
			if err == nil {
				err = partslist.Add(context.Background(), tx, by, j.ID, partslist.Want{ItemID: id, Qty: d.qty})
			}
			if err != nil {
				return err
			}
			items = append(items, id)
		}
		return nil
	})
	b, parts := s.as(desk, mechanic), "/jobs/"+strconv.FormatInt(j.ID, 10)+"/parts/"
	for _, item := range items {
		n := s.needOf(j.ID, item)
		b.post(parts+strconv.FormatInt(n.ID, 10)+"/use", "version", strconv.Itoa(n.Version)).want(http.StatusSeeOther)
	}
	visit := "/visits/" + strconv.FormatInt(j.VisitID, 10)
	b.get(visit).want(http.StatusOK).wantWords("#content", "2 pieces Pad, £9.00").wantWords("#content", "Bath oil, 250 mL, £10.00")
	b.post(visit + "/bill/parts").wantTo(visit + "?done=parts")
	p := b.get(visit).wantWords(".bill", "£9.00").wantWords(".bill", "£10.00")
	if n := p.Find(`form[action$="/bill/parts"]`).Length(); n != 0 {
		t.Error("parts are offered that are on the bill")
	}
	b.post(visit + "/bill/parts").want(http.StatusConflict)

	// They cost 50 pence each: 10 times as much was received for £5.00.
	today := dbtest.Now.Format(time.DateOnly)
	s.as(owner).get("/parts/review?p=pick&from="+today+"&to="+today).want(http.StatusOK).
		wantWords("#margin ~ table", "Billed for parts before tax£19.00").wantWords("#margin ~ table", "Margin of what was billed£18.00")
}

// What the shelf lacks is said before the fork is taken in, and the day that is
// proposed waits for it: ten days from today.
func TestTheDropOffSaysWhatIsLacking(t *testing.T) {
	c := pricedDesk(t)
	item := c.keptItem("SEAL-1", "seal set", stock.Each, 1)
	c.write(func(tx pgx.Tx, by history.By) error {
		by.Roles = []string{owner}
		from, err := stock.AddSupplier(context.Background(), tx, by, stock.Supplier{Name: "Harbour Parts", LeadDays: 10})
		if err == nil {
			err = stock.PutSource(context.Background(), tx, by, stock.Source{ItemID: item, SupplierID: from, Pack: 1})
		}
		if err == nil {
			err = partslist.Put(context.Background(), tx, by, partslist.Line{Service: "lower-leg", ItemID: item, Step: "W4", Qty: 1, Must: true})
		}
		return err
	})
	said := func(units string) *page {
		fields := []string{"units", units}
		for _, u := range []string{"unit0", "unit1"}[:len(units)] {
			fields = append(fields, u+".services", "lower-leg")
		}
		if units == "2" {
			fields = append(fields, "unit1.services", "lower-leg")
		}
		return c.get("/drop-off/promise?" + values(fields...)).want(200)
	}
	if words := said("1").words("body"); strings.Contains(words, "lacking") {
		t.Errorf("one is there for one fork, and it says %q", words)
	}
	p := said("2").wantWords("body", "lacking: 1 piece SEAL-1, invented; ordered today it can be here on")
	day := p.Find("input[name=proposed]").AttrOr("value", "")
	if at, err := time.Parse(time.RFC3339, day); err != nil || at.Before(dbtest.Now.AddDate(0, 0, 9)) {
		t.Errorf("proposed is %q, want ten days from now", day)
	}
}

// A delivery is set aside for the job that waits, and ends its wait.
func TestADeliveryEndsTheWaitOfAJob(t *testing.T) {
	s := trading(t)
	o := s.sent()
	j := s.counter().benchJob()
	path := "/jobs/" + strconv.FormatInt(j.ID, 10)
	b := s.as(desk, mechanic)
	b.post(path+"/parts", "item", "W-35", "qty", "2", "must", "yes").wantTo(path + "/parts?done=add")
	b.get(path).wantWords("#standing-part .waits", "waiting on parts").wantWords("#standing-part .waits", "expected "+o.ExpectedOn.Format("2 January"))
	b.get(orderPath(o.ID, "")).wantWords(".head", "1 job waiting for what is on it").wantWords(".head", "Look at the promises")
	u := unpacking{b, orderPath(o.ID, "") + "/receive"}
	u.send("scan", "scan", "W-35").want(http.StatusSeeOther)
	u.send("shelve").wantTo(orderPath(o.ID, "shelved"))
	if n := b.get(path).want(http.StatusOK).Find("#standing-part .waits").Length(); n != 0 {
		t.Error("it waits still")
	}
	b.get(path+"/parts").wantWords("#content table", "2 pieces set aside")
	if n := b.get(orderPath(o.ID, "")).Find(`.head a[href="/promises"]`).Length(); n != 0 {
		t.Error("the order still says that a job waits")
	}
}
