package web

import (
	"net/http"
	"testing"

	"damperdesk/internal/bench"
	"damperdesk/internal/customer"
)

func TestAStepAskedForWantOfAFactCanBeLeftOut(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b := c.takeInUnit(customer.UnitDetails{Kind: "fork", ModelWords: "a fork of no known make"}, "lower-leg"), s.as(mechanic)
	_, air := c.onBench(b, j, "S5")
	b.get(air).wantWords(`.answer`, "does not apply")
	b.post(air+"/sign", "outcome", "does not apply", "reason", "coil spring, no valve").want(http.StatusSeeOther)
	sheet, err := bench.Get(t.Context(), c.pool, j.ID)
	if err != nil {
		t.Fatal(err)
	}
	coil := stepPath(j.ID, sheet.ByKey("S5.coil").ID)
	b.post(coil+"/sign", "outcome", "does not apply", "reason", "no preload").want(http.StatusConflict)
}

func TestAStepWithoutAValueCanBeLeftOutWhereNobodyKnew(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b := c.takeInUnit(customer.UnitDetails{Kind: "fork", ModelWords: "a fork of no known make"}, "lower-leg"), s.as(mechanic)
	_, oil := c.onBench(b, j, "Z3")
	b.get(oil).wantWords("form .button", "It does not apply")
	if b.post(oil+"/sign", "outcome", "does not apply").want(http.StatusUnprocessableEntity).wrong("reason") == "" {
		t.Error("left out without a reason")
	}
	b.post(oil+"/sign", "outcome", "does not apply", "reason", "the damper of this leg shares its oil").want(http.StatusSeeOther)
}
