package web

import "testing"

func TestWhatASymptomUsuallyNeedsIsTakenWithOnePress(t *testing.T) {
	c := newFrontDesk(t)
	press := c.get("/drop-off").want(200).Find(`.of-knocks button[data-ticks]`).AttrOr("value", "no button")
	p := c.post("/drop-off", c.fields("press", press, "unit0.symptoms", "knocks")...).want(200)
	for service, want := range map[string]int{"lower-leg": 1, "bushing": 1, "damper": 0} {
		if n := p.Find(`[name="unit0.services"][value="` + service + `"][checked]`).Length(); n != want {
			t.Errorf("%s is ticked %d times, want %d", service, n, want)
		}
	}
	if n := p.Find(`.of-knocks .usual`).Length(); n != 1 {
		t.Errorf("what a knock needs stands %d times beside it, want once", n)
	}
	p.wantWords(".of-knocks .usual", "by the trade’s list; 0 such forks finished here, our own figures from 20")

	// A coil-spring service is not ticked for a fork whose spring nobody knows.
	press = c.get("/drop-off").want(200).Find(`.of-tops-out button[data-ticks]`).AttrOr("value", "no button")
	p = c.post("/drop-off", c.fields("press", press, "unit0.services", "damper")...).want(200)
	for service, want := range map[string]int{"air-spring": 1, "coil-spring": 0} {
		if n := p.Find(`[name="unit0.services"][value="` + service + `"][checked]`).Length(); n != want {
			t.Errorf("%s is ticked %d times, want %d", service, n, want)
		}
	}
}
