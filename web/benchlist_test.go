package web

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/job"
)

// ofTicket is the row of the board, or of the bench's lists, that has a ticket.
func ofTicket(p *page, j job.Job) *goquery.Selection {
	return p.Find("main tr").FilterFunction(func(_ int, tr *goquery.Selection) bool {
		return tr.Find("th[scope=row] a .no, th.no a").Text() == fmt.Sprint(j.Number)
	})
}

func wordsOf(s *goquery.Selection) string { return strings.Join(strings.Fields(s.Text()), " ") }

// toStart is the tickets of "To start from", from top to bottom.
func toStart(p *page) string { return ticketsIn(p, "section[aria-labelledby=queue]") }

func ticketsIn(p *page, part string) string {
	var list []string
	p.Find(part + " .no").Each(func(_ int, no *goquery.Selection) { list = append(list, no.Text()) })
	return strings.Join(list, " ")
}

func TestTheBenchSaysOfAPromiseWhatTheBoardSays(t *testing.T) {
	c := server(t).counter()
	b := c.as(mechanic)
	c.openAllDay()
	miss := c.takeIn("Orrery Node", dbtest.Now.Add(15*time.Minute)) // takes longer than that
	fine := c.takeIn("Tindra Kelp", dbtest.Now.Add(72*time.Hour))
	mine := c.takeIn("Halvard Sill", dbtest.Now.Add(48*time.Hour))
	b.post(jobURL(mine) + "/start").want(303)
	bench, board := b.get("/bench").want(200), b.get("/board").want(200)
	for _, j := range []job.Job{miss, fine, mine} {
		remark := wordsOf(ofTicket(board, j).Find(".over .state").First())
		if row := wordsOf(ofTicket(bench, j)); remark == "" || !strings.Contains(row, remark) {
			t.Errorf("the bench says %q of %d, the board %q", row, j.Number, remark)
		}
		why := wordsOf(ofTicket(board, j).Find(".eta small"))
		if row := wordsOf(ofTicket(bench, j)); why == "" || !strings.Contains(row, ": "+why) {
			t.Errorf("the bench says %q of %d, the board expects it so: %q", row, j.Number, why)
		}
	}
	if row := wordsOf(ofTicket(bench, miss)); !strings.Contains(row, "will miss by") {
		t.Errorf("of what will miss the bench says %q", row)
	}
}

func TestWhatIsToBeStartedStandsInTheOrderOfTheLine(t *testing.T) {
	c := server(t).counter()
	b := c.as(mechanic)
	c.openAllDay()
	waits, soon, late, next := c.takeIn("Orrery Node", tomorrow), c.takeIn("Tindra Kelp", tomorrow.Add(time.Hour)),
		c.takeIn("Tindra Lode", tomorrow.Add(48*time.Hour)), c.takeIn("Halvard Sill", tomorrow.Add(72*time.Hour))
	b.post(jobURL(waits)+"/hold", "kind", job.WaitingOnParts, "expected", "2026-10-16", "tray", "4").want(303)
	d := c.as(desk)
	d.post(jobURL(next)+"/pin", "pin", job.NextUp, "reason", "race on Sunday").want(303)
	p := b.get("/bench").want(200)
	if got, want := toStart(p), fmt.Sprint(next.Number, " ", soon.Number, " ", late.Number, " ", waits.Number); got != want {
		t.Errorf("to be started are %s, want %s", got, want)
	}
	row := wordsOf(ofTicket(p, next))
	for _, want := range []string{"next up", "by " + d.person.Name, "race on Sunday", "expected "} {
		if strings.Count(row, want) != 1 {
			t.Errorf("of what is next up stands %q, want %q once", row, want)
		}
	}
	if row = wordsOf(ofTicket(b.get("/board").want(200), next)); strings.Count(row, "next up") != 1 {
		t.Errorf("the board says %q, want next up once", row)
	}
}

func TestAComebackIsTheFirstToBeStarted(t *testing.T) {
	c := newFrontDesk(t)
	b := c.as(mechanic)
	c.lately()
	c.bring(6)
	visit := c.post("/drop-off", c.fields("unit0.again", c.id(c.fork)+" yes")...).want(303).to
	again := c.get(visit).Find(`tbody a[href^="/jobs/"]`).First().Text()
	if list := strings.Fields(toStart(b.get("/bench").want(200))); len(list) != 7 || list[0] != again {
		t.Errorf("to be started are %s, want the comeback %s first", list, again)
	}
}

func TestTheBenchSaysWhatAJobWaitsForAsTheBoardDoes(t *testing.T) {
	c := server(t).counter()
	b := c.as(mechanic)
	c.openAllDay()
	parts, answer, sent := c.takeIn("Orrery Node", tomorrow), c.takeIn("Tindra Kelp", tomorrow), c.takeIn("Halvard Sill", tomorrow)
	b.post(jobURL(sent) + "/start").want(303)
	b.post(jobURL(parts)+"/hold", "kind", job.WaitingOnParts, "expected", "2026-10-16", "tray", "4").want(303)
	b.post(jobURL(answer)+"/hold", "kind", job.WaitingOnCustomer).want(303)
	b.post(jobURL(sent)+"/hold", "kind", job.SentOut).want(303)
	bench, board := b.get("/bench").want(200), b.get("/board").want(200)
	for _, j := range []job.Job{parts, answer, sent} {
		row, on := wordsOf(ofTicket(bench, j)), ofTicket(board, j)
		stands := strings.Join(strings.Fields(on.Find(".stage").Text())[:2], " ")
		said := []string{stands, wordsOf(on.Find(".over .state").First()), wordsOf(on.Find(".over > small").Last()), wordsOf(on.Find(".eta small"))}
		for _, words := range said {
			if words == "" || !strings.Contains(row, words) {
				t.Errorf("the bench says %q of %d, the board %q", row, j.Number, said)
			}
		}
	}
}

