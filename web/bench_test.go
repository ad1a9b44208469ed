package web

import (
	"context"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/link"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
	"damperdesk/internal/tool"
)

// benchJob takes in a fork with a spec sheet, for a shop with one wrench: foot
// bolts at 7.3 N·m and 10 mL of oil a leg, common practice (no source).
func (c counter) benchJob() job.Job { return c.benchJobFor("lower-leg") }

func (c counter) benchJobFor(service string) job.Job {
	c.t.Helper()
	model := c.sheetOf()
	c.smallWrench()
	return c.takeInUnit(customer.UnitDetails{Kind: "fork", ModelID: model}, service)
}

// smallWrench is for foot bolts.
func (c counter) smallWrench() {
	c.t.Helper()
	c.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) error {
		id, err := tool.Add(ctx, tx, by(), tool.Tool{
			Name: "Wrench 3", Kind: "click wrench", RangeMinNm: 2, RangeMaxNm: 15, Unit: quantity.NewtonMetre, Graduation: 0.1,
		})
		if err != nil {
			return err
		}
		return tool.Calibrate(ctx, tx, by(), id, tool.NewCalibration{DoneOn: dbtest.Now.AddDate(0, -3, 0), Passed: true})
	}, owner)
}

// sheetOf is a model with a spec sheet; with those values too.
func (c counter) sheetOf(more ...spec.Value) (model int64) {
	c.t.Helper()
	var sheet int64
	c.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) (err error) {
		model, err = spec.AddModel(ctx, tx, by(), spec.Model{
			Kind: "fork", Maker: "Halvard", Name: "Sill", Spring: "air", Damper: "sealed", SpringLeg: "left", DamperLeg: "right",
			Adjusters: []string{"rebound", "compression"},
		})
		if err != nil {
			return err
		}
		document, err := spec.AddDocument(ctx, tx, by(), model, "Sill service manual", "3rd edition")
		if err != nil {
			return err
		}
		value := func(key string, si, window float64, unit quantity.Unit, fluid string) spec.Value {
			return spec.Value{Key: key, NominalSI: si, MinusSI: window, PlusSI: window, ShownUnit: unit, Fluid: fluid,
				SourceKind: spec.FromDocument, DocumentID: &document, Page: "41"}
		}
		values := []spec.Value{
			value("foot bolt", 7.3, 0.5, quantity.NewtonMetre, ""),
			value("lower-leg oil", 10e-6, 1e-6, quantity.Millilitre, "bath oil"),
			value("air top cap", 28, 2, quantity.NewtonMetre, ""),
			value("air-side oil", 3e-6, 0.5e-6, quantity.Millilitre, "bath oil"),
			value("volume spacers", 2, 0, "", ""),
			value("rebound range", 17, 1, "", ""),
			value("travel", 0.15, 0.003, quantity.Millimetre, ""),
		}
		for _, v := range more {
			values = append(values, value(v.Key, v.NominalSI, v.PlusSI, v.ShownUnit, v.Fluid))
		}
		sheet, err = spec.DraftSheet(ctx, tx, by(), model, values)
		return err
	}, mechanic)
	c.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) error {
		return spec.CheckSheet(ctx, tx, by(), sheet)
	}, owner)
	return model
}

func (c counter) takeInUnit(unit customer.UnitDetails, service string) job.Job {
	c.t.Helper()
	var visit int64
	c.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) (err error) {
		visit, err = job.TakeIn(ctx, tx, by(), job.DropOff{
			CustomerID: c.customer, PromisedAt: dbtest.Now.Add(4 * time.Hour), Currency: "GBP",
			Units: []job.DropOffUnit{{NewUnit: unit, Services: []string{service}, Symptoms: []string{job.JustDue}}},
		})
		if err != nil {
			return err
		}
		_, err = link.Make(ctx, tx, by(), linkKey, visit, dbtest.Now.AddDate(0, 3, 0))
		return err
	}, desk)
	v, err := job.Visit(context.Background(), c.pool, visit)
	if err != nil {
		c.t.Fatal(err)
	}
	return v.Jobs[0]
}

