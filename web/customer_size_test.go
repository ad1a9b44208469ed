package web

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/tool"
)

// wantSmall fails the test where the page there takes more than 30 kB packed, on its
// way from the server.
func (b *browser) wantSmall(path, name string) {
	b.t.Helper()
	req, err := http.NewRequest(http.MethodGet, b.url+path, nil)
	if err != nil {
		b.t.Fatal(err)
	}
	req.Header.Set("Accept-Encoding", "gzip") // asked for so, it stays packed
	answer, err := http.DefaultClient.Do(req)
	if err != nil {
		b.t.Fatal(err)
	}
	defer answer.Body.Close()
	n, err := io.Copy(io.Discard, answer.Body)
	if err != nil || answer.StatusCode != http.StatusOK || answer.Header.Get("Content-Encoding") != "gzip" {
		b.t.Fatalf("%s: %d, packed as %q, %v", name, answer.StatusCode, answer.Header.Get("Content-Encoding"), err)
	}
	b.t.Logf("%s: %d bytes packed, %d unpacked", name, n, len(b.get(path).body))
	if n > 30_000 {
		b.t.Errorf("%s: %d bytes packed, want at most 30,000", name, n)
	}
}

// sixForks are taken in for a service each.
func (c counter) sixForks() (jobs []job.Job) {
	c.t.Helper()
	model := c.sheetOf()
	var visit int64
	c.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) error {
		id, err := tool.Add(ctx, tx, by(), tool.Tool{Name: "Wrench 3", Kind: "click wrench", RangeMinNm: 2, RangeMaxNm: 15, Unit: "N·m", Graduation: 0.1})
		if err != nil {
			return err
		}
		return tool.Calibrate(ctx, tx, by(), id, tool.NewCalibration{DoneOn: dbtest.Now.AddDate(0, -3, 0), Passed: true})
	}, owner)
	c.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) (err error) {
		form := job.DropOff{CustomerID: c.customer, PromisedAt: dbtest.Now.Add(48 * time.Hour), Currency: "GBP"}
		for i := range 6 {
			form.Units = append(form.Units, job.DropOffUnit{
				NewUnit:  customer.UnitDetails{Kind: "fork", ModelID: model, Serial: fmt.Sprintf("SL-%d77%d", i*i, i)},
				Services: []string{"lower-leg"}, Symptoms: []string{job.JustDue}, Complaint: fmt.Sprintf("dives under braking, notch %d", i),
			})
		}
		visit, err = job.TakeIn(ctx, tx, by(), form)
		return err
	}, desk)
	v, err := job.Visit(context.Background(), c.pool, visit)
	if err != nil {
		c.t.Fatal(err)
	}
	return v.Jobs
}

func TestThePageOfSixServicesIsSmall(t *testing.T) {
	c := server(t).counter()
	jobs := c.sixForks()
	for _, j := range jobs {
		c.fromStartToReady(j)
		for i := range 4 {
			c.give(j, 200+10*i)
		}
	}
	c.anybody().wantSmall(c.address(jobs[0]), "a visit of six services")
}

func TestABookOfFortyServicesIsSmallOnItsWay(t *testing.T) {
	c := newFrontDesk(t)
	content, err := worn().Book.File(dbtest.Now).JSON()
	if err != nil {
		t.Fatal(err)
	}
	content = bytes.ReplaceAll(content, []byte("TL-48 211"), []byte(c.digit("select serial from unit where id = $1", c.fork)))
	plan := c.postFiles("/units/read-book", []attached{{"file", content}}, "unit", c.id(c.fork)).want(http.StatusSeeOther).to
	c.post(plan+"/apply", "shown", c.id(c.fork)).want(http.StatusSeeOther)
	at := c.bookPath()
	if n := c.anybody().get(at).Find("#book-services ~ ol > li").Length(); n != 40 {
		t.Fatalf("the book has %d services, want 40", n)
	}
	c.anybody().wantSmall(at, "a book of forty services")
}
