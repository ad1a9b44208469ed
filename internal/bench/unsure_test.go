package bench_test

import (
	"testing"

	"damperdesk/internal/bench"
	"damperdesk/internal/db/dbtest"
)

const alwaysApplies = "outcome: A torque, a volume, a stop-here and a step with a second check always apply."

func (d *desk) not(key, reason string) bench.Signing {
	return bench.Signing{StepID: d.step(key).ID, Outcome: bench.OutcomeNot, Reason: reason}
}

func TestOfAForkNotKnownOneWayToTakeTheLoadOffApplies(t *testing.T) {
	d := newDesk(t, dbtest.Tx(t), 0)
	d.start()
	d.signUpTo("S4")
	refused(t, "no reason", d.sign(d.not("S5", " ")), "reason: Say why it does not apply.")
	must(t, d.sign(d.not("S5", "coil spring, no valve")))
	refused(t, "knob before the preload is off", d.sign(d.expected(*d.step("S6"))),
		"Stop here: step "+seq(d, "S5.coil")+", “Take the spring preload off”, comes first.")
	refused(t, "neither way", d.sign(d.not("S5.coil", "no preload adjuster")),
		"Step "+seq(d, "S5")+" is signed as one that does not apply; of the two, one has to be done.")
	must(t, d.sign(bench.Signing{StepID: d.step("S5.coil").ID}))
	must(t, d.sign(d.expected(*d.step("S6"))))

	must(t, bench.CrossOut(ctx, d.tx, d.act(), d.job, d.step("S5").Done.ID, "it has a valve after all"))
	if d.step("S5.coil").Done != nil || d.step("S6").Done != nil {
		t.Error("a stop-here that did not apply is crossed out and what came after it stays")
	}
	must(t, d.sign(bench.Signing{StepID: d.step("S5").ID}))
	must(t, d.sign(d.not("S5.coil", "air spring")))
	must(t, d.sign(d.expected(*d.step("S6"))))
}

func TestTheOilOfALegNotKnownMayNotApply(t *testing.T) {
	d := newDesk(t, dbtest.Tx(t), 0)
	d.start()
	d.signUpTo("Z2")
	must(t, d.sign(d.not("Z4", "the damper of this leg shares its oil")))
	refused(t, "a foot torque, which every fork has", d.sign(d.not("Z7", "no bolt")), alwaysApplies)
}

func TestWhatIsKnownToApplyAlwaysDoes(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	d.signUpTo("S4")
	for _, key := range []string{"S5", "Z1", "Z3", "Z7"} {
		if d.step(key).MayNotApply() {
			t.Errorf("%s may be signed as one that does not apply", key)
		}
	}
	refused(t, "air of an air fork", d.sign(d.not("S5", "in a hurry")), alwaysApplies)
}