// hand is what a person does to a form: it counts taps and typed numbers.
type hand struct {
	screens, taps, numbers int
	words                  string // for whatever is asked in words
}

// fill sends a form as it stands, after choosing the first of each row of
// picks without a choice and typing each number that begins empty.
func (h *hand) fill(form *goquery.Selection, number string) url.Values {
	sent := url.Values{}
	form.Find("input[name], textarea[name]").Each(func(_ int, field *goquery.Selection) {
		name, value := field.AttrOr("name", ""), field.AttrOr("value", "")
		if field.Closest(".asked, .offer").Length() > 0 {
			return // not in sight until another answer or grade is chosen
		}
		if field.Is("textarea") {
			sent.Set(name, h.words)
			return
		}
		_, checked := field.Attr("checked")
		switch field.AttrOr("type", "text") {
		case "radio":
			group := form.Find(`input[type=radio][name="` + name + `"]`)
			if checked || group.Filter("[checked]").Length() == 0 && !sent.Has(name) {
				if !checked {
					h.taps++
				}
				sent.Set(name, value)
			}
		case "checkbox":
			if checked {
				sent.Add(name, value)
			}
		default:
			if _, stepper := field.Attr("data-step"); stepper && value == "" && !strings.HasSuffix(name, "-other") {
				value = number
				h.numbers++
			}
			sent.Set(name, value)
		}
	})
	form.Find("select[name]").Each(func(_ int, field *goquery.Selection) {
		sent.Set(field.AttrOr("name", ""), field.Find("option[selected]").AttrOr("value", ""))
	})
	h.screens++
	h.taps++
	return sent
}

// A lower-leg service in a normal run: at most 20 signing screens, 35 taps and
// 8 numbers, of the mechanics' own reckoning. Common practice (no source).
func TestALowerLegServiceFromStartToReady(t *testing.T) {
	s := server(t)
	h := s.fromStartToReady(s.counter().benchJob())
	if h.screens > 20 || h.taps > 35 || h.numbers > 8 {
		t.Errorf("%d screens, %d taps, %d numbers; want at most 20, 35 and 8", h.screens, h.taps, h.numbers)
	}
}

// An air-spring service: at most 27 signing screens and 50 taps. Common
// practice (no source).
func TestAnAirSpringServiceFromStartToReady(t *testing.T) {
	s := server(t)
	c := s.counter()
	j := c.benchJobFor("air-spring")
	c.largeWrench()
	h := s.fromStartToReady(j)
	if h.screens > 27 || h.taps > 50 || h.numbers > 8 {
		t.Errorf("%d screens, %d taps, %d numbers; want at most 27, 50 and 8", h.screens, h.taps, h.numbers)
	}
}

// largeWrench is for caps.
func (c counter) largeWrench() {
	c.t.Helper()
	c.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) error {
		id, err := tool.Add(ctx, tx, by(), tool.Tool{
			Name: "Wrench 1", Kind: "click wrench", RangeMinNm: 10, RangeMaxNm: 60, Unit: quantity.NewtonMetre, Graduation: 0.5,
		})
		if err != nil {
			return err
		}
		return tool.Calibrate(ctx, tx, by(), id, tool.NewCalibration{DoneOn: dbtest.Now.AddDate(0, -3, 0), Passed: true})
	}, owner)
}

// fromStartToReady works on a job as a mechanic for whom all goes well.
func (s *site) fromStartToReady(j job.Job) hand {
	t := s.t
	t.Helper()
	b := s.as(mechanic)
	start := b.get("/bench").want(http.StatusOK)
	path := "/jobs/" + strconv.FormatInt(j.ID, 10) + "/start"
	b.post(path, "intent", start.intent(path)).wantTo(benchPath(j.ID))
	return s.toReady(b, j)
}

