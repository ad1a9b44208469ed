package stat_test

import (
	"testing"

	"pgregory.net/rapid"

	"damperdesk/internal/stat"
	"damperdesk/internal/vector"
)

func checkCosts(t *testing.T, row vector.Row) {
	number := func(name string) float64 {
		if row[name] == "" {
			return 0
		}
		return float(t, row[name])
	}
	c, a := stat.Costs{Order: number("order"), Hold: number("hold"), Short: number("short")}, number("a")
	b := append(floats(t, row["b"]), 0, 0, 0)
	got, err := costsOf(t, c, row["kind"], a, b, row["what"] == "cost at")
	if answered(t, row["want"], err) {
		row.Near(t, got[row["what"]], nil, "want")
	}
}

// costsOf is what a row of costs.csv asks for, by its name.
func costsOf(t *testing.T, c stat.Costs, kind string, a float64, b []float64, at bool) (map[string]float64, error) {
	t.Helper()
	var s, q, cost float64
	var whole, pieces int
	over := a
	if kind == "rq" {
		over = a * b[0]
	}
	d, err := stat.DemandOf(over, over)
	if err != nil {
		t.Fatal(err)
	}
	switch {
	case kind == "eoq" && at:
		return map[string]float64{"cost at": c.Batch(b[0], a)}, nil
	case kind == "pieces" && at:
		return map[string]float64{"cost at": c.At(d, int(b[0]))}, nil
	case kind == "rq" && at:
		return map[string]float64{"cost at": c.RQAt(d, a, int(b[1]), int(b[2]))}, nil
	case kind == "eoq":
		q, cost, err = c.EOQ(a)
	case kind == "normal":
		s, cost, err = c.Normal(a, b[0])
	case kind == "uniform":
		s, cost, err = c.Uniform(a, b[0])
	case kind == "pieces":
		whole, cost, err = c.Pieces(d)
		s = float64(whole)
	case kind == "rq":
		whole, pieces, cost, err = c.RQ(d, a)
		q = float64(pieces)
	default:
		t.Fatalf("no kind %q", kind)
	}
	return map[string]float64{"s": s, "q": q, "r": float64(whole), "cost": cost}, err
}

var costs = rapid.Custom(func(t *rapid.T) stat.Costs {
	c := rapid.Float64Range(0.1, 50)
	return stat.Costs{Order: c.Draw(t, "order"), Hold: c.Draw(t, "hold"), Short: c.Draw(t, "short")}
})

// No other batch costs less than EOQ, and half or twice of it a quarter more
// (Harris 1913: the curve is flat around it).
func TestEOQCostsLeast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, rate := costs.Draw(t, "costs"), rapid.Float64Range(0.1, 5000).Draw(t, "rate")
		q, cost, err := c.EOQ(rate)
		if err != nil {
			t.Fatal(err)
		}
		if other := c.Batch(q*rapid.Float64Range(0.01, 20).Draw(t, "times"), rate); other < cost*(1-1e-12) {
			t.Errorf("%v pieces cost %v, others %v", q, cost, other)
		}
		for _, times := range []float64{0.5, 2} {
			if got := c.Batch(times*q, rate) / cost; got < 1.25-1e-9 || got > 1.25+1e-9 {
				t.Errorf("%v times the batch costs %v times as much", times, got)
			}
		}
	})
}

// No other number of pieces costs less, nor another reorder point and batch
// near those that are found.
func TestPiecesAndRQCostLeast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, rate := costs.Draw(t, "costs"), rapid.Float64Range(0.1, 8).Draw(t, "rate")
		mean := rapid.Float64Range(0.1, 12).Draw(t, "mean")
		d, err := stat.DemandOf(mean, mean*rapid.Float64Range(1, 4).Draw(t, "wider"))
		if err != nil {
			t.Fatal(err)
		}
		s, cost, err := c.Pieces(d)
		if err != nil {
			t.Fatal(err)
		}
		for other := range s + 30 {
			if got := c.At(d, other); got < cost-1e-9 {
				t.Errorf("%d pieces cost %v, %d cost %v", s, cost, other, got)
			}
		}
		r, q, cost, err := c.RQ(d, rate)
		if err != nil {
			t.Fatal(err)
		}
		if got := c.RQAt(d, rate, r, q); got < cost*(1-1e-9) || got > cost*(1+1e-9) {
			t.Errorf("(%d, %d) is said to cost %v and costs %v", r, q, cost, got)
		}
		for dr := -4; dr <= 4; dr++ {
			for dq := max(-4, 1-q); dq <= 4; dq++ {
				if got := c.RQAt(d, rate, r+dr, q+dq); got < cost-1e-9*(1+cost) {
					t.Errorf("(%d, %d) costs %v, (%d, %d) %v", r, q, cost, r+dr, q+dq, got)
				}
			}
		}
	})
}
