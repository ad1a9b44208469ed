package job_test

import (
	"testing"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
)

// The services that forks with a symptom usually need: common practice (no
// source).
func TestTheTradesListStandsUntilTheShopKnowsMore(t *testing.T) {
	_, services := procedure.Shipped()
	for _, s := range job.Symptoms {
		few := []job.Ended{{Symptom: s.Code, N: job.LeastUsual - 1}, {Symptom: s.Code, Service: "full", N: job.LeastUsual - 1}}
		usual, err := job.UsualOf(few, services)
		if err != nil {
			t.Fatal(err)
		}
		u := usual[s.Code]
		if len(u.Needs) == 0 || u.Own() || u.N != job.LeastUsual-1 {
			t.Errorf("%s: %+v, want the trade's list and how many were finished", s.Code, u)
		}
		for _, n := range u.Needs {
			if service, ok := procedure.ByCode(services, n.Code); !ok || !service.For("fork") {
				t.Errorf("%s needs %s, which is no service for forks", s.Code, n.Code)
			}
		}
	}
}

func TestTheShopsOwnJobsSayMore(t *testing.T) {
	ended := []job.Ended{
		{Symptom: "sticky", N: 40}, {Symptom: "sticky", Service: "bushing", N: 30}, {Symptom: "sticky", Service: "lower-leg", N: 14},
		{Symptom: "harsh", N: 30}, {Symptom: "harsh", Service: "bushing", N: 2}, {Symptom: "harsh", Service: "lower-leg", N: 12},
		{Symptom: "dives", N: 50}, {Symptom: "dives", Service: "bushing", N: 5}, {Symptom: "dives", Service: "full", N: 45},
		{Symptom: "dives", Service: "damper", N: 40},
	}
	_, services := procedure.Shipped()
	usual, err := job.UsualOf(ended, services)
	if err != nil {
		t.Fatal(err)
	}
	sticky := usual["sticky"]
	if !sticky.Own() || len(sticky.Needs) != 1 || sticky.Needs[0].Code != "bushing" || sticky.N != 40 {
		t.Fatalf("sticky needs %+v, want the bushings that three of four had", sticky)
	}
	// Drawn from 30 of 40 toward 37 of 120, and no further.
	if next := sticky.Needs[0].Next; next.Share >= 0.75 || next.Share <= 37.0/120 || next.Low >= next.Share || next.High <= next.Share {
		t.Errorf("of the next ones %+v", *next)
	}
	if harsh := usual["harsh"]; harsh.Own() || harsh.Needs[0].Code != "lower-leg" {
		t.Errorf("harsh needs %+v, want the trade's list where nothing reaches a half", harsh)
	}
	if dives := usual["dives"]; len(dives.Needs) != 1 || dives.Needs[0].Code != "full" {
		t.Errorf("dives needs %+v, want the full service alone, which covers the damper's", dives)
	}
}

func TestOnlyFinishedForksCount(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	before, err := job.EndedBy(ctx, tx, d.by.At.AddDate(-1, 0, 0))
	if err != nil {
		t.Fatal(err)
	}
	left := d.leave(20)
	d.takeIn() // on the board still
	ended, err := job.EndedBy(ctx, tx, d.by.At.AddDate(-1, 0, 0))
	if err != nil {
		t.Fatal(err)
	}
	if len(before) != 0 || len(ended) != len(left.Symptoms)*(1+len(left.Services)) {
		t.Errorf("before %v, then %v; want one line of each symptom %v and each service %v", before, ended, left.Symptoms, left.Services)
	}
	for _, e := range ended {
		if e.N != 1 {
			t.Errorf("%+v, want the one that left", e)
		}
	}
	late, err := job.EndedBy(ctx, tx, d.by.At.AddDate(0, 0, -10))
	if err != nil || len(late) != 0 {
		t.Errorf("of the last ten days: %v, %v", late, err)
	}
}