// toReady works on a job that is started.
func (s *site) toReady(b *browser, j job.Job) hand {
	t := s.t
	t.Helper()
	at := b.get(benchPath(j.ID)).want(http.StatusOK).Find(".links a.main").AttrOr("href", "")
	h := hand{words: "It was dry inside and is smooth again."}
	for strings.Contains(at, "/steps/") {
		p := b.get(at).want(http.StatusOK)
		if p.Find(".spec [data-wait]").Length() > 0 {
			s.pass(15 * time.Minute)
		}
		form := p.Find("main form").First()
		action := form.AttrOr("action", "")
		if strings.HasSuffix(action, "/cross-out") { // it waits for somebody else
			_, step, _ := strings.Cut(at, "/steps/")
			s.as(mechanic).post(benchPath(j.ID)+"/checks", "check", step).want(http.StatusSeeOther)
			at = b.get(benchPath(j.ID)).Find(".links a.main").AttrOr("href", "")
			continue
		}
		if h.screens > 90 {
			t.Fatalf("the walk does not end; it is at %s", action)
		}
		if form.Find(".signbar p .state").Length() > 0 {
			h.screens-- // the other side of the screen before, with a press of its own
		}
		at = b.send(http.MethodPost, action, h.fill(form, "9")).want(http.StatusSeeOther).to
	}
	t.Logf("%d screens, %d taps, %d numbers", h.screens, h.taps, h.numbers)
	sheet := benchPath(j.ID)
	p := b.get(sheet).want(http.StatusOK).wantWords(`[name="note"]`, h.words)
	b.post(sheet+"/ready", "intent", p.intent(sheet+"/ready")).wantTo(sheet)
	b.get(sheet).wantWords("#reopen-title", "Back to the final check")
	return h
}

// onBench starts the job and signs as expected what comes before the step of
// that key, which it gives back with its address.
func (c counter) onBench(b *browser, j job.Job, key string) (bench.Step, string) {
	c.t.Helper()
	b.post("/jobs/" + strconv.FormatInt(j.ID, 10) + "/start").want(http.StatusSeeOther)
	var step bench.Step
	c.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) error {
		sheet, err := bench.Get(ctx, tx, j.ID)
		if err != nil {
			return err
		}
		tools, err := tool.List(ctx, tx)
		for _, s := range sheet.Steps {
			if step = s; err != nil || s.Key == key {
				return err
			}
			err = bench.Sign(ctx, tx, by(), time.UTC, asExpected(s, tools))
		}
		return err
	}, mechanic)
	return step, stepPath(j.ID, step.ID)
}

// asExpected signs a step as the sheet has it, else by some number.
func asExpected(s bench.Step, tools []tool.Tool) bench.Signing {
	g := bench.Signing{StepID: s.ID}
	if len(s.Grades) > 0 {
		g.Grade = s.Grades[0]
	}
	switch {
	case s.MayBeUnknown:
		g.Outcome = bench.OutcomeUnknown
	case s.Kind == procedure.Wait:
		g.How = bench.HowAfterwards
	case s.NominalSI != nil:
		g.Value = &quantity.Value{SI: *s.NominalSI, Unit: s.ShownUnit, Entered: "as expected"}
		g.ToolID = tools[0].ID
		count := math.Trunc(*s.NominalSI)
		g.Count = &count
	case s.Quantity == quantity.KindPressure:
		g.Value = &quantity.Value{SI: 80 * 6894.757, Unit: quantity.PSI, Entered: "80"}
	case s.Quantity == quantity.KindLength:
		g.Value = &quantity.Value{SI: 0.15, Unit: quantity.Millimetre, Entered: "150"}
	case s.Kind == procedure.Count:
		count := 7.0
		g.Count = &count
	}
	return g
}

