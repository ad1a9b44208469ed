package demo

import (
	"time"

	"damperdesk/internal/bench"
	"damperdesk/internal/goahead"
	"damperdesk/internal/history"
	"damperdesk/internal/shop"
)

// offer is what is proposed for something found, and what the customer said.
type offer struct {
	words string
	minor int64
	said  string // empty: nothing yet
}

// proposed proposes work for it at a price.
func (f found) proposed(words string, minor int64) found {
	f.offer = offer{words: words, minor: minor}
	return f
}

// answered keeps the customer's yes or no, by phone.
func (f found) answered(said string) found {
	f.offer.said = said
	return f
}

// proposeFound proposes what goes with the findings of an open job, once it has
// been worked on.
func (s *seeder) proposeFound(a *acting, t *task, list []found) error {
	at := s.clock.before(t.ago.to)
	for _, f := range list {
		if f.offer.words == "" {
			continue
		}
		id, err := bench.FoundID(a.ctx, a.tx, t.id, t.stepID(f.step), f.Found)
		if err != nil {
			return err
		}
		if err := s.propose(a, t, id, f.offer, at); err != nil {
			return err
		}
	}
	return nil
}

func (s *seeder) propose(a *acting, t *task, finding int64, o offer, at time.Time) error {
	settings, err := shop.Get(a.ctx, a.tx)
	if err != nil {
		return err
	}
	err = a.then(s.atBench(t.mechanic), at, func(by history.By) error {
		return goahead.Propose(a.ctx, a.tx, by, settings.PricesIncludeTax, goahead.New{FindingID: finding, Words: o.words, Minor: o.minor})
	})
	if err != nil || o.said == "" {
		return err
	}
	var id int64
	if err := a.tx.QueryRow(a.ctx, "select max(id) from proposal where finding_id = $1", finding).Scan(&id); err != nil {
		return err
	}
	return a.then(s.staff["Odile"], at.Add(2*time.Minute), func(by history.By) error {
		return goahead.Answer(a.ctx, a.tx, by, goahead.Said{ProposalID: id, Yes: o.said == "yes", How: "by phone", Who: t.unit.owner.name})
	})
}

// stepID is that of a step of the sheet as it was held last.
func (t *task) stepID(key string) *int64 {
	if step := t.held.Sheet().ByKey(key); step != nil {
		return &step.ID
	}
	return nil
}
