package stat_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"damperdesk/internal/stat"
	"damperdesk/internal/vector"
)

func checkClasses(t *testing.T, row vector.Row) {
	list, err := stat.Classes(floats(t, row["values"]), floats(t, row["limits"])...)
	if !answered(t, row["cum"], err) {
		return
	}
	got := list[whole(t, row["place"])]
	row.Near(t, got.Before+got.Share, nil, "cum")
	if class := string(rune('A' + got.Class)); got.At != whole(t, row["at"]) || class != row["class"] {
		t.Errorf("%v: item %d in class %s", row, got.At, class)
	}
}

// Every item is there once, the shares come to 1, and no item of a better class
// is worth less than one of a worse.
func TestClassesProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.OneOf(rapid.Float64Range(0, 1e5), rapid.SampledFrom([]float64{0, 5, 700})), 1, 60).Draw(t, "values")
		values = append(values, rapid.Float64Range(1, 9).Draw(t, "one more"))
		list, err := stat.Classes(values, 0.8, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		sum, seen := 0.0, map[int]bool{}
		for i, c := range list {
			sum += c.Share
			seen[c.At] = true
			if i > 0 && (c.Class < list[i-1].Class || values[c.At] > values[list[i-1].At]) {
				t.Errorf("item %d after %d: %+v", c.At, list[i-1].At, list)
			}
			if i > 0 && values[c.At] == values[list[i-1].At] && c.At < list[i-1].At {
				t.Errorf("of one value item %d comes before %d", list[i-1].At, c.At)
			}
			if c.Class < 2 && c.Before >= []float64{0.8, 0.95}[c.Class] || c.Class > 0 && c.Before < []float64{0.8, 0.95}[c.Class-1]-1e-9 {
				t.Errorf("%+v: before it lie %v", c, c.Before)
			}
		}
		if math.Abs(sum-1) > 1e-9 || len(seen) != len(values) {
			t.Errorf("%d of %d items with shares that come to %v", len(seen), len(values), sum)
		}
	})
}
