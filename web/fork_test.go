package web

import "testing"

// A drawing that refers to parts of the page shows nothing without them.
func TestTheForkToTapIsDrawn(t *testing.T) {
	c := newFrontDesk(t)
	visit := c.post("/drop-off", c.fields()...).want(303)
	job := c.get(visit.to).want(200).Find(`tbody a[href^="/jobs/"]`).AttrOr("href", "no job")
	c.post(job+"/mark", "place", "crown", "mark", "a chip")
	for _, path := range []string{"/drop-off", job} {
		p := c.get(path).want(200)
		if n := p.Find(`use[href="#fork"]`).Length(); n == 0 {
			t.Errorf("%s has no drawing of a fork", path)
		}
		if n := p.Find("symbol#fork").Length(); n != 1 {
			t.Errorf("%s has %d forks to draw from, want one", path, n)
		}
	}
}
