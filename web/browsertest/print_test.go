package browsertest_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

// paper is a size in points, 72 to the inch of 25.4 mm; A5 is 148 mm by 210 mm
// by ISO 216.
type paper struct{ width, height float64 }

func mm(width, height float64) paper { return paper{width * 72 / 25.4, height * 72 / 25.4} }

var (
	a5    = mm(148, 210)
	a4    = mm(210, 297)
	label = mm(89, 36)

	sticker = mm(50, 30)
)

// sheet is a page of a PDF as poppler reads it.
type sheet struct {
	Width  float64 `xml:"width,attr"`
	Height float64 `xml:"height,attr"`
	Words  []struct {
		XMin float64 `xml:"xMin,attr"`
		YMin float64 `xml:"yMin,attr"`
		XMax float64 `xml:"xMax,attr"`
		YMax float64 `xml:"yMax,attr"`
		Text string  `xml:",chardata"`
	} `xml:"word"`
}

func (s sheet) text() string {
	var b strings.Builder
	for _, w := range s.Words {
		b.WriteString(w.Text + " ")
	}
	return b.String()
}

// printed is the sheets that the page comes out on.
func (h hand) printed(path string) (list []sheet) {
	h.t.Helper()
	h.goTo(path)
	pdf, err := h.Print()
	h.must(err, "print "+path)
	cmd := exec.CommandContext(h.t.Context(), "pdftotext", "-bbox", "-", "-")
	cmd.Stdin = bytes.NewReader(pdf)
	out, err := cmd.Output()
	if errors.Is(err, exec.ErrNotFound) && os.Getenv("CI") == "" {
		h.t.Skip("nothing reads PDF here; install poppler-utils")
	}
	h.must(err, "read the PDF")
	dec := xml.NewDecoder(bytes.NewReader(out))
	dec.Strict, dec.Entity = false, xml.HTMLEntity
	var doc struct {
		Pages []sheet `xml:"body>doc>page"`
	}
	h.must(dec.Decode(&doc), "read the words of the PDF")
	return doc.Pages
}

// onPaper holds that a page prints on sheets of these sizes with every word
// inside its sheet, and gives what stands on each.
func (h hand) onPaper(path string, want ...paper) (texts []string) {
	h.t.Helper()
	list := h.printed(path)
	if len(list) != len(want) {
		for i, s := range list {
			h.t.Logf("sheet %d, %.0f by %.0f points: %.80s", i+1, s.Width, s.Height, s.text())
		}
		h.t.Fatalf("%s prints on %d sheets, want %d", path, len(list), len(want))
	}
	for i, s := range list {
		if math.Abs(s.Width-want[i].width) > 1 || math.Abs(s.Height-want[i].height) > 1 {
			h.t.Errorf("%s, sheet %d: %.0f by %.0f points, want %.0f by %.0f", path, i+1, s.Width, s.Height, want[i].width, want[i].height)
		}
		for _, w := range s.Words {
			if w.XMin < 0 || w.YMin < 0 || w.XMax > s.Width || w.YMax > s.Height {
				h.t.Errorf("%s, sheet %d: %q lies outside, at %.0f %.0f to %.0f %.0f", path, i+1, w.Text, w.XMin, w.YMin, w.XMax, w.YMax)
			}
		}
		texts = append(texts, s.text())
	}
	return texts
}

func (h hand) says(text string, words ...string) {
	h.t.Helper()
	for _, w := range words {
		if !strings.Contains(text, w) {
			h.t.Errorf("the sheet says %q, want %q", text, w)
		}
	}
}

// longVisit has two units, one with everything as long as it may be.
func (s stock) longVisit() (visit int64) {
	s.t.Helper()
	err := db.Write(s.t.Context(), s.pool, func(tx pgx.Tx) (err error) {
		by := dbtest.Act(s.t, tx, history.By{At: time.Now(), Roles: []string{"desk"}})
		long := strings.TrimSpace(strings.Repeat("it clunks over every root and the oil comes out, ", 40))
		limit := int64(15000)
		visit, err = job.TakeIn(s.t.Context(), tx, by, job.DropOff{
			NewCustomer: customer.Details{Name: "Wilhelmina van der Oosterschelde-Brackwater", Phone: "07700 900 744"}, PromisedAt: by.At.Add(72 * time.Hour),
			Currency: "GBP", LimitMinor: &limit, LeftWith: "light mount, tube strap", Came: "post", GoesBack: "post",
			Units: []job.DropOffUnit{
				{NewUnit: customer.UnitDetails{Kind: "fork", ModelWords: strings.Repeat("Longname ", 13), Serial: "PR-1"}, Complaint: long + " endword",
					Symptoms: []string{"sticky", "stuck-down", "crash"}, Services: []string{"full", "bushing", "crown-steerer"}},
				{NewUnit: customer.UnitDetails{Kind: "seatpost", ModelWords: "grey post", Serial: "PR-2"}, Symptoms: []string{job.JustDue}, Services: []string{"other"}},
			},
		})
		return err
	})
	if err != nil {
		s.t.Fatal(err)
	}
	return visit
}

// pumped is a fork whose pressure was set at the final check.
func (s stock) pumped() int64 {
	s.t.Helper()
	return s.id(`select j.id from job j join unit u on u.id = j.unit_id join sheet_step p on p.job_id = j.id and p.key = 'V2'
		join signoff o on o.step_id = p.id and o.value_si > 0 where u.kind = 'fork' and j.stage = 'ready for pickup' order by j.id limit 1`)
}

// Tickets, labels, tags and receipts come out at their size with nothing cut off.
func printedPapers(t *testing.T, d desk, s stock) {
	h := d.sit(t, "Odile", screen.width, screen.height)
	visit := s.longVisit()
	first := s.id("select min(number) from job where visit_id = $1", visit)
	number := fmt.Sprint(first)
	long := h.onPaper(fmt.Sprintf("/visits/%d/tickets?only=tickets", visit), a5, a5, a5) // two of the first, whose complaint is endless
	h.says(long[0], number, "promised", "Unit", "Complaint", "it clunks over every root")
	if n := strings.Count(long[0], "every root"); n < 10 {
		t.Errorf("the first sheet has %d of the 40 times that it clunks, want it filled before the second begins", n)
	}
	h.says(strings.Join(long[:2], ""), number, "Wilhelmina", "endword", "light mount", "£150.00", "Taken in")
	labels := h.onPaper(fmt.Sprintf("/visits/%d/tickets?only=labels", visit), label, label)
	h.says(labels[0], number, "Longname", "Brackwater")
	h.says(labels[1], fmt.Sprint(first+1), "grey post")
	bench := s.job("on the bench")
	one := h.onPaper(fmt.Sprintf("/jobs/%d/ticket", bench), a5, label)
	h.says(one[0], "Complaint", "Service", "Notes")
	h.onPaper(fmt.Sprintf("/jobs/%d/ticket?only=labels", bench), label)
	tag := h.onPaper(fmt.Sprintf("/jobs/%d/tag", s.pumped()), label)
	h.says(tag[0], "No air in", "set it to", "psi", "sag", "manual")
	drawer := h.onPaper(fmt.Sprintf("/parts/%d/label", s.parts().wiper), label)
	h.says(drawer[0], "PG-WIPER", "Drawer 3")
	h.onBookPaper(s)
	receipt := h.onPaper(fmt.Sprintf("/visits/%d/receipt", s.id("select visit_id from job where id = $1", bench)), a5)
	h.says(receipt[0], "ready by", "Ticket", "Spending", "/c/", "Before the first ride")
}
