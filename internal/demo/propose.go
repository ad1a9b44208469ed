package demo

import (
	"time"

	"damperdesk/internal/bench"
	"damperdesk/internal/goahead"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/plan"
	"damperdesk/internal/shop"
)

// offer is what is proposed for something found, and what the customer said.
type offer struct {
	words   string
	minor   int64
	minutes int    // at the bench
	parts   *int   // opening days until its parts come; nil: they are here
	said    string // empty: nothing yet
	page    bool   // on their page
	call    string // when they ask to be rung; empty: they do not
}

// proposed proposes work for it at a price, and for so many minutes at the bench.
func (f found) proposed(words string, minor int64, minutes int) found {
	f.offer = offer{words: words, minor: minor, minutes: minutes}
	return f
}

// partsIn lets it need parts that come in so many opening days.
func (f found) partsIn(days int) found {
	f.offer.parts = &days
	return f
}

// answered keeps the customer's yes or no, by phone.
func (f found) answered(said string) found {
	f.offer.said = said
	return f
}

// onPage lets the customer have said so on their page.
func (f found) onPage() found {
	f.offer.page = true
	return f
}

// asksCall lets the customer ask on their page to be rung.
func (f found) asksCall(when string) found {
	f.offer.call = when
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
		j, err := job.Get(a.ctx, a.tx, t.id)
		if err != nil {
			return err
		}
		n := goahead.New{FindingID: finding, Words: o.words, Minor: o.minor, Day: goahead.Day{Minutes: o.minutes, PartsOn: s.inDays(o.parts)}}
		if _, _, err := plan.Say(a.ctx, a.tx, by.At, j, &n); err != nil {
			return err
		}
		return goahead.Propose(a.ctx, a.tx, by, settings.PricesIncludeTax, n)
	})
	if err != nil || o.said == "" && o.call == "" {
		return err
	}
	var id, visit int64
	err = a.tx.QueryRow(a.ctx, "select p.id, j.visit_id from proposal p join job j on j.id = p.job_id where finding_id = $1 order by p.id desc limit 1", finding).Scan(&id, &visit)
	if err != nil {
		return err
	}
	said := goahead.Said{ProposalID: id, Yes: o.said == "yes", How: "by phone", Who: t.unit.owner.name}
	who := s.staff["Odile"]
	if o.page || o.call != "" {
		who = program
	}
	return a.then(who, at.Add(2*time.Minute), func(by history.By) error {
		switch {
		case o.call != "":
			return goahead.AskCall(a.ctx, a.tx, by, visit, id, said.Who, o.call)
		case o.page:
			return goahead.AnswerOnPage(a.ctx, a.tx, by, visit, said)
		}
		return goahead.Answer(a.ctx, a.tx, by, said)
	})
}

// stepID is that of a step of the sheet as it was held last.
func (t *task) stepID(key string) *int64 {
	if step := t.held.Sheet().ByKey(key); step != nil {
		return &step.ID
	}
	return nil
}
