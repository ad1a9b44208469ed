package web

import (
	"context"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/history"
)

// signElsewhere signs a step by another device meanwhile.
func (c counter) signElsewhere(g bench.Signing) {
	c.t.Helper()
	c.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) error {
		return bench.Sign(ctx, tx, by(), time.UTC, g)
	}, mechanic)
}

// Of six lines one, be it the page's own, is signed by another tablet first:
// nothing else is stored, and what was answered stays to be sent again.
func TestALineSignedMeanwhileLeavesTheOthersAnswered(t *testing.T) {
	for _, taken := range []string{"A6", "A9"} {
		t.Run(taken, func(t *testing.T) {
			s := server(t)
			c := s.counter()
			b := s.as(mechanic)
			sheet, path, sent := c.condition(b)
			line, leaks := sheet.ByKey(taken), sheet.ByKey("A10").ID
			g := bench.Signing{StepID: line.ID}
			if len(line.Grades) > 0 {
				g.Grade = line.Grades[0]
			}
			c.signElsewhere(g)
			sent[bench.Line(leaks, "outcome")] = "found something"
			sent[bench.Line(leaks, "found")] = "sticks near the end"
			sent[bench.Line(leaks, "asks")] = "needs doing"
			sent[bench.Line(leaks, "cause")] = "found so"
			bad := b.post(path+"/together", flat(sent)...).want(http.StatusConflict)
			bad.wantWords(".problem", "Step "+strconv.Itoa(line.Seq)+": Signed by")
			if got := bad.value(bench.Line(leaks, "found")); got != "sticks near the end" {
				t.Fatalf("what was found comes back as %q", got)
			}
			again := bad.Find("form.together")
			if again.Find(`[name="`+bench.Line(line.ID, "outcome")+`"]`).Length() > 0 {
				t.Error("the line that is signed is asked again")
			}
			form := url.Values{"intent": {bad.value("intent")}}
			again.Find("input:not([type=radio]), input[checked]").Each(func(_ int, field *goquery.Selection) {
				form.Set(field.AttrOr("name", ""), field.AttrOr("value", ""))
			})
			b.send(http.MethodPost, again.AttrOr("action", ""), form).want(http.StatusSeeOther)
			after, err := bench.Get(context.Background(), s.pool, sheet.Job.ID)
			if err != nil || len(after.FoundAt(leaks)) != 1 || after.ByKey("A11").Done == nil {
				t.Errorf("error %v, findings %+v; want the rest signed", err, after.Findings)
			}
		})
	}
}

func TestEveryRefusedLineSaysWhy(t *testing.T) {
	s := server(t)
	b := s.as(mechanic)
	sheet, path, sent := s.counter().condition(b)
	leaks, complaint := sheet.ByKey("A9").ID, sheet.ByKey("A11").ID
	sent[bench.Line(leaks, "outcome")] = "found something"
	sent[bench.Line(leaks, "cause")] = "found so"
	sent[bench.Line(complaint, "outcome")] = "does not apply"
	bad := b.post(path+"/together", flat(sent)...).want(http.StatusUnprocessableEntity)
	for _, field := range []string{bench.Line(leaks, "found"), bench.Line(leaks, "asks"), bench.Line(complaint, "reason")} {
		if bad.wrong(field) == "" {
			t.Errorf("nothing stands beside %s", field)
		}
	}
}

// The number beside the keys is a field of its own; what is wrong with it
// stands beside the keys.
func TestAnotherNumberSaysWhatIsWrong(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b := c.benchJob(), s.as(mechanic)
	_, path := c.onBench(b, j, "Z3")
	b.get(path).want(http.StatusOK)
	bad := b.post(path+"/sign", "value-other", "a cup", "value", "10 mL").want(http.StatusUnprocessableEntity)
	if got := bad.wrong("value"); got == "" || bad.value("value-other") != "a cup" {
		t.Errorf("beside the keys it says %q, and holds %q; the page says %q", got, bad.value("value-other"), bad.words("main"))
	}
	link := bad.Find(".problem a").AttrOr("href", "#none")
	if bad.Find(link).Length() != 1 {
		t.Errorf("the problem leads to %q, which is not there", link)
	}
}

// What is left on purpose is not judged.
func TestALineNotDoneIsNotJudged(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b := c.benchJob(), s.as(mechanic)
	step, path := c.onBench(b, j, "V2")
	b.post(path+"/together", bench.Line(step.ID, "outcome"), "not done", bench.Line(step.ID, "value"), "8o").want(http.StatusSeeOther)
}

// A grade's own finding and another one in words both stand.
func TestAGradeOffersItsFindingBesideAnother(t *testing.T) {
	s := server(t)
	b := s.as(mechanic)
	sheet, path, sent := s.counter().condition(b)
	worn := sheet.ByKey("A7").ID
	for name, value := range map[string]string{"grade": "coating through", "offer": "coating through", "outcome": "found something",
		"found": "sticker on the stanchion", "asks": "note", "cause": "found so"} {
		sent[bench.Line(worn, name)] = value
	}
	b.post(path+"/together", flat(sent)...).want(http.StatusSeeOther)
	after, err := bench.Get(context.Background(), s.pool, sheet.Job.ID)
	if err != nil || len(after.FoundAt(worn)) != 2 {
		t.Errorf("found %+v, error %v; want the grade's and the other one", after.FoundAt(worn), err)
	}
}

// What was found outlives the sign-off it came with: a crack stays a crack. The
// page says so before, shows it afterwards, and does not record it twice.
func TestAFindingOutlivesItsSignOff(t *testing.T) {
	s := server(t)
	b := s.as(mechanic)
	sheet, path, sent := s.counter().condition(b)
	worn := sheet.ByKey("A7").ID
	sent[bench.Line(worn, "grade")], sent[bench.Line(worn, "offer")] = "coating through", "coating through"
	b.post(path+"/together", flat(sent)...).want(http.StatusSeeOther)
	at := stepPath(sheet.Job.ID, worn)
	p := b.get(at).wantWords("details", "What was found stays; withdraw it on the sheet if it was wrong.")
	b.post(at+"/cross-out", "signoff", p.value("signoff"), "reason", "wrong leg").wantTo(at)
	b.get(at).wantWords("main form", "Stanchions: coating through")
	b.post(at+"/sign", "grade", "coating through", "offer", "coating through").want(http.StatusSeeOther)
	after, err := bench.Get(context.Background(), s.pool, sheet.Job.ID)
	if err != nil || len(after.FoundAt(worn)) != 1 {
		t.Errorf("found %+v, error %v; want it once", after.FoundAt(worn), err)
	}
}

// Without its script a key that is pressed would lose to a field filled for
// the mechanic.
func TestNoFieldIsFilledBesideTheKeys(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b := c.benchJob(), s.as(mechanic)
	_, left := c.onBench(b, j, "Z7")
	wrench := b.get(left).Find(`input[name=tool][checked]`).AttrOr("value", "")
	next := b.post(left+"/sign", "tool", wrench, "keys", wrench, "unit", "N·m", "value-other", "7.35").want(http.StatusSeeOther).to
	p := b.get(next).want(http.StatusOK)
	if got := p.value("value-other"); got != "" || !strings.HasPrefix(p.Find(".keys input[checked]").AttrOr("value", ""), "7.35") {
		t.Errorf("the field holds %q and the key is %q, want the key 7.35", got, p.Find(".keys input[checked]").AttrOr("value", ""))
	}
}
