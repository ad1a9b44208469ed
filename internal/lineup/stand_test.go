package lineup

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"damperdesk/internal/worktime"
)

// after is a wait of so many minutes with so many of work after it.
func after(left, minutes float64) Wait {
	return Wait{Left: minute(left).Sub(start), Until: func(at time.Time) time.Time { return at.Add(minute(minutes).Sub(start)) }}
}

// Reckoned by hand.
func TestWhatStandsLetsOthersPass(t *testing.T) {
	nine := func(at time.Time) time.Time { return start.AddDate(0, 0, 1).Add(9 * time.Hour) }
	for _, c := range []struct {
		rule string
		jobs []Job
		want string // job@start-finish in minutes, in the order of the line
	}{
		{"nobody is at it, and nothing else is there", []Job{{ID: 1, Left: time.Hour, Waits: []Wait{after(20, 30)}}}, "1@540-630"},
		{"others are done meanwhile, and left when it is over",
			[]Job{{ID: 1, Left: time.Hour, Waits: []Wait{after(20, 30)}}, {ID: 2, Left: time.Hour}}, "1@540-630 2@580-660"},
		{"twice", []Job{{ID: 1, Left: time.Hour, Waits: []Wait{after(40, 15), after(10, 15)}}}, "1@540-630"},
		{"overnight", []Job{{ID: 1, Left: time.Hour, Waits: []Wait{{10 * time.Minute, nine}}}, {ID: 2, Left: time.Hour}}, "1@540-1990 2@590-650"},
		{"over when nobody is there", []Job{{ID: 1, Left: time.Hour, Waits: []Wait{after(10, 700)}}, {ID: 2, Left: time.Hour}}, "1@540-1990 2@590-650"},
		{"it stands already", []Job{{ID: 1, Left: 20 * time.Minute, Rank: UnderWay, Mechanic: 1, Waits: []Wait{after(20, 600)}}, {ID: 2, Left: 2 * time.Hour}},
			"1@600-620 2@540-680"},
		{"one stands while another does", []Job{{ID: 1, Left: time.Hour, Waits: []Wait{after(30, 60)}}, {ID: 2, Left: time.Hour, Waits: []Wait{after(30, 10)}}},
			"1@540-660 2@570-670"},
		{"both came back in the night", []Job{{ID: 1, Left: time.Hour, Waits: []Wait{{10 * time.Minute, nine}}}, {ID: 2, Left: time.Hour, Waits: []Wait{{10 * time.Minute, nine}}}},
			"1@540-1990 2@590-2000"},
		{"nothing is left to do after it", []Job{{ID: 1, Left: time.Hour, Waits: []Wait{after(0, 30)}}}, "1@540-630"},
	} {
		var got []string
		one := []Mechanic{{ID: 1, Hours: hours(worktime.Span{From: 540, To: 1020})}}
		for _, p := range line(t, 0, one, c.jobs...).Forward() {
			got = append(got, fmt.Sprintf("%d@%.0f-%.0f", p.ID, p.Start.Sub(start).Minutes(), p.Finish.Sub(start).Minutes()))
			if len(p.Back) != len(p.Waits) {
				t.Errorf("%s: %d waits, over at %v", c.rule, len(p.Waits), p.Back)
			}
		}
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("%s: %s, want %s", c.rule, s, c.want)
		}
	}
}

// minutely works the line through minute by minute with one mechanic: on the
// bench lies a pile, its top is worked on, and what has stood goes on top, unless
// it came back before that was begun.
func minutely(jobs []Job) map[int64]int {
	type begun struct{ job, waits, left, back, since int }
	finish, next := map[int64]int{}, 0
	var pile, stand []begun
	mins := func(d time.Duration) int { return int(d / time.Minute) }
	for now := 0; len(finish) < len(jobs); now++ {
		for again := true; again; {
			again = false
			if n := len(pile) - 1; n >= 0 && pile[n].left == 0 {
				b := pile[n]
				pile, again = pile[:n], true
				if j := jobs[b.job]; b.waits < len(j.Waits) {
					b.back = mins(j.Waits[b.waits].Until(minute(float64(now))).Sub(start))
					b.waits++
					b.left = mins(j.stretch(b.waits))
					stand = append(stand, b)
				} else {
					finish[j.ID] = now
				}
				continue
			}
			first := -1
			for i, b := range stand {
				n := len(pile) - 1
				if b.back <= now && (n < 0 || b.back > pile[n].since) && (first < 0 || b.back < stand[first].back) {
					first = i
				}
			}
			if first >= 0 {
				stand[first].since = now
				pile, again = append(pile, stand[first]), true
				stand = append(stand[:first:first], stand[first+1:]...)
			} else if len(pile) == 0 && next < len(jobs) {
				pile, again = append(pile, begun{job: next, since: now, left: mins(jobs[next].stretch(0))}), true
				next++
			}
		}
		if n := len(pile) - 1; n >= 0 {
			pile[n].left--
		}
	}
	return finish
}

func TestStandingIsAsMinuteByMinute(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var jobs []Job
		for i := range rapid.IntRange(1, 6).Draw(rt, "n") {
			left := rapid.IntRange(1, 60).Draw(rt, "left")
			j := Job{ID: int64(i + 1), Left: time.Duration(left) * time.Minute, Due: minute(float64(1000 + i))}
			for range rapid.IntRange(0, 2).Draw(rt, "waits") {
				left = rapid.IntRange(0, left).Draw(rt, "after")
				j.Waits = append(j.Waits, after(float64(left), float64(rapid.IntRange(0, 90).Draw(rt, "stands"))))
			}
			jobs = append(jobs, j)
		}
		want := minutely(jobs)
		for _, p := range line(t, 0, []Mechanic{{ID: 1, Hours: always}}, jobs...).Forward() {
			if got := int(p.Finish.Sub(start).Minutes()); got != want[p.ID] {
				rt.Fatalf("job %d of %+v is finished at %d, minute by minute at %d", p.ID, jobs, got, want[p.ID])
			}
		}
	})
}
