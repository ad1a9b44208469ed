package web

import (
	"context"
	"net/http"
	"strings"
	"testing"

	"damperdesk/internal/job"
	"damperdesk/internal/picture"
)

const arrivingForm = "7c9e6679-7425-40de-944b-e07fc1f90ae7"

// shotAt presses a button of the drop-off with a picture of a unit.
func (c frontDesk) shotAt(unit string, fields ...string) *page {
	return c.postFiles("/drop-off", []attached{{unit + ".file", drawnJPEG(c.t, 640, 480)}}, c.fields(append([]string{"draft", arrivingForm}, fields...)...)...)
}

// jobs are all those on the board.
func (c frontDesk) jobs() []job.BoardRow {
	c.t.Helper()
	rows, err := job.Board(context.Background(), c.pool, job.BoardFilter{})
	if err != nil {
		c.t.Fatal(err)
	}
	return rows
}

func (c frontDesk) picturesOf(jobID int64) []picture.Picture {
	c.t.Helper()
	list, err := picture.OfJob(context.Background(), c.pool, jobID)
	if err != nil {
		c.t.Fatal(err)
	}
	return list
}

func TestAPictureTakenAtTheCounterIsOneOfTheJobAsItCame(t *testing.T) {
	c := newFrontDesk(t)
	p := c.shotAt("unit0", "press", "find").want(http.StatusOK)
	taken := p.Find(`[name="unit0.picture"][checked]`).AttrOr("value", "")
	thumb := p.Find(`#units .thumbs img`).AttrOr("src", "")
	c.get(thumb).want(http.StatusOK)
	c.as(mechanic).get(thumb).want(http.StatusForbidden)

	p = c.post("/drop-off", c.fields("draft", arrivingForm, "unit0.picture", taken, "limit", "a lot")...).want(http.StatusUnprocessableEntity)
	if p.Find(`[name="unit0.picture"][checked]`).AttrOr("value", "") != taken || len(c.jobs()) != 0 {
		t.Fatal("the picture is gone from a form that was refused, or a job is there")
	}
	visit := c.post("/drop-off", c.fields("draft", arrivingForm, "unit0.picture", taken)...).want(http.StatusSeeOther).to
	at := c.get(visit).Find(`tbody a[href^="/jobs/"]`).First().AttrOr("href", "")
	if n := c.get(at).want(200).Find(`#as-it-came-part img`).Length(); n != 1 {
		t.Errorf("the job shows %d pictures as it came, want 1", n)
	}
	if list := c.picturesOf(c.jobs()[0].ID); len(list) != 1 || list[0].Actor != c.person.Name || list[0].StepID != nil {
		t.Errorf("the job has %+v, want one picture of %s at no step", list, c.person.Name)
	}
	c.get(thumb).want(http.StatusNotFound) // it waits no more
}

func TestAPictureOfADropOffGoesWithItsFormInOnePress(t *testing.T) {
	c := newFrontDesk(t)
	intent := []string{"intent", "6ba7b812-9dad-11d1-80b4-00c04fd430c8"}
	first := c.shotAt("unit0", intent...).want(http.StatusSeeOther)
	c.shotAt("unit0", intent...).wantTo(first.to)
	if list := c.picturesOf(c.jobs()[0].ID); len(list) != 1 {
		t.Errorf("pressed twice: %d pictures, want 1", len(list))
	}
}

func TestEachUnitHasItsOwnPictures(t *testing.T) {
	c := newFrontDesk(t)
	files := []attached{{"unit0.file", drawnJPEG(t, 640, 480)}, {"unit1.file", drawnJPEG(t, 80, 60)}, {"unit1.file", drawnJPEG(t, 60, 80)}}
	c.postFiles("/drop-off", files, c.fields("draft", arrivingForm, "units", "2",
		"unit1.unit", "new", "unit1.kind", "rear shock", "unit1.words", "coil shock", "unit1.services", "other", "unit1.complaint", "squeaks")...).want(http.StatusSeeOther)
	for _, j := range c.jobs() {
		want := map[string]int{"Tindra Lode": 1, "coil shock": 2}[j.Unit]
		if n := len(c.picturesOf(j.ID)); n != want {
			t.Errorf("%s has %d pictures, want %d", j.Unit, n, want)
		}
	}
}

func TestAPictureStaysInADraftAndGoesWithIt(t *testing.T) {
	c := newFrontDesk(t)
	to := c.shotAt("unit0", "press", "draft").want(http.StatusSeeOther).to
	p := c.get(to).want(http.StatusOK)
	thumb := p.Find(`#units .thumbs img`).AttrOr("src", "")
	c.get(thumb).want(http.StatusOK)
	c.post("/drop-off/draft/throw", "draft", arrivingForm, "version", "1").want(http.StatusSeeOther)
	c.get(thumb).want(http.StatusNotFound)
}

func TestWhatIsNoPictureIsSaidBesideItsFieldAndNothingIsLost(t *testing.T) {
	c := newFrontDesk(t)
	for _, press := range []string{"take in", "find", "draft", "add"} {
		files := []attached{{"unit0.file", []byte("no picture")}, {"unit0.file", drawnJPEG(t, 64, 48)}}
		p := c.postFiles("/drop-off", files, c.fields("draft", arrivingForm, "press", press, "unit0.complaint", "like gravel")...).want(http.StatusUnprocessableEntity)
		if got := p.wrong("unit0.file"); !strings.Contains(got, "Take a JPEG, PNG or WebP.") {
			t.Errorf("%s: beside the pictures stands %q", press, got)
		}
		if n := p.Find(`[name="unit0.picture"][checked]`).Length(); n != 1 || p.words(`[name="unit0.complaint"]`) != "like gravel" {
			t.Errorf("%s: %d pictures, complaint %q; want the good one and the words kept", press, n, p.words(`[name="unit0.complaint"]`))
		}
	}
	if len(c.jobs()) != 0 {
		t.Error("a job is there all the same")
	}
	c.get("/drop-off?draft="+arrivingForm).want(http.StatusOK).wantWords(`[name="unit0.complaint"]`, "like gravel")
}

func TestAPictureOfAnotherFormIsNotTaken(t *testing.T) {
	c := newFrontDesk(t)
	p := c.shotAt("unit0", "press", "find").want(http.StatusOK)
	taken := p.Find(`[name="unit0.picture"]`).AttrOr("value", "")
	c.post("/drop-off", c.fields("draft", "7c9e6679-7425-40de-944b-000000000000", "unit0.picture", taken)...).want(http.StatusSeeOther)
	if n := len(c.picturesOf(c.jobs()[0].ID)); n != 0 {
		t.Errorf("the job has %d pictures of another form", n)
	}
}

func TestTheScriptKeepsAPictureOfADropOffAtOnce(t *testing.T) {
	c := newFrontDesk(t)
	shot := []attached{{"file", drawnJPEG(t, 64, 48)}}
	p := c.postFiles("/drop-off/pictures", shot, "draft", arrivingForm, "part", "unit1.picture").want(http.StatusOK)
	if p.Find(`[name="unit1.picture"][checked]`).Length() != 1 || p.Find("main").Length() != 0 {
		t.Errorf("it answers with %q, want the picture in its field", p.body)
	}
	c.postFiles("/drop-off/pictures", []attached{{"file", []byte("no picture")}}, "draft", arrivingForm, "part", "unit1.picture").want(http.StatusUnprocessableEntity)
	c.postFiles("/drop-off/pictures", shot, "part", "unit1.picture").want(http.StatusConflict)
}
