package lineup

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"damperdesk/internal/vector"
	"damperdesk/internal/worktime"
)

var start = time.Date(2026, 10, 12, 0, 0, 0, 0, time.UTC) // a Monday

// always is open day and night, as the benches of textbooks are.
var always = hours(worktime.Span{From: 0, To: worktime.DayEnd})

func hours(spans ...worktime.Span) worktime.Calendar {
	var week [7][]worktime.Span
	for d := range week {
		week[d] = spans
	}
	c, err := worktime.New(time.UTC, week, nil)
	if err != nil {
		panic(err)
	}
	return c
}

func minute(n float64) time.Time { return start.Add(time.Duration(n * float64(time.Minute))) }

func line(t testing.TB, reserve float64, mechanics []Mechanic, jobs ...Job) *Line {
	t.Helper()
	l, err := New(start, reserve, mechanics, jobs)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// textbook reads the jobs of a row, numbered from 1.
func textbook(t testing.TB, row vector.Row) []Job {
	t.Helper()
	cells := func(column string) (list []float64) {
		for _, s := range strings.Fields(row[column]) {
			x, err := strconv.ParseFloat(s, 64)
			if err != nil {
				t.Fatal(err)
			}
			list = append(list, x)
		}
		return list
	}
	takes, due, from := cells("minutes"), cells("due"), cells("from")
	var jobs []Job
	for i := range takes {
		j := Job{ID: int64(i + 1), Left: time.Duration(takes[i]) * time.Minute, Due: minute(due[i])}
		if len(from) > 0 {
			j.From = minute(from[i])
		}
		jobs = append(jobs, j)
	}
	return jobs
}

func TestTheLineOfTextbooks(t *testing.T) {
	for _, row := range vector.Rows(t, "lineup", "forward") {
		places := line(t, 0, []Mechanic{{ID: 1, Hours: always}}, textbook(t, row)...).Forward()
		latest, late, flow, over := math.Inf(-1), 0, 0.0, 0.0
		taken := map[time.Time]int64{}
		for _, p := range places {
			late := p.Finish.Sub(p.Due).Minutes()
			latest, over = max(latest, late), over+max(late, 0)
			flow += p.Finish.Sub(start).Minutes()
			taken[p.Start] = p.ID
		}
		for _, p := range places {
			if p.Late() {
				late++
			}
		}
		row.Near(t, latest, nil, "latest")
		row.Near(t, float64(late), nil, "late")
		if n := float64(len(places)); row["flow"] != "" {
			row.Near(t, flow/n, nil, "flow")
			row.Near(t, over/n, nil, "over")
		}
		if got := inTime(taken); got != row["order"] {
			t.Errorf("%s: taken up in the order %s, want %s", row["source"], got, row["order"])
		}
	}
}

func inTime(taken map[time.Time]int64) string {
	var order []string
	for at := start; len(order) < len(taken); at = at.Add(time.Minute) {
		if id, ok := taken[at]; ok {
			order = append(order, fmt.Sprint(id))
		}
	}
	return strings.Join(order, " ")
}

func TestWorkStopsWhereTheHoursOfItsMechanicDo(t *testing.T) {
	day := func(n, minutes int) time.Time {
		return start.AddDate(0, 0, n).Add(time.Duration(minutes) * time.Minute)
	}
	eight := Mechanic{ID: 1, Hours: hours(worktime.Span{From: 540, To: 720}, worktime.Span{From: 780, To: 1080})}
	for _, c := range []struct {
		rule    string
		reserve float64
		jobs    []Job
		finish  []time.Time
	}{
		{"over the midday break", 0, []Job{{ID: 1, Left: 200 * time.Minute}}, []time.Time{day(0, 800)}},
		{"to the end of a span, and no later", 0, []Job{{ID: 1, Left: 180 * time.Minute}, {ID: 2, Left: time.Hour}}, []time.Time{day(0, 720), day(0, 840)}},
		{"over night", 0, []Job{{ID: 1, Left: 9 * time.Hour}}, []time.Time{day(1, 600)}},
		{"a fifth of the day is kept free", 0.2, []Job{{ID: 1, Left: 384 * time.Minute}}, []time.Time{day(0, 1080)}},
		{"what is promised for the same day uses that up", 0.2, []Job{{ID: 1, Left: time.Hour, Rank: SameDay}}, []time.Time{day(0, 600)}},
		{"what comes in the night begins in the morning", 0, []Job{{ID: 1, Left: time.Hour, From: day(0, 1200)}}, []time.Time{day(1, 600)}},
		{"nothing left to do is done when its turn comes", 0, []Job{{ID: 1}, {ID: 2, Left: time.Hour}}, []time.Time{day(0, 540), day(0, 600)}},
	} {
		for i, p := range line(t, c.reserve, []Mechanic{eight}, c.jobs...).Forward() {
			if !p.Finish.Equal(c.finish[i]) {
				t.Errorf("%s: job %d is finished at %s, want %s", c.rule, p.ID, p.Finish, c.finish[i])
			}
		}
	}
}

func TestWhoTakesWhatInWhichOrder(t *testing.T) {
	two := []Mechanic{{ID: 1, Hours: always, Skills: []string{"damper"}}, {ID: 2, Hours: always}}
	hour := func(j Job) Job { j.Left = time.Hour; return j }
	for _, c := range []struct {
		rule string
		jobs []Job
		want string // job:mechanic@minute, in the order of the line
	}{
		{"due first, first", []Job{hour(Job{ID: 1, Due: minute(900)}), hour(Job{ID: 2, Due: minute(800)}), hour(Job{ID: 3, Due: minute(850)})}, "2:1@0 3:2@0 1:1@60"},
		{"of equals the older one", []Job{hour(Job{ID: 2}), hour(Job{ID: 1}), hour(Job{ID: 3})}, "1:1@0 2:2@0 3:1@60"},
		{"nothing promised comes last", []Job{hour(Job{ID: 1}), hour(Job{ID: 2, Due: minute(9000)}), hour(Job{ID: 3, Due: minute(9001)})}, "2:1@0 3:2@0 1:1@60"},
		{"a job stays with its mechanic", []Job{hour(Job{ID: 1, Mechanic: 2}), hour(Job{ID: 2, Mechanic: 2}), hour(Job{ID: 3})}, "1:2@0 2:2@60 3:1@0"},
		{"a skill is asked of whoever takes it", []Job{hour(Job{ID: 1, Skills: []string{"damper"}}), hour(Job{ID: 2, Skills: []string{"damper"}}), hour(Job{ID: 3})}, "1:1@0 2:1@60 3:2@0"},
		{"begun, same day, next up, then the line",
			[]Job{hour(Job{ID: 1, Mechanic: 1, Due: minute(60)}), hour(Job{ID: 2, Mechanic: 1, Rank: NextUp}), hour(Job{ID: 3, Mechanic: 1, Rank: SameDay}), hour(Job{ID: 4, Mechanic: 1, Rank: UnderWay})},
			"4:1@0 3:1@60 2:1@120 1:1@180"},
		{"all of several skills", []Job{hour(Job{ID: 1, Skills: []string{"damper", "lathe"}}), hour(Job{ID: 2, Skills: []string{"damper"}})}, "1:never 2:1@0"},
		{"what waits for parts lets others pass", []Job{hour(Job{ID: 1, Mechanic: 1, From: minute(30), Due: minute(100)}), hour(Job{ID: 2, Mechanic: 1, Due: minute(200)})}, "1:1@60+held 2:1@0"},
		{"what comes while others are done before it is not held by that", []Job{hour(Job{ID: 1, Mechanic: 1, Due: minute(100)}), hour(Job{ID: 2, Mechanic: 1, From: minute(30), Due: minute(200)})}, "1:1@0 2:1@60"},
		{"a bench waits for what comes to it", []Job{hour(Job{ID: 1, Mechanic: 1, From: minute(30)})}, "1:1@30+held"},
		{"a skill nobody has is waited for in vain", []Job{hour(Job{ID: 1, Skills: []string{"lathe"}, Due: minute(1)}), hour(Job{ID: 2})}, "1:never 2:1@0"},
	} {
		var got []string
		for _, p := range line(t, 0, two, c.jobs...).Forward() {
			s := fmt.Sprintf("%d:%d@%.0f", p.ID, p.By, p.Start.Sub(start).Minutes())
			if p.Never() {
				s = fmt.Sprintf("%d:never", p.ID)
			}
			if p.Held {
				s += "+held"
			}
			got = append(got, s)
		}
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("%s: %s, want %s", c.rule, s, c.want)
		}
	}
}

