package procedure

import (
	"slices"
	"strings"
)

// Difference is a step that two revisions of a block do not have alike: Before
// is nil for one that came, After for one that went.
type Difference struct {
	Key           string
	Before, After *Step
	What          []string // that changed, in words: "text", "caution", "place in the block"
}

// Differences lists what changed from one revision of a block to another, in
// the order of the newer one; what went stands where it was.
func Differences(before, after []Step) []Difference {
	var list []Difference
	at := 0
	gone := func(upTo int) {
		for ; at < upTo; at++ {
			if byKey(after, before[at].Key) == nil {
				list = append(list, Difference{Key: before[at].Key, Before: &before[at]})
			}
		}
	}
	moved := outOfOrder(before, after)
	for i := range after {
		now := &after[i]
		was := byKey(before, now.Key)
		if was == nil {
			list = append(list, Difference{Key: now.Key, After: now})
			continue
		}
		gone(slices.IndexFunc(before, func(s Step) bool { return s.Key == now.Key }))
		what := was.changed(*now)
		if slices.Contains(moved, now.Key) {
			what = append(what, "its place in the block")
		}
		if len(what) > 0 {
			list = append(list, Difference{Key: now.Key, Before: was, After: now, What: what})
		}
	}
	gone(len(before))
	return list
}

func byKey(steps []Step, key string) *Step {
	for i := range steps {
		if steps[i].Key == key {
			return &steps[i]
		}
	}
	return nil
}

// changed names what two texts of one step do not have alike.
func (s Step) changed(now Step) []string {
	var what []string
	for _, c := range []struct {
		name  string
		alike bool
	}{
		{"its kind", s.Kind == now.Kind}, {"its title", s.Title == now.Title}, {"its text", s.Text == now.Text},
		{"its caution", s.Caution == now.Caution}, {"where it is on the drawing", s.Place == now.Place},
		{"its value", s.SpecKey == now.SpecKey}, {"its answers", slices.Equal(s.Grades, now.Grades)},
		{"what it is signed with", s.Group == now.Group}, {"its stop here", s.StopHere == now.StopHere},
		{"its second check", s.SecondCheck == now.SecondCheck}, {"whether it may be unknown", s.MayBeUnknown == now.MayBeUnknown},
		{"its tools", s.Tools == now.Tools}, {"its parts", s.Parts == now.Parts},
		{"its minutes", s.Minutes == now.Minutes}, {"its fasteners", max(1, s.Fasteners) == max(1, now.Fasteners)},
		{"when it is asked", slices.Equal(s.Conditions, now.Conditions)},
	} {
		if !c.alike {
			what = append(what, c.name)
		}
	}
	return what
}

// outOfOrder names the steps that both have and that changed places: as few as
// make the rest stand in one order.
func outOfOrder(before, after []Step) []string {
	var was []int
	var shared []string
	for _, s := range after {
		if i := slices.IndexFunc(before, func(o Step) bool { return o.Key == s.Key }); i >= 0 {
			was, shared = append(was, i), append(shared, s.Key)
		}
	}
	length, from, end := make([]int, len(was)), make([]int, len(was)), -1
	for i := range was {
		length[i], from[i] = 1, -1
		for j := range i {
			if was[j] < was[i] && length[j]+1 > length[i] {
				length[i], from[i] = length[j]+1, j
			}
		}
		if end < 0 || length[i] > length[end] {
			end = i
		}
	}
	for ; end >= 0; end = from[end] {
		shared[end] = ""
	}
	return slices.DeleteFunc(shared, func(key string) bool { return strings.TrimSpace(key) == "" })
}
