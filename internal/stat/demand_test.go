package stat_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"damperdesk/internal/stat"
	"damperdesk/internal/vector"
)

func checkReorder(t *testing.T, row vector.Row) {
	d, err := stat.DemandOf(float(t, row["mean"]), float(t, row["variance"]))
	level := 0
	if err == nil {
		level, err = d.Level(float(t, row["target"]))
	}
	if !answered(t, row["level"], err) {
		return
	}
	if level != whole(t, row["level"]) {
		t.Errorf("%v: level %d", row, level)
	}
	row.Near(t, d.AtMost(level), nil, "atmost")
	row.Near(t, d.Ready(level), nil, "ready")
	row.Near(t, d.Short(level), nil, "short")
}

func checkOverLead(t *testing.T, row vector.Row) {
	mean, variance, err := stat.OverLead(float(t, row["mean"]), float(t, row["variance"]), float(t, row["lead"]), float(t, row["leadvariance"]))
	if !answered(t, row["over"], err) {
		return
	}
	level, err := stat.NormalLevel(mean, math.Sqrt(variance), float(t, row["target"]))
	row.Near(t, mean, nil, "over")
	row.Near(t, math.Sqrt(variance), nil, "sd")
	row.Near(t, level, err, "level")
}

// mass is the chance of each count, by the recursion from one to the next
// rather than by an integral.
func mass(mean, variance float64, n int) []float64 {
	list := make([]float64, n)
	log := -mean
	r, q := 0.0, 0.0
	if variance > mean {
		r, q = mean*mean/(variance-mean), (variance-mean)/variance
		log = -r * math.Log1p((variance-mean)/mean)
	}
	for k := range list {
		list[k] = math.Exp(log)
		if r > 0 {
			log += math.Log((float64(k) + r) * q / float64(k+1))
		} else {
			log += math.Log(mean / float64(k+1))
		}
	}
	return list
}

// The chances, the mean shortage and the level are those of the mass function
// summed up, also where Poisson and negative binomial meet.
func TestDemandIsItsMassSummedUp(t *testing.T) {
	worst := 0.0
	rapid.Check(t, func(t *rapid.T) {
		mean := rapid.Float64Range(0.01, 60).Draw(t, "mean")
		wider := rapid.OneOf(rapid.Just(1.0), rapid.Float64Range(1, 6), rapid.SampledFrom([]float64{1 + 1e-3, 1 + 1e-5, 1 + 2e-6, 1 + 5e-7})).Draw(t, "wider")
		target := rapid.Float64Range(0.5, 0.999).Draw(t, "target")
		d, err := stat.DemandOf(mean, mean*wider)
		if err != nil {
			t.Fatal(err)
		}
		level, err := d.Level(target)
		if err != nil {
			t.Fatal(err)
		}
		p, at := mass(mean, mean*wider, 4000), level+rapid.IntRange(-5, 5).Draw(t, "off")
		sum, short, reached := 0.0, 0.0, -1
		for k, chance := range p {
			sum += chance
			short += chance * max(float64(k-at), 0)
			if reached < 0 && sum >= target {
				reached = k
			}
			if k == at {
				worst = max(worst, math.Abs(d.AtMost(at)-sum))
				if math.Abs(d.AtMost(at)-sum) > 1e-6 {
					t.Errorf("at most %d: %v, summed %v", at, d.AtMost(at), sum)
				}
			}
		}
		worst = max(worst, math.Abs(d.Short(at)-short)/(1+mean))
		if math.Abs(d.Short(at)-short) > 1e-6*(1+mean) {
			t.Errorf("short at %d: %v, summed %v", at, d.Short(at), short)
		}
		if reached != level && math.Abs(d.AtMost(min(reached, level))-target) > 1e-6 {
			t.Errorf("level %d, summed %d", level, reached)
		}
	})
	t.Logf("off by %.2g", worst)
}

// Who wants to be surer, expects more or is less certain has no less lying
// there; and what is short and left comes to what is there and asked for.
func TestLevelProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mean, wider := rapid.Float64Range(0, 200).Draw(t, "mean"), rapid.Float64Range(1, 9).Draw(t, "wider")
		target, more := rapid.Float64Range(0.01, 0.98).Draw(t, "target"), rapid.Float64Range(0, 20).Draw(t, "more")
		level := func(mean, target float64) int {
			d, err := stat.DemandOf(mean, mean*wider)
			if err != nil {
				t.Fatal(err)
			}
			s, err := d.Level(target)
			if err != nil {
				t.Fatal(err)
			}
			if d.AtMost(s) < target || d.AtMost(s-1) >= target {
				t.Errorf("level %d of %v: %v, and one less %v", s, mean, d.AtMost(s), d.AtMost(s-1))
			}
			if off := d.Left(s) - d.Short(s) - (float64(s) - mean); math.Abs(off) > 1e-9*(1+mean) || d.Short(s+1) > d.Short(s) {
				t.Errorf("level %d of %v: %v left, %v short", s, mean, d.Left(s), d.Short(s))
			}
			return s
		}
		at := level(mean, target)
		if sure := level(mean, target+0.01); sure < at {
			t.Errorf("level %d, and surer %d", at, sure)
		}
		if larger := level(mean+more, target); larger < at {
			t.Errorf("level %d, and of %v more %d", at, more, larger)
		}
	})
}
