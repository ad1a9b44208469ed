package job

import (
	"testing"
	"time"
)

// Days are those of the shop's zone. Sources: the board as drawn in the design
// (Tuesday 14 October 2025, 14:12); clock changes of Europe/London from tzdata.
func TestRemark(t *testing.T) {
	london, err := time.LoadLocation("Europe/London")
	if err != nil {
		t.Fatal(err)
	}
	at := func(day, hour, minute int) time.Time {
		return time.Date(2025, time.October, day, hour, minute, 0, 0, london)
	}
	day := func(d int) *time.Time {
		date := time.Date(2025, time.October, d, 0, 0, 0, 0, time.UTC)
		return &date
	}
	now := at(14, 14, 12)
	parts := func(expected *time.Time) []Wait {
		return []Wait{{Kind: WaitingOnParts, ExpectedOn: expected, At: at(10, 9, 0)}}
	}
	asked := []Wait{{Kind: WaitingOnCustomer, At: at(13, 16, 48)}}
	for _, c := range []struct {
		name     string
		promised time.Time
		stage    string
		holds    []Wait
		now      time.Time
		kind     RemarkKind
		words    string
	}{
		{"yesterday", at(13, 17, 0), OnBench, nil, now, RemarkLate, "late by 1 day"},
		{"three days ago", at(11, 17, 0), OnBench, nil, now, RemarkLate, "late by 3 days"},
		{"just before midnight", at(13, 23, 59), OnBench, nil, at(14, 0, 1), RemarkLate, "late by 1 day"},
		{"this morning", at(14, 12, 52), InQueue, nil, now, RemarkLate, "late by 1 h 20 min"},
		{"two hours ago", at(14, 12, 12), InQueue, nil, now, RemarkLate, "late by 2 h"},
		{"a little ago", at(14, 14, 0), InQueue, nil, now, RemarkLate, "late by 12 min"},
		{"just now", now.Add(-30 * time.Second), InQueue, nil, now, RemarkLate, "late by under a minute"},
		{"this very moment", now, InQueue, nil, now, RemarkTight, "tight"},
		{"in two hours", at(14, 16, 12), FinalCheck, nil, now, RemarkTight, "tight"},
		{"in two hours and a minute", at(14, 16, 13), OnBench, nil, now, RemarkToday, "due today"},
		{"tonight", at(14, 23, 59), OnBench, nil, now, RemarkToday, "due today"},
		{"tomorrow", at(15, 0, 0), OnBench, nil, now, RemarkOnTime, "on time"},
		{"tomorrow, near midnight", at(15, 0, 30), OnBench, nil, at(14, 23, 0), RemarkTight, "tight"},
		{"ready, promised today", at(14, 17, 0), Ready, nil, now, RemarkReady, "ready"},
		{"ready, late", at(13, 17, 0), Ready, nil, now, RemarkReady, "ready"},
		{"late for want of parts", at(13, 17, 0), OnBench, parts(day(16)), now, RemarkLateWaiting, "late; parts due Thu"},
		{"parts today", at(15, 17, 0), InQueue, parts(day(14)), now, RemarkWaiting, "parts due today"},
		{"parts late", at(15, 17, 0), InQueue, parts(day(13)), now, RemarkWaiting, "parts overdue since Mon"},
		{"parts next week", at(24, 17, 0), InQueue, parts(day(21)), now, RemarkWaiting, "parts due 21 October"},
		{"parts nobody knows when", at(15, 17, 0), InQueue, parts(nil), now, RemarkWaiting, "waiting on parts since Fri"},
		{"asked yesterday", at(14, 17, 30), OnBench, asked, now, RemarkAsking, "waiting on customer since Mon"},
		{"asked long ago", at(28, 17, 30), OnBench, asked, at(27, 10, 0), RemarkAsking, "waiting on customer since 13 October"},
		{"sent out", at(17, 17, 0), OnBench, []Wait{{Kind: SentOut, ExpectedOn: day(16)}}, now, RemarkWaiting, "back due Thu"},
		// The night of 26 October has 25 hours: still one day.
		{"over the clock change", at(25, 17, 0), OnBench, nil, at(26, 17, 30), RemarkLate, "late by 1 day"},
	} {
		r := BoardRow{PromisedAt: c.promised.UTC(), Stage: c.stage, Holds: c.holds}
		if got := r.Remark(c.now.UTC(), london); got != (Remark{c.kind, c.words}) {
			t.Errorf("%s: Remark = %q, want %s %q", c.name, got, c.kind, c.words)
		}
	}
}

func TestRemarkGoesByTheZone(t *testing.T) {
	auckland, err := time.LoadLocation("Pacific/Auckland")
	if err != nil {
		t.Fatal(err)
	}
	promised := time.Date(2025, 10, 14, 10, 0, 0, 0, time.UTC) // 23:00 on the 14th in Auckland
	now := time.Date(2025, 10, 14, 11, 30, 0, 0, time.UTC)     // 00:30 on the 15th
	r := BoardRow{PromisedAt: promised, Stage: OnBench}
	if got := r.Remark(now, time.UTC).Words; got != "late by 1 h 30 min" {
		t.Errorf("in UTC: %q", got)
	}
	if got := r.Remark(now, auckland).Words; got != "late by 1 day" {
		t.Errorf("in Auckland: %q", got)
	}
}

func TestTallyCountsEachOpenJobOnce(t *testing.T) {
	ines, tobias := int64(1), int64(2)
	rows := []BoardRow{
		{MechanicID: &tobias, Mechanic: "Tobias", Stage: OnBench, Holds: []Wait{{Kind: WaitingOnParts}, {Kind: WaitingOnCustomer}}},
		{MechanicID: &ines, Mechanic: "Ines", Stage: OnBench},
		{MechanicID: &ines, Mechanic: "Ines", Stage: InQueue},
		{Stage: DroppedOff},
	}
	got := Tally(rows)
	wantPeople := []MechanicCount{{1, "Ines", 2}, {2, "Tobias", 1}, {0, "", 1}}
	wantStages := []StageCount{{DroppedOff, 1}, {InQueue, 1}, {OnBench, 1}, {WaitingOnParts, 1}}
	if got.Open != 4 || len(got.Mechanics) != 3 || len(got.Stages) != 4 {
		t.Fatalf("Tally = %+v", got)
	}
	for i, w := range wantPeople {
		if got.Mechanics[i] != w {
			t.Errorf("mechanic %d: %+v, want %+v", i, got.Mechanics[i], w)
		}
	}
	for i, w := range wantStages {
		if got.Stages[i] != w {
			t.Errorf("stage %d: %+v, want %+v", i, got.Stages[i], w)
		}
	}
	nobody := int64(0)
	for _, c := range []struct {
		f    BoardFilter
		want int
	}{
		{BoardFilter{}, 4},
		{BoardFilter{Mechanic: &ines}, 2},
		{BoardFilter{Mechanic: &nobody}, 1},
		{BoardFilter{Stage: OnBench}, 1},
		{BoardFilter{Stage: WaitingOnParts}, 1},
		{BoardFilter{Mechanic: &ines, Stage: WaitingOnParts}, 0},
	} {
		n := 0
		for _, r := range rows {
			if c.f.Keeps(r) {
				n++
			}
		}
		if n != c.want {
			t.Errorf("filter %+v keeps %d rows, want %d", c.f, n, c.want)
		}
	}
}
