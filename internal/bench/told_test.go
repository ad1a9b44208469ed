package bench_test

import (
	"testing"

	"damperdesk/internal/bench"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/job"
)

func TestWhoeverTakesItIsToldNotToRide(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	add := func(grade, words string) int64 {
		t.Helper()
		must(t, bench.AddFinding(ctx, d.tx, d.act(), d.job, bench.Found{Grade: grade, Cause: bench.FoundSo, Words: words}))
		list, err := bench.Findings(ctx, d.tx, d.job)
		must(t, err)
		return list[len(list)-1].ID
	}
	tell := func(who string, ticked ...int64) error {
		return d.tried(func(tx pgxTx) error { return bench.Tell(ctx, tx, dbtest.Act(t, tx, d.by), d.job, ticked, who) })
	}
	add(bench.FoundDue, "foot washer squashed")
	must(t, tell(""))
	crack, creak, axle := add(bench.FoundUnsafe, "crack under the crown"), add(bench.FoundUnsafe, "crown creaks"), add(bench.FoundUnsafe, "axle loose")
	must(t, bench.Mend(ctx, d.tx, d.act(), d.job, axle, "tightened"))
	refused(t, "one of two", tell("Mirela", crack), "told: Tick each of them once whoever takes it has been told.")
	refused(t, "nobody", tell(" ", crack, creak), "toldwho: Say who was told.")
	must(t, bench.Tell(ctx, d.tx, d.act(), d.job, []int64{crack, creak}, " Mirela "))
	var told int
	must(t, d.tx.QueryRow(ctx, "select count(*) from finding_told where told = 'Mirela' and finding_id in ($1, $2)", crack, creak).Scan(&told))
	if told != 2 {
		t.Errorf("%d are kept as told, want both that stand", told)
	}
}

func TestWhatHappenedHereStandsUntilAnOwnerHasSeenIt(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	for _, words := range []string{"arch scratched by the vice", "knob slot marked", "nothing, it was there before"} {
		must(t, bench.AddFinding(ctx, d.tx, d.act(), d.job, bench.Found{Grade: bench.FoundNote, Cause: bench.HappenedHere, Words: words}))
	}
	must(t, bench.AddFinding(ctx, d.tx, d.act(), d.job, bench.Found{Grade: bench.FoundNote, Cause: bench.FoundSo, Words: "old dent"}))
	list, err := bench.Mishaps(ctx, d.tx)
	must(t, err)
	if len(list) != 3 || list[0].Words != "arch scratched by the vice" || list[0].JobID != d.job {
		t.Fatalf("not seen yet: %+v", list)
	}
	must(t, bench.Withdraw(ctx, d.tx, d.act(), d.job, list[2].ID, "seen in the pictures"))
	refused(t, "a mechanic", bench.See(ctx, d.tx, dbtest.By(t, d.tx, "mechanic"), list[0].ID), "What happened here is for an owner to see.")
	for range 2 { // a second press does nothing new
		must(t, bench.See(ctx, d.tx, d.act(), list[0].ID))
	}
	if list, err = bench.Mishaps(ctx, d.tx); err != nil || len(list) != 1 || list[0].Words != "knob slot marked" {
		t.Errorf("not seen after that: %+v, %v", list, err)
	}
}

func TestTheBoardAndTheBookSayWhatWasFound(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	row := func() job.BoardRow {
		t.Helper()
		rows, err := job.Board(ctx, d.tx, job.BoardFilter{})
		must(t, err)
		return rows[0]
	}
	if r := row(); r.Found != 0 || r.Worst != "" {
		t.Errorf("the board has %d found, %q, before anything is", r.Found, r.Worst)
	}
	for _, grade := range []string{bench.FoundWatch, bench.FoundUnsafe, bench.FoundNote, bench.FoundDue} {
		must(t, bench.AddFinding(ctx, d.tx, d.act(), d.job, bench.Found{Grade: grade, Cause: bench.FoundSo, Words: grade}))
	}
	if r := row(); r.Found != 4 || r.Worst != bench.FoundUnsafe {
		t.Errorf("the board has %d found, the worst %q", r.Found, r.Worst)
	}
	list, err := bench.Findings(ctx, d.tx, d.job)
	must(t, err)
	must(t, bench.Mend(ctx, d.tx, d.act(), d.job, list[1].ID, "mended"))
	if r := row(); r.Found != 3 || r.Worst != bench.FoundDue {
		t.Errorf("with one put right: %d found, the worst %q", r.Found, r.Worst)
	}
	must(t, bench.Withdraw(ctx, d.tx, d.act(), d.job, list[0].ID, "wrong"))
	book, err := bench.FindingsOfUnit(ctx, d.tx, d.unit)
	must(t, err)
	if len(book) != 3 || book[0].Grade != bench.FoundDue || book[2].Answer != bench.PutRight || book[0].JobID != d.job {
		t.Errorf("the book has %+v; want the newest first, what was put right too", book)
	}
}
