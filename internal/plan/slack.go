package plan

import (
	"errors"
	"math"
	"time"

	"damperdesk/internal/stat"
)

const (
	// sureOfSlack is how certain it has to be that so many promises of the past
	// say something of the share that is to be kept: nineteen of 85 in 100
	// (stat.Least).
	sureOfSlack = 0.95
	// outcomes is how many of the newest promises, and answers, count; of
	// promises at least twice as many as it takes.
	outcomes = 200
	// slackUsual is added where there is not enough history, two days of eight
	// open hours: common practice (no source).
	slackUsual = 16 * time.Hour
	// answerUsual is how long a customer takes to answer where there is not
	// enough history: common practice (no source).
	answerUsual = 24 * time.Hour
	sureOfUsual = 0.95
)

// outcome is what became of a promise.
type outcome struct {
	Expected time.Time
	Ready    *time.Time // nil: not yet
}

// Slack is the open time between when work was expected to be ready and when it
// was, in which the share Sure of the newest promises came to be.
type Slack struct {
	Sure    float64 // the share of promises that the shop wants kept
	For     time.Duration
	N, Need int // promises whose work is ready, and how many it takes
	curve   stat.Curve
}

// Enough is whether For is the shop's own; else it is two days.
func (s Slack) Enough() bool { return s.N >= s.Need }

// slack counts in hours the shop is open. The share is raised by one promise in
// n, for the one to come that the n do not hold yet (split conformal
// prediction). Work that was ready too soon lets nobody promise sooner than it
// is expected.
func (p *Plan) slack(sure float64, need int, kept []outcome) (s Slack, err error) {
	var seen []stat.Seen
	for _, o := range kept {
		end, more := p.At, true
		if o.Ready != nil {
			end, more = *o.Ready, false
		}
		seen = append(seen, stat.Seen{Value: p.open.Between(o.Expected, end).Hours(), More: more})
	}
	s = Slack{Sure: sure, For: slackUsual, Need: need}
	if s.curve, err = stat.Lasting(seen); err != nil {
		return Slack{}, err
	}
	s.N = s.curve.Known
	if !s.Enough() {
		return s, nil
	}
	n := float64(s.N)
	if hours, ok := s.curve.Within(min(sure*(n+1)/n, 1)); ok {
		s.For = time.Duration(max(hours, 0) * float64(time.Hour))
	}
	return s, nil
}

// Kept is the share of the promises of the past that would have been kept with
// so much open time after what was expected.
func (s Slack) Kept(open time.Duration) (share float64, known bool) {
	return 1 - s.curve.Beyond(open.Hours()), s.Enough()
}

// answered is a question to a customer and its answer.
type answered struct{ Asked, Given time.Time }

// Answer is how long it takes until a customer answers: the median of the
// newest answers.
type Answer struct {
	Usual   time.Duration
	N, Need int
}

// Enough is whether Usual is the shop's own; else it is a day.
func (a Answer) Enough() bool { return a.N >= a.Need }

func answer(list []answered) Answer {
	var hours []float64
	for _, a := range list {
		hours = append(hours, a.Given.Sub(a.Asked).Hours())
	}
	median, err := stat.Estimate(hours, 0.5, sureOfUsual)
	var few stat.TooFew
	switch {
	case errors.As(err, &few):
		return Answer{answerUsual, few.Have, few.Need}
	case err != nil:
		return Answer{answerUsual, 0, math.MaxInt}
	}
	return Answer{Usual: time.Duration(median * float64(time.Hour)), N: len(hours)}
}