func TestAClaimThatIsNotAuthorisedCannotBeStarted(t *testing.T) {
	c := newFrontDesk(t)
	b := c.as(mechanic)
	c.post("/drop-off", c.fields("unit0.payer", job.PaysWarranty, "unit0.payerwords", "W-17")...).want(303)
	j := c.only()
	row := ofTicket(b.get("/bench").want(200), j)
	if words := wordsOf(row); !strings.Contains(words, job.NotOpened) || row.Find("form").Length() > 0 {
		t.Errorf("the bench says %q and offers %d forms", words, row.Find("form").Length())
	}
	b.get("/board").want(200).wantWords(".over", "next: the claim is authorised")
	c.post(jobURL(j)+"/authorise", "claim", "W-17").want(303)
	row = ofTicket(b.get("/bench").want(200), j)
	if words := wordsOf(row); strings.Contains(words, "not opened") || row.Find("form").Length() != 1 {
		t.Errorf("once it is authorised the bench says %q and offers %d forms", words, row.Find("form").Length())
	}
}

func TestWhatIsSentOutCannotBeStarted(t *testing.T) {
	c := server(t).counter()
	b := c.as(mechanic)
	j := c.takeIn("Orrery Node", tomorrow)
	offers := func(want int) {
		t.Helper()
		if n := ofTicket(b.get("/bench").want(200), j).Find("form").Length(); n != want {
			t.Errorf("the bench offers %d forms, want %d", n, want)
		}
	}
	offers(1)
	b.post(jobURL(j)+"/hold", "kind", job.SentOut).want(303)
	offers(0)
}

// The lists of the bench are read in as many statements for three hundred jobs
// as for a few. How long the server takes is printed, not judged: 100 ms at
// most is the aim, on a machine that is idle.
func TestTheBenchOfThreeHundredJobs(t *testing.T) {
	c := newFrontDesk(t)
	b := c.as(mechanic)
	c.bring(6)
	handler, count := c.traced()
	few := len(b.timed(handler, count, "the bench of 6", "/bench"))
	c.bring(294)
	if n := len(b.timed(handler, count, "the bench of 300", "/bench")); n > few {
		t.Errorf("the bench asks %d times for 300 jobs, %d times for 6", n, few)
	}
}

// The head of a sheet does not ask the plan, so it says no more of a promise than
// its day until that is past.
func TestTheHeadOfASheetSaysOfAPromiseOnlyWhatItKnows(t *testing.T) {
	c := server(t).counter()
	b := c.as(mechanic)
	c.openAllDay()
	soon, late := c.takeIn("Orrery Node", dbtest.Now.Add(15*time.Minute)), c.takeIn("Tindra Kelp", dbtest.Now.Add(72*time.Hour))
	for _, j := range []job.Job{soon, late} {
		b.post(jobURL(j) + "/start").want(303)
		p := b.get(fmt.Sprintf("/bench/%d", j.ID)).want(200)
		head := wordsOf(p.Find("header"))
		if !strings.Contains(head, "promised") || strings.Contains(head, "tight") || strings.Contains(head, "on time") || strings.Contains(head, "due today") {
			t.Errorf("above the sheet of %d stands %q", j.Number, head)
		}
	}
	c.late.Store(int64(20 * time.Minute))
	if head := wordsOf(b.get(fmt.Sprintf("/bench/%d", soon.ID)).want(200).Find("header")); !strings.Contains(head, "late by 5 min") {
		t.Errorf("once the promise is past there stands %q", head)
	}
}

// What can be gone on with stands above what waits, whatever was promised.
func TestWhatIsOnABenchStandsInTheOrderOfTheLine(t *testing.T) {
	c := server(t).counter()
	b := c.as(mechanic)
	c.openAllDay()
	waits, goes := c.takeIn("Orrery Node", tomorrow), c.takeIn("Tindra Kelp", tomorrow.Add(48*time.Hour))
	for _, j := range []job.Job{waits, goes} {
		b.post(jobURL(j) + "/start").want(303)
	}
	b.post(jobURL(waits)+"/hold", "kind", job.WaitingOnParts, "expected", "2026-10-16", "tray", "4").want(303)
	want := fmt.Sprint(goes.Number, " ", waits.Number)
	for who, page := range map[string]*page{"their own": b.get("/bench").want(200), "another": c.as(owner).get("/bench").want(200)} {
		if got := ticketsIn(page, "main .due"); got != want {
			t.Errorf("on %s bench stand %s, want %s", who, got, want)
		}
	}
}
