package web

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/bill"
	"damperdesk/internal/book"
	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/goahead"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
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

// sixForks are taken in for a full service each, in words of their own.
func (c counter) sixForks() (jobs []job.Job) {
	c.t.Helper()
	c.smallWrench()
	c.largeWrench()
	model := c.sheetOf(
		spec.Value{Key: "damper fill", NominalSI: 140e-6, PlusSI: 5e-6, ShownUnit: quantity.Millilitre, Fluid: "damper fluid"},
		spec.Value{Key: "damper seal head", NominalSI: 12, PlusSI: 2, ShownUnit: quantity.NewtonMetre},
		spec.Value{Key: "damper cap", NominalSI: 24, PlusSI: 2, ShownUnit: quantity.NewtonMetre})
	var visit int64
	c.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) (err error) {
		form := job.DropOff{CustomerID: c.customer, PromisedAt: dbtest.Now.Add(48 * time.Hour), Currency: "GBP"}
		for i := range 6 {
			form.Units = append(form.Units, job.DropOffUnit{
				NewUnit:  customer.UnitDetails{Kind: "fork", ModelID: model, Serial: fmt.Sprintf("SL-%d77%d", i*i, i)},
				Services: []string{"full"}, Symptoms: []string{job.JustDue}, Complaint: unlike(i),
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

// unlike is some eighty characters that no others pack well with.
func unlike(n int) string {
	return fmt.Sprintf("play of %x", sha256.Sum256([]byte(strconv.Itoa(n))))
}

// findsMuch is a dozen findings of a job on the bench, half of them with extra work
// that the customer answered, and the lines of a bill for it all.
func (c counter) findsMuch(j job.Job, nth int) {
	c.t.Helper()
	c.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) error {
		for i := range 12 {
			f := bench.Found{Grade: []string{bench.FoundNote, bench.FoundDue}[i%2], Cause: bench.FoundSo, Words: unlike(1000*nth + i)}
			if err := bench.AddFinding(ctx, tx, by(), j.ID, f); err != nil {
				return err
			}
			if f.Grade == bench.FoundNote {
				continue
			}
			id, err := bench.FoundID(ctx, tx, j.ID, nil, f)
			if err == nil {
				err = goahead.Propose(ctx, tx, by(), true, goahead.New{FindingID: id, Words: unlike(2000*nth + i), Minor: int64(1000 + 77*i)})
			}
			if err != nil {
				return err
			}
		}
		list, err := goahead.OfVisit(ctx, tx, j.VisitID)
		for _, p := range list {
			if err == nil && p.JobID == j.ID {
				err = goahead.Answer(ctx, tx, by(), goahead.Said{ProposalID: p.ID, Yes: p.ID%2 == 0, How: "by phone", Who: "Odette Marsh"})
				if err == nil {
					err = bench.Mend(ctx, tx, by(), j.ID, p.FindingID, unlike(4000*nth+int(p.ID)))
				}
			}
		}
		for i := range 8 {
			if err == nil {
				err = bill.AddLine(ctx, tx, by(), j.VisitID, bill.NewLine{JobID: j.ID, Kind: "part", Words: unlike(3000*nth + i), QtyMilli: 2000, UnitMinor: int64(333 + 17*i), TaxCode: "A", TaxIncluded: true})
			}
		}
		return err
	}, desk, mechanic)
}

func TestThePageOfSixFullServicesIsSmall(t *testing.T) {
	c := server(t).counter()
	c.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) error {
		if err := bill.SetTaxRate(ctx, tx, by(), bill.TaxRate{Name: "full rate", BP: 2000}); err != nil {
			return err
		}
		return interval.Install(ctx, tx, by())
	}, owner)
	jobs := c.sixForks()
	for n, j := range jobs {
		b := c.as(mechanic)
		b.post(fmt.Sprintf("/jobs/%d/start", j.ID)).wantTo(benchPath(j.ID))
		c.findsMuch(j, n+1)
		c.toReady(b, j)
		for i := range 8 {
			c.give(j, 200+10*i)
		}
	}
	at := c.address(jobs[0])
	p := c.anybody().get(at).want(http.StatusOK)
	for words, want := range map[string]int{"article.unit": 6, ".unit .measured": 6, "main img": 48} {
		if n := p.Find(words).Length(); n < want {
			t.Errorf("the page has %d of %s, want %d at least", n, words, want)
		}
	}
	for what, words := range map[string]string{"a finding": unlike(6000), "extra work": unlike(12001), "a line of the bill": unlike(18007), "when it is due again": "13 October 2027"} {
		if !strings.Contains(p.body, words) {
			t.Errorf("%s is not on the page", what)
		}
	}
	c.anybody().wantSmall(at, "a visit of six full services")
}

// A hire fork is here every other week, and somebody says each week how much it was
// ridden: of 150 services and 300 notes the newest 40 stand on the page.
func TestABookIsSmallOnItsWay(t *testing.T) {
	var steps []string
	for i := range 25 {
		steps = append(steps, fmt.Sprint("D1.", i))
	}
	for name, b := range map[string]book.Book{"forty services": worn().Book, "a hire fork": lived(150, 300, steps...).Book} {
		c := newFrontDesk(t)
		content, err := b.File(dbtest.Now).JSON()
		if err != nil {
			t.Fatal(err)
		}
		content = bytes.ReplaceAll(content, []byte("TL-48 211"), []byte(c.digit("select serial from unit where id = $1", c.fork)))
		plan := c.postFiles("/units/read-book", []attached{{"file", content}}, "unit", c.id(c.fork)).want(http.StatusSeeOther).to
		c.post(plan+"/apply", "shown", c.id(c.fork)).want(http.StatusSeeOther)
		at := c.bookPath()
		p := c.anybody().get(at)
		if n, notes := p.Find("#book-services ~ ol > li").Length(), p.Find("#book-hours ~ ul > li").Length(); n != 40 || notes != min(len(b.Readings), 40) {
			t.Fatalf("the book of %s has %d services and %d notes, want 40 and %d", name, n, notes, min(len(b.Readings), 40))
		}
		c.anybody().wantSmall(at, "a book of "+name)
	}
}
