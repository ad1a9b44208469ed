package job

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"damperdesk/internal/db"
	"damperdesk/internal/procedure"
	"damperdesk/internal/stat"
)

// tradeNeeds is what forks with a symptom usually need: common practice (no
// source). The coil-spring service stands beside the air-spring one where
// either may be it.
var tradeNeeds = map[string][]string{
	JustDue:         {"lower-leg"},
	"sticky":        {"lower-leg"},
	"harsh":         {"lower-leg"},
	"dives":         {"damper"},
	"blows-through": {"air-spring", "coil-spring"},
	"tops-out":      {"air-spring", "coil-spring"},
	"knocks":        {"bushing"},
	"stuck-down":    {"air-spring"},
	"oil":           {"lower-leg"},
	"scratch":       {"strip"},
	"lockout":       {"damper"},
	"rebound":       {"damper"},
	"creaks":        {"crown-steerer"},
	"travel-short":  {"air-spring", "coil-spring"},
	"loses-air":     {"air-spring"},
	"crash":         {"crown-steerer"},
}

const (
	// LeastUsual is how many finished forks with a symptom the shop's own
	// figures need before they stand in place of the trade's list.
	LeastUsual = 20
	// usualFrom is the share from which a service is what they usually need.
	usualFrom  = 0.5
	usualLevel = 0.8
	// UsualLasts is how far back finished jobs count.
	UsualLasts = 2 * 366 * 24 * time.Hour
)

// Need is a service that forks with a symptom usually need.
type Need struct {
	Code, Name, Spring string // Spring: of the forks it is for alone; empty: any
	// Next is the share of the next such forks to expect; nil: the trade's list
	// says it.
	Next *stat.Expected
}

// Usual is what forks with one symptom usually need. N is how many of them this
// shop has finished.
type Usual struct {
	N     int
	Needs []Need
}

// Own is whether the shop's own finished jobs say it.
func (u Usual) Own() bool { return len(u.Needs) > 0 && u.Needs[0].Next != nil }

// Ended counts finished forks with a symptom: all of them, and those of which a
// service was done.
type Ended struct {
	Symptom string
	Service string // empty: all
	N       int
}

// EndedBy reads it of forks that were finished since then, in one order.
func EndedBy(ctx context.Context, q db.Querier, since time.Time) ([]Ended, error) {
	rows, err := q.Query(ctx, `with done as (select j.id from job j join unit u on u.id = j.unit_id
			where u.kind = 'fork' and j.ending = 'done' and j.closed_at >= $1)
		select symptom, '' as service, count(*)::int as n from job_symptom s join done d on d.id = s.job_id group by symptom
		union all
		select symptom, service_code, count(*)::int from job_symptom s join done d on d.id = s.job_id
			join job_service o on o.job_id = d.id group by symptom, service_code
		order by symptom, service`, since)
	list, err := db.All[Ended](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read what finished jobs needed: %w", err)
	}
	return list, nil
}

// UsualOf is what forks usually need by symptom, of those services that are
// offered. The share of a symptom is drawn toward that of all symptoms. Where no
// service reaches a half, or too few were finished, the trade's list stands.
func UsualOf(ended []Ended, services []procedure.Service) (map[string]Usual, error) {
	usual, all := map[string]Usual{}, shares{ended: ended, common: map[string]*stat.Common{}}
	for _, s := range Symptoms {
		u := Usual{N: countOf(ended, s.Code, "")}
		for _, offered := range services {
			next, err := all.expected(s.Code, offered.Code, u.N)
			if err != nil {
				return nil, err
			}
			if next != nil && next.Share >= usualFrom && offered.For("fork") {
				u.Needs = append(u.Needs, needOf(offered, next))
			}
		}
		u.Needs = uncovered(u.Needs, services)
		if len(u.Needs) == 0 {
			u.Needs = tradeOf(s.Code, services)
		}
		usual[s.Code] = u
	}
	return usual, nil
}

func needOf(s procedure.Service, next *stat.Expected) Need {
	return Need{Code: s.Code, Name: s.Name, Spring: s.Spring(), Next: next}
}

func tradeOf(symptom string, services []procedure.Service) []Need {
	var needs []Need
	for _, code := range tradeNeeds[symptom] {
		if s, offered := procedure.ByCode(services, code); offered {
			needs = append(needs, needOf(s, nil))
		}
	}
	return needs
}

// shares keeps for each service what the symptoms have in common: reckoning it
// is nearly all of the work.
type shares struct {
	ended  []Ended
	common map[string]*stat.Common // nil: too few symptoms
}

// expected is nil where too little is known. What was done for fewer than a
// third of them is not reckoned: it is drawn to no half.
func (s shares) expected(symptom, service string, n int) (*stat.Expected, error) {
	k := countOf(s.ended, symptom, service)
	if n < LeastUsual || 3*k < n {
		return nil, nil
	}
	common, err := s.of(service)
	if common == nil || err != nil {
		return nil, err
	}
	next := common.Expected(stat.Count{K: k, N: n}, usualLevel)
	return &next, nil
}

func (s shares) of(service string) (*stat.Common, error) {
	if common, done := s.common[service]; done {
		return common, nil
	}
	groups := make([]stat.Count, len(Symptoms))
	for i, sy := range Symptoms {
		groups[i] = stat.Count{K: countOf(s.ended, sy.Code, service), N: countOf(s.ended, sy.Code, "")}
	}
	common, err := stat.CommonOf(groups)
	if errors.As(err, new(stat.TooFew)) {
		s.common[service] = nil
		return nil, nil
	}
	if err == nil {
		s.common[service] = &common
	}
	return &common, err
}

func countOf(ended []Ended, symptom, service string) int {
	i := slices.IndexFunc(ended, func(e Ended) bool { return e.Symptom == symptom && e.Service == service })
	if i < 0 {
		return 0
	}
	return ended[i].N
}

// uncovered leaves out what another of them covers.
func uncovered(needs []Need, services []procedure.Service) []Need {
	return slices.DeleteFunc(slices.Clone(needs), func(n Need) bool {
		return slices.ContainsFunc(needs, func(other Need) bool {
			s, _ := procedure.ByCode(services, other.Code)
			return slices.Contains(s.Covers, n.Code)
		})
	})
}
