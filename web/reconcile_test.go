package web

import (
	"context"
	"net/http"
	"testing"

	"damperdesk/internal/customer"
)

// formOf is a form as it is on a page: each field, and what it was opened at.
func formOf(p *page, fields ...string) map[string]string {
	form := map[string]string{}
	for _, name := range fields {
		form["was."+name] = p.Find(`[name="was.`+name+`"]`).AttrOr("value", "")
		form[name] = form["was."+name]
	}
	return form
}

func (c frontDesk) details() customer.Customer {
	c.t.Helper()
	who, err := customer.Get(context.Background(), c.pool, c.customer)
	if err != nil {
		c.t.Fatal(err)
	}
	return who
}

func (c frontDesk) unit() customer.Unit {
	c.t.Helper()
	u, err := customer.GetUnit(context.Background(), c.pool, c.fork)
	if err != nil {
		c.t.Fatal(err)
	}
	return u
}

func TestTwoDesksChangeACustomersDetailsAndNothingIsLost(t *testing.T) {
	c := newFrontDesk(t)
	path := "/customers/" + c.id(c.customer)
	form := formOf(c.get(path).want(200), customer.DetailFields...) // by both
	c.as(desk).post(path, changed(form, "phone", "07700 900222", "mail", "odette@example.com")...).wantTo(path + "?done=details")

	c.post(path, changed(form, "name", "Odette Marsh-Ellery", "address", "1 Weir Lane")...).wantTo(path + "?done=details-both")
	c.get(path+"?done=details-both").want(200).wantWords("main", "that stands too")
	if d := c.details(); d.Name != "Odette Marsh-Ellery" || d.Phone != "07700 900222" || d.Mail != "odette@example.com" || d.Address != "1 Weir Lane" {
		t.Errorf("both changes give %+v", d)
	}

	p := c.post(path, changed(form, "phone", "07700 900333", "address", "2 Weir Lane")...).want(http.StatusConflict)
	for _, words := range []string{"07700 900333 yours", "07700 900222 theirs", "07700 900118 what was there"} {
		p.wantWords(`fieldset:has([name="pick.phone"])`, words)
	}
	if c.details().Phone != "07700 900222" || c.details().Address != "1 Weir Lane" {
		t.Error("something of a clash was kept")
	}
	back := formOf(p, customer.DetailFields...)
	back["clashes"], back["old.phone"], back["old.address"] = p.value("clashes"), p.value("old.phone"), p.value("old.address")
	back["phone"], back["address"] = "07700 900333", p.words(`[name="address"]`)
	if back["clashes"] != "phone address" || back["address"] != "2 Weir Lane" {
		t.Fatalf("the form comes back asking about %q, with the address %q", back["clashes"], back["address"])
	}
	p = c.post(path, changed(back, "pick.phone", "mine")...).want(http.StatusUnprocessableEntity)
	if p.wrong("pick.address") == "" || p.value("phone") != "07700 900333" {
		t.Errorf("nothing is said of the one that was not chosen, or the phone %q is gone", p.value("phone"))
	}
	c.post(path, changed(back, "pick.phone", "mine", "pick.address", "theirs")...).wantTo(path + "?done=details")
	if d := c.details(); d.Phone != "07700 900333" || d.Address != "1 Weir Lane" || d.Name != "Odette Marsh-Ellery" {
		t.Errorf("after choosing: %+v", d)
	}
	c.post(path, changed(back, "pick.phone", "mine", "pick.address", "theirs", "mail", "none")...).want(http.StatusUnprocessableEntity)
}

func TestTwoDesksCorrectAUnitAndNothingIsLost(t *testing.T) {
	c := newFrontDesk(t)
	path := "/units/" + c.id(c.fork)
	form := formOf(c.get(path+"/change").want(200), customer.UnitFields...)
	_, form["words"] = customer.ModelOf(form["model"])
	delete(form, "model")
	sent := func(changes ...string) []string { return changed(form, append([]string{"model", "0"}, changes...)...) }
	c.as(mechanic).post(path+"/change", sent("serial", "TL-20419", "colour", "green", "words", "Tindra Lode coil")...).wantTo(path + "?done=unit")

	c.post(path+"/change", sent("tag", "T 7", "bike", "hardtail")...).wantTo(path + "?done=unit-both")
	if u := c.unit(); u.Serial != "TL-20419" || u.BikeColour != "green" || u.Name != "Tindra Lode coil" || u.Tag != "T 7" || u.BikeWords != "hardtail" {
		t.Errorf("both corrections give %+v", u)
	}

	p := c.post(path+"/change", sent("words", "Tindra Lode air", "colour", "blue")...).want(http.StatusConflict)
	for _, words := range []string{"Tindra Lode air yours", "Tindra Lode coil theirs", "Tindra Lode what was there"} {
		p.wantWords(`fieldset:has([name="pick.model"])`, words)
	}
	if p.value("words") != "Tindra Lode air" || p.value("tag") != "T 7" || c.unit().BikeColour != "green" {
		t.Error("the form has not what both left it with, or something of a clash was kept")
	}
	back := formOf(p, customer.UnitFields...)
	back["words"], back["model"], back["clashes"] = "Tindra Lode air", "0", p.value("clashes")
	back["old.model"], back["old.colour"] = p.value("old.model"), p.value("old.colour")
	c.post(path+"/change", changed(back, "pick.model", "mine", "pick.colour", "was")...).wantTo(path + "?done=unit")
	if u := c.unit(); u.Name != "Tindra Lode air" || u.BikeColour != "" || u.Serial != "TL-20419" || u.Tag != "T 7" {
		t.Errorf("after choosing: %+v", u)
	}
}
