package stat

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// rats are the groups of Tarone (1982) with endometrial polyps, 71 of them, as
// Bayesian Data Analysis prints them; from memory. The mean of the first 70
// shares is the book’s 0.136.
const rats = `0/20 0/20 0/20 0/20 0/20 0/20 0/20 0/19 0/19 0/19 0/19 0/18 0/18 0/17
	1/20 1/20 1/20 1/20 1/19 1/19 1/18 1/18 2/25 2/24 2/23 2/20 2/20 2/20 2/20 2/20
	2/20 1/10 5/49 2/19 5/46 3/27 2/17 7/49 7/47 3/20 3/20 2/13 9/48 10/50 4/20 4/20
	4/20 4/20 4/20 4/20 4/20 10/48 4/19 4/19 4/19 5/22 11/46 12/49 5/20 5/20 6/23 5/19
	6/22 6/20 6/20 6/20 16/52 15/47 15/46 9/24 4/14`

func counts(t *testing.T, text string) []Count {
	t.Helper()
	var list []Count
	for word := range strings.FieldsSeq(text) {
		var c Count
		if _, err := fmt.Sscanf(word, "%d/%d", &c.K, &c.N); err != nil {
			t.Fatal(err)
		}
		list = append(list, c)
	}
	return list
}

// TestCommonOfRats compares with Bayesian Data Analysis, 5.3, which gives
// E(α|y) = 2.4 and E(β|y) = 14.3 over the window of its figure.
func TestCommonOfRats(t *testing.T) {
	groups := counts(t, rats)
	mean := 0.0
	for _, g := range groups[:70] {
		mean += float64(g.K) / float64(g.N) / 70
	}
	if math.Abs(mean-0.136) > 5e-4 {
		t.Errorf("mean of 70 shares %v, want 0.136", mean)
	}
	var a, b float64
	for _, c := range common(groups, window{-2.3, -1.3, 1, 5}) {
		a, b = a+c.weight*c.a, b+c.weight*c.b
	}
	if math.Abs(a-2.4) > 0.05 || math.Abs(b-14.3) > 0.05 {
		t.Errorf("E(α) %v and E(β) %v, want 2.4 and 14.3", a, b)
	}
}

// TestMoreKeptRaises holds that one more that is kept raises what to expect of a
// group.
func TestMoreKeptRaises(t *testing.T) {
	expected := func(groups []Count) float64 {
		return common(groups, window{-logMost, logMost, 0, logMost}).given(groups[0]).mean()
	}
	rapid.Check(t, func(t *rapid.T) {
		var groups []Count
		for range rapid.IntRange(LeastGroups, 5).Draw(t, "groups") {
			n := rapid.IntRange(1, 60).Draw(t, "n")
			groups = append(groups, Count{rapid.IntRange(0, n).Draw(t, "k"), n})
		}
		before := expected(groups)
		groups[0].K++
		groups[0].N++
		if after := expected(groups); after < before-1e-3 {
			t.Errorf("%v: %v, without one that was kept %v", groups, after, before)
		}
	})
}

func TestOneGroupAloneIsAsAmongAll(t *testing.T) {
	groups := []Count{{9, 10}, {18, 20}, {0, 0}, {31, 40}, {0, 2}}
	all, err := Shrink(groups, 0.8)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range all {
		if got, err := CommonOf(groups); err != nil || got.Expected(groups[i], 0.8) != want {
			t.Errorf("group %d alone: %+v, %v; among all %+v", i, got, err, want)
		}
	}
}

func BenchmarkShrink(b *testing.B) {
	groups := []Count{{9, 10}, {18, 20}, {2, 4}, {31, 40}, {1, 1}, {7, 9}, {0, 2}, {12, 12}}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Shrink(groups, 0.8); err != nil {
			b.Fatal(err)
		}
	}
}
