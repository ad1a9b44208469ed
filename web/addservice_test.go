package web

import (
	"net/http"
	"strconv"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
)

// addServicePath is where a service is added to a job.
func addServicePath(job int64) string { return "/jobs/" + strconv.FormatInt(job, 10) + "/services" }

// confirm posts the form that says what changes, with what it carries.
func (b *browser) confirm(p *page, path string, more ...string) *page {
	for _, field := range p.Find(`#content form[method=post] input[type=hidden]`).EachIter() {
		more = append(more, field.AttrOr("name", ""), field.AttrOr("value", ""))
	}
	return b.post(path, more...)
}

func TestAServiceIsAddedAfterALookAtWhatItUndoes(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b := c.benchJob(), s.as(mechanic)
	c.onBench(b, j, "Z9")
	path := addServicePath(j.ID)
	for _, page := range []string{"/jobs/" + strconv.FormatInt(j.ID, 10), benchPath(j.ID)} {
		p := b.get(page).want(http.StatusOK)
		if n := p.Find(`#add-service form[action="` + path + `"] [value="air-spring"]`).Length(); n != 1 {
			t.Errorf("%s offers the air-spring service %d times", page, n)
		}
		if n := p.Find(`#add-service [value="lower-leg"]`).Length(); n != 0 {
			t.Errorf("%s offers what the job has", page)
		}
	}
	p := b.get(path + "?service=air-spring").want(http.StatusOK)
	p.wantWords("#content", "11 steps come on the sheet, from “No air left: core out, shaft moves freely” to “Torque the cap of the spring leg”.")
	p.wantWords("#content", "10 sign-offs will be crossed out and asked again:")
	if n := p.Find("#content .dots li").Length(); n != 10 {
		t.Errorf("%d lines, want 10", n)
	}
	p.wantWords("#content .dots li:first-child", "Free both feet")
	b.post(stepPath(j.ID, c.benchSheet(j).ByKey("Z9").ID)+"/sign", "count", "17").want(http.StatusSeeOther)
	p = b.confirm(p, path).want(http.StatusConflict).wantWords("#content", "The sheet was signed meanwhile")
	p.wantWords("#content", "12 sign-offs will be crossed out and asked again:")
	b.confirm(p, path).wantTo(benchPath(j.ID))
	sheet := b.get(benchPath(j.ID)).want(http.StatusOK)
	added, crossed := 0, 0
	sheet.Find("#sheet .why").Each(func(i int, why *goquery.Selection) {
		words := strings.Join(strings.Fields(why.Text()), " ")
		if strings.Contains(words, "addedAir-spring service") {
			added++
		}
		if strings.Contains(words, "“Air-spring service was added; this has to be done again.") {
			crossed++
		}
	})
	if added != 11 || crossed != 12 {
		t.Errorf("%d steps marked added and %d crossed out, want 11 and 12", added, crossed)
	}
	sheet.wantWords("[aria-current=step]", "Take the rebound knob off")
	b.post(path, "service", "air-spring").want(http.StatusConflict).wantWords("#content", "This job has “Air-spring service” already.")
}

func TestAServiceThatCannotBeAddedIsRefusedBesideTheField(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b, clerk := c.benchJob(), s.as(mechanic), s.as(desk)
	path := addServicePath(j.ID)
	for _, code := range []string{"polish", "\x00", "%27"} {
		for _, p := range []*page{b.get(path + "?service=" + strings.ReplaceAll(code, "\x00", "%00")), b.post(path, "service", code)} {
			p.want(http.StatusUnprocessableEntity)
			if got := p.wrong("service"); !strings.HasPrefix(got, "That service is not offered") && got != "Choose a service." {
				t.Errorf("%q: beside the field stands %q", code, got)
			}
		}
	}
	clerk.get(path+"?service=air-spring").want(http.StatusOK).wantWords("#content", "Work has not started")
	clerk.post(path, "service", "other").wantTo("/jobs/" + strconv.FormatInt(j.ID, 10) + "?done=service")
	b.post("/jobs/" + strconv.FormatInt(j.ID, 10) + "/start").want(http.StatusSeeOther)
	clerk.post(path, "service", "air-spring").want(http.StatusForbidden).wantWords("main", "a service is added by a mechanic now")
	if n := clerk.get("/jobs/" + strconv.FormatInt(j.ID, 10)).Find("#add-service").Length(); n != 0 {
		t.Error("the desk is offered what a mechanic adds")
	}
}
