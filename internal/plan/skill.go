package plan

import (
	"slices"

	"damperdesk/internal/shop"
)

// notAll are the services that somebody at the bench does not do, each with
// whoever does it.
func (f facts) notAll(bench shop.Bench) map[string][]int64 {
	does := map[string][]int64{}
	for _, n := range bench.NotDone {
		for _, m := range f.mechanics {
			if m.ID == n.StaffID {
				does[n.ServiceCode] = nil
			}
		}
	}
	for code := range does {
		for _, m := range f.mechanics {
			if bench.Does(m.ID, code) {
				does[code] = append(does[code], m.ID)
			}
		}
	}
	return does
}

// skillsOf are those of its services that not everybody does. Whoever has a job
// already has it, whatever they do.
func (p *Plan) skillsOf(t task) (codes []string) {
	for _, code := range t.Services {
		if _, some := p.does[code]; some && p.known(t.MechanicID) == 0 {
			codes = append(codes, code)
		}
	}
	return codes
}

// skillWords says who alone does a job, or that nobody does; empty for two and
// more.
func (p *Plan) skillWords(t task) string {
	codes := p.skillsOf(t)
	what := "all of it"
	if len(codes) == 1 {
		what = "“" + p.outline.Named(codes[0]) + "”"
	}
	switch who := p.whoDoes(codes); {
	case len(codes) == 0 || len(who) > 1:
		return ""
	case len(who) == 0:
		return "nobody does " + what
	default:
		return "only " + p.names[who[0]] + " does " + what
	}
}

// whoDoes are those who do all of these services.
func (p *Plan) whoDoes(codes []string) (who []int64) {
	for i, code := range codes {
		if i == 0 {
			who = slices.Clone(p.does[code])
			continue
		}
		who = slices.DeleteFunc(who, func(id int64) bool { return !slices.Contains(p.does[code], id) })
	}
	return who
}
