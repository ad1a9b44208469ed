package demo

import (
	"context"
	"fmt"
	"slices"
	"time"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/message"
)

// wantsMore is who asked at the counter to be written to later too: two of three.
func wantsMore(a acting, p *person, i int, answer string) error {
	if p.mail == "" || i%3 == 1 {
		return nil
	}
	var id int64
	if _, err := fmt.Sscan(answer, &id); err != nil {
		return err
	}
	for _, kind := range []message.Kind{message.FirstRide, message.DueSoon} {
		if err := message.Say(a.ctx, a.tx, a.by, id, kind, true, message.AtDesk); err != nil {
			return err
		}
	}
	return nil
}

// waiting is a message that was caused while the shop had no mail server.
type waiting struct {
	ID        int64
	VisitID   int64
	Kind      message.Kind
	NotBefore time.Time
}

const (
	toldAfter  = 25 * time.Minute // the desk rang
	toldAtOnce = 50               // messages in one act
)

// tellPast has the desk ring about everything older than two days: the shop has no
// mail server yet, and nothing of that may go out once it has one.
func (s *seeder) tellPast(ctx context.Context) error {
	rows, err := s.pool.Query(ctx, `select id, visit_id, kind, not_before from message
		where state = 'waiting' and visit_id is not null and not_before < $1 order by id`, s.now.AddDate(0, 0, -2))
	list, err := db.All[waiting](rows, err)
	if err != nil {
		return err
	}
	for some := range slices.Chunk(list, toldAtOnce) {
		_, err := s.act(ctx, fmt.Sprintf("ring about message %d and on", some[0].ID), s.staff["Odile"], some[0].NotBefore, func(a acting) (string, error) {
			for _, m := range some {
				err := a.then(s.staff["Odile"], m.NotBefore.Add(toldAfter), func(by history.By) error {
					return message.Tell(a.ctx, a.tx, by, m.ID)
				})
				if err != nil {
					return "", err
				}
			}
			return "", nil
		})
		if err != nil {
			return err
		}
	}
	return nil
}
