package job

import (
	"math"
	"slices"
	"strconv"

	"damperdesk/internal/procedure"
	"damperdesk/internal/stat"
)

// Refit is the code under which the minutes of putting a unit back into a whole
// bike are booked.
const Refit = "refit"

// shippedMinutes are the minutes at the bench of each service done alone:
// common practice (no source).
var shippedMinutes = map[string]int{
	"lower-leg": 50, "air-spring": 90, "coil-spring": 90, "damper": 110, "cartridge": 75, "full": 135,
	"bushing": 105, "crown-steerer": 40, "strip": 45, "air-can": 45, "other": 60, Refit: 25,
}

// ownMinutes are those of a service that the shop made itself.
const ownMinutes = 60

const mostMinutes = 24 * 60

// Work is what takes minutes at the bench.
type Work struct {
	Services  []string // codes
	ModelID   int64    // 0: not known
	WholeBike bool
}

// BookTime is the minutes that the shop books for a service, on one model where
// ModelID is not 0.
type BookTime struct {
	Service string // a code, or Refit
	ModelID int64
	Minutes int
}

// Stated is a finished job and the minutes that were said to have gone into it.
type Stated struct {
	Work
	Minutes int
}

// LeastStated is how many jobs with a service have to have their minutes stated
// before its book time is corrected by them.
const LeastStated = 5

// modelPrior is how many jobs the time of a service counts for when that of one
// of its models is drawn toward it: common practice (no source).
const modelPrior = 5

// variance of the logarithm of stated over booked minutes from job to job, until
// the jobs say it themselves: about a quarter up or down. Common practice (no
// source).
const usualVariance = 0.06

// Times says how long work takes at the bench: book time, corrected by what
// was stated of finished jobs.
//
// A job books the time of its services, less what they share: a service that
// another one covers counts nothing, and what two of them cover both counts
// once, but never less than the longest alone. The ratio of the minutes stated
// to those booked belongs to each of the job's services alike. The mean of its
// logarithm is drawn toward that of all services (stat.Pool; with fewer services
// than that takes, toward no correction), and for a model toward that of its
// service.
type Times struct {
	services []procedure.Service
	set      map[bookKey]int
	learnt   map[bookKey]Learnt
}

type bookKey struct {
	service string
	model   int64
}

// Learnt is a correction of book time.
type Learnt struct {
	N     int     // jobs with their minutes stated
	Ratio float64 // stated over booked, drawn; 1 where there is not enough history
}

// Book makes it from what the shop set and what was stated.
func Book(services []procedure.Service, set []BookTime, stated []Stated) Times {
	b := Times{services: services, set: map[bookKey]int{}, learnt: map[bookKey]Learnt{}}
	for _, s := range set {
		b.set[bookKey{s.Service, s.ModelID}] = s.Minutes
	}
	logs := map[bookKey][]float64{}
	for _, s := range stated {
		if s.Minutes < 1 || len(s.Services) == 0 {
			continue
		}
		off := math.Log(float64(s.Minutes) / b.booked(s.Work, func(code string) float64 { return float64(b.minutes(code, s.ModelID)) }))
		for _, code := range s.Services {
			logs[bookKey{code, 0}] = append(logs[bookKey{code, 0}], off)
			if s.ModelID != 0 {
				logs[bookKey{code, s.ModelID}] = append(logs[bookKey{code, s.ModelID}], off)
			}
		}
	}
	b.learnServices(logs)
	for key, list := range logs {
		if of := b.learnt[bookKey{key.service, 0}]; key.model != 0 && of.N >= LeastStated {
			drawn := stat.Toward(mean(list), len(list), math.Log(of.Ratio), modelPrior)
			b.learnt[key] = Learnt{len(list), math.Exp(drawn)}
		}
	}
	return b
}

// learnServices draws the services that have history enough.
func (b Times) learnServices(logs map[bookKey][]float64) {
	var enough []string
	for _, s := range b.services {
		list := logs[bookKey{s.Code, 0}]
		b.learnt[bookKey{s.Code, 0}] = Learnt{len(list), 1}
		if len(list) >= LeastStated {
			enough = append(enough, s.Code)
		}
	}
	variance := within(logs, enough)
	var groups []stat.Mean
	for _, code := range enough {
		list := logs[bookKey{code, 0}]
		groups = append(groups, stat.Mean{Value: mean(list), Var: variance / float64(len(list))})
	}
	pooled, err := stat.Pool(groups)
	for i, code := range enough {
		n := len(logs[bookKey{code, 0}])
		drawn := stat.Toward(groups[i].Value, n, 0, modelPrior)
		if err == nil {
			drawn = pooled.Drawn[i]
		}
		b.learnt[bookKey{code, 0}] = Learnt{n, math.Exp(drawn)}
	}
}

