package web

import (
	"context"
	"maps"
	"slices"
	"strings"
	"testing"

	"damperdesk/internal/job"
)

// facts are those of the form of a job as a desk has it open.
func facts(p *page) map[string]string {
	form := map[string]string{}
	for _, name := range job.FactFields {
		form["was."+name] = p.Find(`[name="was.`+name+`"]`).AttrOr("value", "")
		form[name] = form["was."+name]
	}
	form["limit"] = p.value("limit")
	return form
}

func changed(form map[string]string, changes ...string) (fields []string) {
	form = maps.Clone(form)
	for i := 0; i+1 < len(changes); i += 2 {
		form[changes[i]] = changes[i+1]
	}
	for _, name := range slices.Sorted(maps.Keys(form)) {
		fields = append(fields, name, form[name])
	}
	return fields
}

func TestTwoDesksChangeOneJobAndNothingIsLost(t *testing.T) {
	c := newFrontDesk(t)
	c.post("/drop-off", c.fields("unit0.hangs", "hook 1", "unit0.complaint", "knocks", "limit", "£150", "unit0.rider", "74 kg", "left", "tube strap")...).want(303)
	rows, err := job.Board(context.Background(), c.pool, job.BoardFilter{})
	if err != nil || len(rows) != 1 {
		t.Fatal(rows, err)
	}
	path := "/jobs/" + c.id(rows[0].ID)
	read := func() (job.Job, job.VisitWithJobs) {
		j, err := job.Get(context.Background(), c.pool, rows[0].ID)
		if err != nil {
			t.Fatal(err)
		}
		v, err := job.Visit(context.Background(), c.pool, j.VisitID)
		if err != nil {
			t.Fatal(err)
		}
		return j, v
	}
	form := facts(c.get(path + "/change").want(200)) // by both
	other := frontDesk{browser: c.site.as(desk), customer: c.customer, fork: c.fork}
	other.post(path+"/change", changed(form, "hangs", "hook 2", "complaint", "knocks and leaks", "rider", "80 kg", "goesback", "post")...).wantTo(path + "?done=change")

	// Fields that one alone touched stand side by side.
	c.post(path+"/change", changed(form, "left", "tube strap, light mount", "limit", "£200", "riding", "lifts")...).wantTo(path + "?done=change-both")
	c.get(path+"?done=change-both").want(200).wantWords("main", "that stands too")
	j, v := read()
	if j.HangsAt != "hook 2" || j.Complaint != "knocks and leaks" || *j.RiderKG != 80 || v.GoesBack != "post" || v.LeftWith != "tube strap, light mount" || *v.LimitMinor != 20000 || j.Riding != "lifts" || j.OldParts != "bin" {
		t.Errorf("both changes give %+v, %+v", j, v)
	}

	// One that both touched is asked about, with all three.
	p := c.post(path+"/change", changed(form, "hangs", "shelf 9", "complaint", "knocks when cold", "symptoms", "dives")...).want(409)
	for _, words := range []string{"shelf 9 yours", "hook 2 theirs", "hook 1 what was there"} {
		p.wantWords(`fieldset:has([name="pick.hangs"])`, words)
	}
	if p.Find(`[name="symptoms"][value="dives"][checked]`).Length() != 1 || p.value("left") != "tube strap, light mount" {
		t.Error("the form has not what both left it with")
	}
	if again, _ := read(); again.HangsAt != "hook 2" || slices.Contains(again.Symptoms, "dives") {
		t.Errorf("something of a clash was kept: %+v", again)
	}
	back := facts(p)
	back["clashes"], back["symptoms"], back["complaint"], back["hangs"] = "complaint hangs", "dives", "knocks when cold", "shelf 9"
	back["old.hangs"], back["old.complaint"] = "hook 1", "knocks"
	p = c.post(path+"/change", changed(back, "pick.hangs", "was")...).want(422)
	if got := p.wrong("pick.complaint"); !strings.Contains(got, "Choose which of the three") {
		t.Errorf("beside the clash that was not answered stands %q", got)
	}
	c.post(path+"/change", changed(back, "pick.hangs", "was", "pick.complaint", "mine")...).want(303)
	if j, _ = read(); j.HangsAt != "hook 1" || j.Complaint != "knocks when cold" || !slices.Equal(j.Symptoms, []string{"dives"}) || *j.RiderKG != 80 {
		t.Errorf("after choosing: %+v", j)
	}
}

func TestAChangeOfAJobIsRefusedByField(t *testing.T) {
	c := newFrontDesk(t)
	c.post("/drop-off", c.fields()...).want(303)
	rows, err := job.Board(context.Background(), c.pool, job.BoardFilter{})
	if err != nil || len(rows) != 1 {
		t.Fatal(rows, err)
	}
	path := "/jobs/" + c.id(rows[0].ID) + "/change"
	form := facts(c.get(path).want(200))
	for field, typed := range map[string]string{"rider": "heavy", "limit": "1,234", "hangs": strings.Repeat("h", 121), "cameas": "in a box", "goesback": "by air"} {
		p := c.post(path, changed(form, field, typed)...).want(422)
		if p.wrong(field) == "" {
			t.Errorf("%s %q: nothing stands beside it", field, typed)
		}
	}
	c.post(path, changed(form, "rider", "200 kg")...).want(422)
	c.post(path, changed(form, "rider", "200 kg", "ridersure", "yes")...).want(303)
}
