package stat

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"damperdesk/internal/vector"
)

func TestLastingOfPublishedSamples(t *testing.T) {
	for _, row := range vector.Rows(t, "stat", "lasting") {
		var seen []Seen
		for _, s := range strings.Fields(row["seen"]) {
			text, more := strings.CutSuffix(s, "+")
			v, err := strconv.ParseFloat(text, 64)
			if err != nil {
				t.Fatal(err)
			}
			seen = append(seen, Seen{v, more})
		}
		c, err := Lasting(seen)
		row.Near(t, c.Beyond(row.Float(t, "at")), err, "beyond")
	}
}

// Where everything is over, it is the share that was counted.
func TestLastingOfWhatIsOverIsCounting(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		values := rapid.SliceOfN(rapid.Float64Range(-5, 5), 1, 30).Draw(rt, "values")
		at, p := rapid.Float64Range(-6, 6).Draw(rt, "at"), rapid.Float64Range(0.05, 1).Draw(rt, "p")
		var seen []Seen
		beyond := 0
		for _, v := range values {
			seen = append(seen, Seen{Value: v})
			if v > at {
				beyond++
			}
		}
		c, err := Lasting(seen)
		if got, want := c.Beyond(at), float64(beyond)/float64(len(values)); err != nil || math.Abs(got-want) > 1e-9 {
			rt.Fatalf("beyond %v: %v, %v; counted %v", at, got, err, want)
		}
		x, ok := c.Within(p)
		if !ok || 1-c.Beyond(x) < p-1e-9 || c.Beyond(math.Nextafter(x, -9)) <= 1-p-1e-9 {
			rt.Fatalf("within %v: %v, %v", p, x, ok)
		}
	})
}

func TestLastingOfWhatGoesOn(t *testing.T) {
	c, err := Lasting([]Seen{{1, false}, {2, true}, {3, true}})
	if x, ok := c.Within(0.85); err != nil || ok || c.Known != 1 {
		t.Errorf("85 %% within %v, %v, of %d known; most are not over", x, ok, c.Known)
	}
	if c, err := Lasting(nil); err != nil || c.Beyond(0) != 1 {
		t.Errorf("of nothing: beyond 0 lies %v, %v; want all", c.Beyond(0), err)
	}
	if _, err := Lasting([]Seen{{math.NaN(), false}}); err == nil {
		t.Error("a value that is no number is taken")
	}
}
