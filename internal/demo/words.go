package demo

import (
	"math/rand/v2"

	"damperdesk/internal/job"
)

// planTask draws the complaint and what goes with it. The word of the rider
// and the note of the mechanic belong together.
func planTask(t *task, r *rand.Rand) {
	c := complaints[0]
	if r.IntN(5) > 1 {
		c = pick(r, complaints[1:]...)
	}
	if c.symptom == losesAir && modelOf(t.unit.model).spring != "air" {
		c = complaints[0]
	}
	t.symptoms, t.complaint, t.note = []string{c.symptom}, c.words, c.note
	t.riding = pick(r, "trails, two rides a week", "cross-country, three rides a week", "bike park, weekends", "commuting, every day")
	t.hangs = pick(r, "hook 1", "hook 2", "hook 3", "hook 4", "shelf B", "shelf C")
	t.whole = r.IntN(6) == 0
}

// losesAir is the complaint of a fork whose air spring is serviced.
const losesAir = "loses-air"

var complaints = []struct{ symptom, words, note string }{
	{job.JustDue, "", "Lower legs cleaned, new oil in both, foams soaked. Nothing worn that needs doing now. Your settings are back where they were."},
	{"sticky", "Takes a push before it moves, worse after standing for a few days.", "The foams were dry and the oil was nearly gone, which made it sticky at the top. It moves freely again; ride it a little more often than the rain does."},
	{"harsh", "Hands hurt after long descents.", "The oil was black and thin. With new oil it is much softer over small stones. If it still feels harsh, try 3 psi less."},
	{"oil", "A ring of oil after each ride.", "The ring came from a wiper that had picked up grit. Cleaned and greased, dry after standing. Wipe the stanchions after wet rides."},
	{"dives", "Goes down too far when I brake.", "Nothing is broken; it had lost some pressure over the winter. Check it once a month, before the first ride of the day."},
	{"tops-out", "Clunks when I lift the front.", "The clunk was rebound set nearly open. Two clicks slower and it is gone; the lower legs are serviced as well."},
	{"knocks", "A knock under braking, headset is tight.", "The knock was a loose foot bolt, not the bushings. Both are at their torque now. Listen on the first ride; if it is back, bring it in."},
	{losesAir, "Has to be pumped up every week.", "The seals of the air spring were hard and one was nicked; all of them are new, and so is the valve core. It held its pressure here overnight."},
	{"scratch", "Scratched by a rack.", "The scratch does not catch a fingernail and lies above where the seals run. Keep an eye on it; nothing needs doing."},
	{"rebound", "The knob turns but nothing changes.", "The knob had slipped on its shaft. It is fixed and every click can be felt."},
}
