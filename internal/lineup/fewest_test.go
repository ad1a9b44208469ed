package lineup

import (
	"fmt"
	"math/bits"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"damperdesk/internal/vector"
	"damperdesk/internal/worktime"
)

func TestFewestOfTextbooks(t *testing.T) {
	for _, row := range vector.Rows(t, "lineup", "fewest") {
		jobs := textbook(t, row)
		move, places := line(t, 0, []Mechanic{{ID: 1, Hours: always}}, jobs...).Fewest()
		if want := int(row.Float(t, "move")); len(move) != want {
			t.Errorf("%s: to move %v, want %d", row["source"], move, want)
		}
		if least := leastMoved(jobs, 1); len(move) != least {
			t.Errorf("%s: to move %v, where %d would do", row["source"], move, least)
		}
		var kept []string
		for _, p := range places {
			if !slices.Contains(move, p.ID) {
				kept = append(kept, fmt.Sprint(p.ID))
			}
		}
		if row["kept"] != "" && strings.Join(kept, " ") != row["kept"] {
			t.Errorf("%s: kept %v, want %s", row["source"], kept, row["kept"])
		}
	}
}

// leastMoved tries every way to share out jobs among so many mechanics who
// never go home, and every order of what each one has, idle where that is
// better.
func leastMoved(jobs []Job, mechanics int) int {
	all := 1<<len(jobs) - 1
	fits := make([]bool, all+1)
	for set := range fits {
		fits[set] = onTime(jobs, set, start)
	}
	kept := slices.Clone(fits) // by as many mechanics
	for range mechanics - 1 {
		more := make([]bool, all+1)
		for set := range more {
			for part := set; ; part = (part - 1) & set {
				if more[set] = more[set] || fits[part] && kept[set&^part]; more[set] || part == 0 {
					break
				}
			}
		}
		kept = more
	}
	most := 0
	for set, ok := range kept {
		if ok {
			most = max(most, bits.OnesCount(uint(set)))
		}
	}
	return len(jobs) - most
}

// onTime is whether the jobs of set can follow one another from now on, each by
// its time.
func onTime(jobs []Job, set int, now time.Time) bool {
	if set == 0 {
		return true
	}
	for i, j := range jobs {
		if set>>i&1 == 0 {
			continue
		}
		begin := now
		if j.From.After(begin) {
			begin = j.From
		}
		end := begin.Add(j.Left)
		if !end.After(j.Due) && onTime(jobs, set&^(1<<i), end) {
			return true
		}
	}
	return false
}

func randomJobs(r *rand.Rand, n, mechanics int, later bool) []Job {
	var jobs []Job
	for i := range n {
		j := Job{ID: int64(i + 1), Left: time.Duration(1+r.IntN(12)) * time.Minute}
		if later && r.IntN(2) == 0 {
			j.From = minute(float64(r.IntN(15)))
		}
		j.Due = minute(float64(r.IntN(1 + 7*n/mechanics)))
		if later && j.Due.Before(j.From) {
			j.Due = j.From.Add(j.Left + time.Duration(r.IntN(10))*time.Minute)
		}
		jobs = append(jobs, j)
	}
	return jobs
}

func benchesOf(n int) (who []Mechanic) {
	for id := range int64(n) {
		who = append(who, Mechanic{ID: id + 1, Hours: always})
	}
	return who
}

// One mechanic and nothing to wait for: never one too many. Otherwise the gap
// is what is written here; go test -v prints it.
func TestFewestAgainstEveryWay(t *testing.T) {
	for _, c := range []struct {
		name      string
		mechanics int
		later     bool
		most      float64 // promises moved beyond the least, per line
		worst     int
	}{
		{"one mechanic", 1, false, 0, 0},
		{"two mechanics", 2, false, 0.1, 1},
		{"three mechanics", 3, false, 0.1, 1},
		{"one mechanic, jobs that come later", 1, true, 0.25, 3},
		{"two mechanics, jobs that come later", 2, true, 0.25, 3},
	} {
		r := rand.New(rand.NewPCG(7, uint64(c.mechanics)))
		const lines = 600
		beyond, least, same, worst := 0, 0, 0, 0
		for range lines {
			jobs := randomJobs(r, 3+r.IntN(5), c.mechanics, c.later)
			move, places := line(t, 0, benchesOf(c.mechanics), jobs...).Fewest()
			if late := firstLate(places); late >= 0 {
				t.Fatalf("%s: %+v is late though %v have moved", c.name, places[late], move)
			}
			want := leastMoved(jobs, c.mechanics)
			gap := len(move) - want
			if gap < 0 {
				t.Fatalf("%s: %v moved of %+v, where nobody can do with fewer than %d", c.name, move, jobs, want)
			}
			beyond, least, worst = beyond+gap, least+want, max(worst, gap)
			if gap == 0 {
				same++
			}
		}
		per := float64(beyond) / lines
		t.Logf("%s: %d of %d lines are the least; %.3f moved beyond it per line, %d at worst; %d was least in all", c.name, same, lines, per, worst, least)
		if per > c.most || worst > c.worst {
			t.Errorf("%s: %.3f moved beyond the least per line, %d at worst; want at most %v and %d", c.name, per, worst, c.most, c.worst)
		}
	}
}

func TestFewestLeavesBegunWorkOnItsBench(t *testing.T) {
	one := []Mechanic{{ID: 1, Hours: always}}
	jobs := []Job{
		{ID: 1, Left: 50 * time.Minute, Due: minute(500), Rank: UnderWay},
		{ID: 2, Left: 20 * time.Minute, Due: minute(60)},
		{ID: 3, Left: 20 * time.Minute, Due: minute(80)},
		{ID: 4, Left: 5 * time.Minute, Due: minute(10)}, // late whatever goes
	}
	move, places := line(t, 0, one, jobs...).Fewest()
	if fmt.Sprint(move) != "[4 2]" {
		t.Errorf("to move %v, want 4, which nothing can save, and 2 for 3", move)
	}
	if places[0].ID != 1 || !places[0].Start.Equal(start) {
		t.Errorf("first on the bench is %+v, want the work that is under way", places[0])
	}
}

func TestFewestMindsNightsAndReserve(t *testing.T) {
	short := []Mechanic{{ID: 1, Hours: hours(worktime.Span{From: 540, To: 660})}} // two hours a day
	noon := func(day int) time.Time { return start.AddDate(0, 0, day).Add(12 * time.Hour) }
	jobs := []Job{{ID: 1, Left: time.Hour, Due: noon(0)}, {ID: 2, Left: time.Hour, Due: noon(0)}, {ID: 3, Left: time.Hour, Due: noon(1)}}
	if move, _ := line(t, 0, short, jobs...).Fewest(); len(move) != 0 {
		t.Errorf("to move %v, though two fit in the first day and one in the second", move)
	}
	if move, _ := line(t, 0.2, short, jobs...).Fewest(); len(move) != 1 {
		t.Errorf("to move %v; with a fifth kept free one of the first day has to go", move)
	}
}