func TestJobsAheadAreThoseOfTheSameMechanic(t *testing.T) {
	two := []Mechanic{{ID: 1, Hours: always}, {ID: 2, Hours: always}}
	places := line(t, 0, two, Job{ID: 1, Left: time.Hour}, Job{ID: 2, Left: 3 * time.Hour}, Job{ID: 3, Left: time.Hour}, Job{ID: 4, Left: time.Hour}).Forward()
	for i, want := range []int{0, 0, 1, 2} {
		if places[i].Ahead != want {
			t.Errorf("job %d has %d ahead of it, want %d", places[i].ID, places[i].Ahead, want)
		}
	}
}

func TestNobodyAtTheBench(t *testing.T) {
	off := Mechanic{ID: 1}
	for _, who := range [][]Mechanic{nil, {off}} {
		for _, p := range line(t, 0, who, Job{ID: 1, Left: time.Hour, Due: minute(9000)}).Forward() {
			if !p.Never() || !p.Late() {
				t.Errorf("with %v: %+v, want a job that is never done", who, p)
			}
		}
	}
}

func TestALineThatCannotBe(t *testing.T) {
	one := []Mechanic{{ID: 1, Hours: always}}
	for _, c := range []struct {
		rule      string
		reserve   float64
		mechanics []Mechanic
		jobs      []Job
	}{
		{"everything is reserve", 1, one, nil},
		{"a reserve below nothing", -0.1, one, nil},
		{"a reserve that is no number", math.NaN(), one, nil},
		{"a mechanic twice", 0, append(one, one...), nil},
		{"a mechanic without id", 0, []Mechanic{{Hours: always}}, nil},
		{"a job twice", 0, one, []Job{{ID: 1}, {ID: 1}}},
		{"less than no work", 0, one, []Job{{ID: 1, Left: -1}}},
		{"a mechanic who is not there", 0, one, []Job{{ID: 1, Mechanic: 2}}},
		{"more work after a wait than before it", 0, one, []Job{{ID: 1, Left: time.Hour, Waits: []Wait{after(61, 1)}}}},
		{"a rank there is not", 0, one, []Job{{ID: 1, Rank: UnderWay + 1}}},
	} {
		if l, err := New(start, c.reserve, c.mechanics, c.jobs); err == nil {
			t.Errorf("%s: %v, want an error", c.rule, l)
		}
	}
}