// within is the variance of single jobs about the mean of their service, to
// which the usual one counts like ten more jobs.
func within(logs map[bookKey][]float64, codes []string) float64 {
	sum, n := 10*usualVariance, 10.0
	for _, code := range codes {
		list := logs[bookKey{code, 0}]
		m := mean(list)
		for _, x := range list {
			sum += (x - m) * (x - m)
		}
		n += float64(len(list) - 1)
	}
	return sum / n
}

func mean(list []float64) float64 {
	sum := 0.0
	for _, x := range list {
		sum += x
	}
	return sum / float64(len(list))
}

// Minutes is the book time of a service, or of Refit, on a model (0: any), and
// whether the shop set it.
func (b Times) Minutes(code string, model int64) (minutes int, own bool) {
	_, forModel := b.set[bookKey{code, model}]
	_, forAll := b.set[bookKey{code, 0}]
	return b.minutes(code, model), forModel || forAll
}

func (b Times) minutes(code string, model int64) int {
	for _, key := range []bookKey{{code, model}, {code, 0}} {
		if m, set := b.set[key]; set {
			return m
		}
	}
	return Shipped(code)
}

// Learnt is the correction of a service on a model; that of the service where
// nothing was stated of the model.
func (b Times) Learnt(code string, model int64) Learnt {
	if l, known := b.learnt[bookKey{code, model}]; known {
		return l
	}
	l := b.learnt[bookKey{code, 0}]
	if l.Ratio == 0 {
		l.Ratio = 1
	}
	if model != 0 {
		l.N = 0
	}
	return l
}

// For is how long work takes, and the fewest jobs of one of its services that
// had their minutes stated. Work without a service takes as long as other work.
func (b Times) For(w Work) (minutes float64, n int) {
	if len(w.Services) == 0 {
		w.Services = []string{"other"}
	}
	n = math.MaxInt
	for _, code := range w.Services {
		n = min(n, b.Learnt(code, 0).N)
	}
	return b.booked(w, func(code string) float64 {
		return float64(b.minutes(code, w.ModelID)) * b.Learnt(code, w.ModelID).Ratio
	}), n
}

// booked adds up the services of a job, each by of.
func (b Times) booked(w Work, of func(code string) float64) float64 {
	covers := map[string]int{} // how many of the services cover one
	for _, code := range w.Services {
		s, _ := procedure.ByCode(b.services, code)
		for _, c := range s.Covers {
			covers[c]++
		}
	}
	sum, longest := 0.0, 0.0
	for _, code := range w.Services {
		if covers[code] == 0 {
			sum += of(code)
			longest = max(longest, of(code))
		}
	}
	shared := 0.0
	for code, n := range covers {
		// What is covered as a whole by one that shares it is in that one's share.
		shared = max(shared, float64(n-1)*of(code))
	}
	sum = max(sum-shared, longest)
	if w.WholeBike {
		sum += of(Refit)
	}
	return sum
}

// Set is the minutes that the shop set for a service on a model (0: any); 0 where
// it set none.
func (b Times) Set(code string, model int64) int { return b.set[bookKey{code, model}] }

// Own is how many times the shop set.
func (b Times) Own() int { return len(b.set) }

// Shipped is the minutes of a service that the shop set none for.
func Shipped(code string) int {
	if m, shipped := shippedMinutes[code]; shipped {
		return m
	}
	return ownMinutes
}

// OwnTimes are what the shop set for single models.
func (b Times) OwnTimes() []BookTime {
	var list []BookTime
	for key, minutes := range b.set {
		if key.model != 0 {
			list = append(list, BookTime{key.service, key.model, minutes})
		}
	}
	slices.SortFunc(list, func(a, c BookTime) int {
		return slices.Compare([]string{a.Service, strconv.FormatInt(a.ModelID, 10)}, []string{c.Service, strconv.FormatInt(c.ModelID, 10)})
	})
	return list
}