func TestATorqueStepIsReadFromAMetre(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b := c.benchJob(), s.as(mechanic)
	_, path := c.onBench(b, j, "Z7")
	p := b.get(path).want(http.StatusOK)
	p.wantWords(".spec .value", "7.3 N·m")
	p.wantWords(".spec .facts", "6.8 to 7.8 N·m, or 65 lbf·in (60 to 69)")
	p.wantWords(".spec .facts", "Sill service manual, 3rd edition, page 41")
	p.wantWords(".caution", "no impact gun")
	p.wantWords(".signbar", "Sign rider’s left")
	if got := p.Find(`.keys input[checked]`).AttrOr("value", ""); got != "7.3 N·m" {
		t.Errorf("the chosen key is %q, want 7.3 N·m", got)
	}
	if p.Find(`.fork use.lit[href="#foot-left"]`).Length() != 1 {
		t.Error("the rider's left foot is not lit")
	}
	wrench := p.Find(`input[name=tool][checked]`).AttrOr("value", "")
	bad := b.post(path+"/sign", "tool", wrench, "value", "7.3 N·m", "value-other", "8.5").want(http.StatusUnprocessableEntity)
	if got := bad.wrong("reason"); !strings.Contains(got, "is outside 6.8 to 7.8") {
		t.Errorf("the reason says %q, want outside the window", got)
	}
	if got := bad.value("value-other"); got != "8.5" {
		t.Errorf("what was typed came back as %q, want 8.5", got)
	}
	if n := bad.Find("[name=reason]").Length(); n != 1 {
		t.Errorf("%d fields ask for the reason, want one", n)
	}
	next := b.post(path+"/sign", "tool", wrench, "value-other", "65 lbf·in").want(http.StatusSeeOther).to
	b.get(next).wantWords(".signbar", "Rider’s left stored set to 65 lbf·in, clicked, 14:12")
	b.get(path).wantWords(".facts", "set to 65 lbf·in, clicked")
	again := b.post(path+"/sign", "tool", wrench, "value-other", "65 lbf·in").want(http.StatusConflict)
	again.wantWords(".problem", "Signed by "+b.person.Name+" at 14:12.")
}

func TestCrossingOutOnItsPage(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b := c.benchJob(), s.as(mechanic)
	c.onBench(b, j, "Z2")
	sheet, err := bench.Get(context.Background(), s.pool, j.ID)
	if err != nil {
		t.Fatal(err)
	}
	stop := sheet.ByKey("Z1")
	path := stepPath(j.ID, stop.ID)
	b.get(path).wantWords("details", "Only this sign-off")
	id := strconv.FormatInt(stop.Done.ID, 10)
	b.post(path+"/cross-out", "signoff", id).want(http.StatusUnprocessableEntity).wantWords(".problem", "Say why it is crossed out.")
	b.post(path+"/cross-out", "signoff", id, "reason", "spring in the wrong leg").wantTo(path)
	b.get(benchPath(j.ID)).wantWords(".sheet .now .why", "“spring in the wrong leg”")
	ahead := stepPath(j.ID, sheet.ByKey("Z3").ID)
	b.get(ahead).wantWords(".why", "comes first")
}

func TestAStepWithoutAValueAsksForItFirst(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b := c.takeInUnit(customer.UnitDetails{Kind: "fork", ModelWords: "a fork of no known make"}, "lower-leg"), s.as(mechanic)
	_, path := c.onBench(b, j, "Z3")
	b.get(path).wantWords("form h2", "No value yet")
	fields := []string{"low", "9", "high", "11", "fluid", "bath oil", "source_kind", "judgement", "source", "another fork of that year"}
	if got := b.post(path+"/value", append(fields, "value", "12")...).want(http.StatusUnprocessableEntity).wrong("low"); got == "" {
		t.Error("a value outside its own window is taken")
	}
	odd := append([]string{"low", "90", "high", "110"}, fields[4:]...)
	asked := b.post(path+"/value", append(odd, "value", "100")...).want(http.StatusUnprocessableEntity)
	if !strings.HasPrefix(asked.wrong("confirm"), "Really 100") {
		t.Errorf("100 mL is not asked back: %q", asked.wrong("confirm"))
	}
	b.post(path+"/value", append(fields, "value", "10")...).wantTo(path)
	p := b.get(path).wantWords(".spec .value", "10 mL")
	p.wantWords(".spec .facts", "own judgement of "+b.person.Name+", by comparison with another fork of that year")
}

func TestTheBenchIsForReadingByAll(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b := c.benchJob(), s.as(mechanic)
	_, path := c.onBench(b, j, "S5")
	front := s.as(desk)
	front.get(benchPath(j.ID)).want(http.StatusOK).wantWords(".sheet .now", "stop here")
	if n := front.get(path).want(http.StatusOK).Find("main form").Length(); n != 0 {
		t.Errorf("the front desk sees %d forms on a step, want none", n)
	}
}