// genJobs draws up to so many jobs for mechanics 1 to m; some come later, some
// belong to one of them.
func genJobs(t *rapid.T, most, m int) []Job {
	n := rapid.IntRange(1, most).Draw(t, "n")
	var jobs []Job
	for i := range n {
		jobs = append(jobs, Job{
			ID: int64(i + 1), Left: time.Duration(rapid.IntRange(0, 300).Draw(t, "left")) * time.Minute,
			From: minute(float64(rapid.IntRange(-100, 3000).Draw(t, "from"))), Due: minute(float64(rapid.IntRange(0, 4000).Draw(t, "due"))),
			Mechanic: int64(rapid.IntRange(0, m).Draw(t, "mechanic")), Rank: Rank(rapid.IntRange(0, 3).Draw(t, "rank"))})
	}
	return jobs
}

// What holds of every line: nobody does two things at once or works outside
// their hours, nothing begins before it can, and nobody is idle beside a job
// they could take.
func TestEveryLineIsOneThatCanBeWorked(t *testing.T) {
	who := []Mechanic{{ID: 1, Hours: hours(worktime.Span{From: 540, To: 1020})}, {ID: 2, Hours: hours(worktime.Span{From: 600, To: 720}, worktime.Span{From: 780, To: 1080})}}
	rapid.Check(t, func(rt *rapid.T) {
		jobs := genJobs(rt, 12, 2)
		places := line(t, 0.1, who, jobs...).Forward()
		for _, p := range places {
			h := who[p.By-1].Hours
			if p.Never() || p.Start.Before(p.From) || p.Start.Before(start) || p.Mechanic != 0 && p.Mechanic != p.By {
				rt.Fatalf("%+v cannot be", p)
			}
			stretch := 1 / 0.9
			if p.Rank == SameDay {
				stretch = 1
			}
			if got, want := h.Between(p.Start, p.Finish).Minutes(), p.Left.Minutes()*stretch; math.Abs(got-want) > 1e-6 {
				rt.Fatalf("%+v takes %v minutes of open time, want %v", p, got, want)
			}
			for _, o := range places {
				if o.By == p.By && o.ID != p.ID && o.Start.Before(p.Finish) && p.Start.Before(o.Finish) {
					rt.Fatalf("%+v and %+v at once", p, o)
				}
				// o could have been taken when p was, and comes before it.
				if o.Start.After(p.Start) && !o.From.After(p.Start) && order(o.Job, p.Job) < 0 && (o.Mechanic == 0 || o.Mechanic == p.By) {
					rt.Fatalf("%+v was taken before %+v", p, o)
				}
			}
		}
	})
}

