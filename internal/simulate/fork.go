package simulate

import (
	"math"
	"time"

	"damperdesk/internal/bench"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
)

// fork is one that comes, with what nobody knows beforehand.
type fork struct {
	service   service
	minutes   float64 // at the bench, in truth
	losesAir  bool
	parts     bool
	question  bool
	squeezed  bool
	again     *fork // the one it was when it was here before; nil: it was not
	came      time.Time
	promised  time.Time
	sure      bool // the plan had history enough
	ready     time.Time
	visit     int64
	job       int64
	unit      int64
	steps     []bench.Step
	signed    int           // of them
	spent     time.Duration // on the next one
	interrupt int           // with so many signed it stops for parts or for an answer; 0: never
	till      time.Time     // it stands; zero: it does not
}

func (w *world) draw() *fork {
	u, s := w.r.Float64(), wanted[len(wanted)-1]
	for _, one := range wanted {
		if u < one.share {
			s = one
			break
		}
		u -= one.share
	}
	return &fork{service: s, minutes: w.needs(s), parts: w.r.Float64() < needsParts, question: w.r.Float64() < asks,
		squeezed: w.r.Float64() < squeezes, losesAir: w.r.Float64() < losesAir && s.code == "air-spring"}
}

func (w *world) needs(s service) float64 {
	return s.minutes * slower * math.Exp(scatter*w.r.NormFloat64())
}

// comeback is the same fork again, some time after it left; nil for most.
func (w *world) comeback(f *fork) (again *fork, at time.Time) {
	late := w.r.Float64()
	if w.r.Float64() >= comesBack || f.again != nil {
		return nil, at
	}
	again = &fork{service: f.service, minutes: w.needs(f.service), losesAir: f.losesAir, again: f, unit: f.unit}
	days := 3 + (comebackDays-5)*late*late
	at, _, _ = w.open.Next(w.now.Add(time.Duration(days * 24 * float64(time.Hour))))
	return again, at
}

func (f *fork) symptoms() []string {
	if f.losesAir {
		return []string{procedure.LosesAir}
	}
	return []string{job.JustDue}
}