// The same jobs stand the same way, in whatever order they are given; a line
// that was used before answers as a new one does.
func TestTheLineIsStable(t *testing.T) {
	who := []Mechanic{{ID: 1, Hours: always}, {ID: 2, Hours: hours(worktime.Span{From: 540, To: 1020})}}
	rapid.Check(t, func(rt *rapid.T) {
		jobs := genJobs(rt, 10, 2)
		l := line(t, 0.2, who, jobs...)
		first := fmt.Sprint(l.Forward())
		l.Fewest()
		if again := fmt.Sprint(l.Forward()); again != first {
			rt.Fatalf("%s, then %s", first, again)
		}
		if other := fmt.Sprint(line(t, 0.2, who, rapid.Permutation(jobs).Draw(rt, "jobs")...).Forward()); other != first {
			rt.Fatalf("%s, in another order %s", first, other)
		}
	})
}

// The weekly hours of a shop with five mechanics; 60 % of the jobs have one.
func many(b testing.TB, n int) *Line {
	var who []Mechanic
	for id := range int64(5) {
		who = append(who, Mechanic{ID: id + 1, Hours: hours(worktime.Span{From: 540, To: 780}, worktime.Span{From: 840, To: 1080})})
	}
	var jobs []Job
	for i := range n {
		j := Job{ID: int64(i + 1), Left: time.Duration(30+(i*37)%120) * time.Minute, Due: minute(float64((i * 7919) % (20 * n)))}
		if i%5 < 3 {
			j.Mechanic = int64(i%5 + 1)
		}
		if i%6 == 0 {
			j.From = minute(float64((i * 31) % (10 * n)))
		}
		jobs = append(jobs, j)
	}
	return line(b, 0.15, who, jobs...)
}

// A line of 5,000 jobs stands within 50 ms, hours and all.
func BenchmarkForward(b *testing.B) {
	for _, n := range []int{300, 5000} {
		b.Run(strconv.Itoa(n), func(b *testing.B) {
			for b.Loop() {
				many(b, n).Forward()
			}
		})
	}
}

func BenchmarkFewest(b *testing.B) {
	moved := 0
	for b.Loop() {
		move, _ := many(b, 300).Fewest()
		moved = len(move)
	}
	b.ReportMetric(float64(moved), "moved")
}

func TestALineWithOthersInIt(t *testing.T) {
	l := line(t, 0, []Mechanic{{ID: 1, Hours: always}}, Job{ID: 1, Left: time.Hour, Due: minute(100)}, Job{ID: 2, Left: time.Hour, Due: minute(200)})
	with, err := l.With(Job{ID: 2, Left: 2 * time.Hour, Due: minute(50)}, Job{ID: 3, Left: time.Hour, Due: minute(60)})
	if err != nil {
		t.Fatal(err)
	}
	ids := func(l *Line) (list []int64) {
		for _, p := range l.Forward() {
			list = append(list, p.ID)
		}
		return list
	}
	if got := fmt.Sprint(ids(with), ids(l)); got != "[2 3 1] [1 2]" {
		t.Errorf("with others, and as it was: %s, want [2 3 1] [1 2]", got)
	}
}
