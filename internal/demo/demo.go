// Package demo fills an empty database with an invented bike shop, through the
// functions people's own acts go through. Every name, model, value and
// document in it is invented.
package demo

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/google/uuid"
	"golang.org/x/sync/errgroup"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/link"
	"damperdesk/internal/picture"
	"damperdesk/internal/shop"
	"damperdesk/internal/staff"
)

// Shop is what somebody who tries the demo is shown first.
type Shop struct {
	BenchJob   int64  // a job in the middle of its bench sheet
	ReadyVisit int64  // a visit with a job that is ready for pickup
	Token      string // of that visit's link; empty when it has none any more
}

// errOther says that the database is not the demo's to fill.
var errOther = errors.New("this database holds a shop already, and not the invented one; the demo leaves it alone")

// The acts that say how far a database has come. The answer of the first is
// the moment that everything is dated from, so that a seeding that was killed
// is taken up again and ends as it would have.
const (
	actBegin  = "begin"
	actFinish = "finish"
)

// Seed fills the database once, as of now. A seeding that was broken off goes
// on where it stopped; one that is complete is only read. linkKey is the
// server's.
func Seed(ctx context.Context, pool *db.Pool, pictures *picture.Folder, linkKey []byte, now time.Time) (Shop, error) {
	answer, done, err := answerOf(ctx, pool, actFinish)
	if err == nil && !done {
		answer, err = fill(ctx, &seeder{pool: pool, pictures: pictures, key: linkKey}, now)
	}
	if err != nil {
		return Shop{}, fmt.Errorf("seed the demo: %w", err)
	}
	var s Shop
	if _, err := fmt.Sscanf(answer, "job %d, visit %d", &s.BenchJob, &s.ReadyVisit); err != nil {
		return Shop{}, fmt.Errorf("seed the demo: answer %q: %w", answer, err)
	}
	s.Token, _, err = link.Show(ctx, pool, linkKey, s.ReadyVisit, now)
	return s, err
}

// answerOf reads what an act of the demo led to, if it has been done.
func answerOf(ctx context.Context, q db.Querier, act string) (answer string, done bool, err error) {
	rows, err := q.Query(ctx, "select answer from intent where id = $1", idOf(act))
	type row struct{ Answer string }
	r, err := db.One[row](rows, err, "act")
	var missing fault.NotFound
	if errors.As(err, &missing) {
		return "", false, nil
	}
	return r.Answer, err == nil, err
}

func idOf(act string) uuid.UUID {
	return uuid.NewSHA1(uuid.NameSpaceURL, []byte("https://demo.example.com/"+act))
}

// workers is how many jobs are worked on at once: the cores of a small machine.
const workers = 2

// fill does everything that has not been done yet.
func fill(ctx context.Context, s *seeder, now time.Time) (answer string, err error) {
	units, err := s.prepare(ctx, now)
	if err != nil {
		return "", err
	}
	posts, err := s.addHirer(ctx)
	if err != nil {
		return "", err
	}
	seasons := pastSeasons(s.clock, s.now, units)
	seasons[1] = inTurn(append(seasons[1], hireVisits(s.clock, s.now, posts)...))
	for i, season := range seasons {
		if err := s.season(ctx, season); err != nil {
			return "", err
		}
		daysAgo := []int{370, 20}[i] // between the seasons, and lately
		if err := s.calibrate(ctx, fmt.Sprintf("after season %d", i+1), s.now.AddDate(0, 0, -daysAgo), s.inUse()); err != nil {
			return "", err
		}
	}
	if err := s.seeMishaps(ctx); err != nil {
		return "", err
	}
	if err := s.rideHours(ctx, units); err != nil {
		return "", err
	}
	if err := s.rebuild(ctx, units); err != nil {
		return "", err
	}
	if err := s.writeBlocks(ctx); err != nil {
		return "", err
	}
	if err := s.lately(ctx); err != nil {
		return "", err
	}
	return s.today(ctx, units)
}

// prepare does what comes before the first visit.
func (s *seeder) prepare(ctx context.Context, now time.Time) ([]*unit, error) {
	if err := s.begin(ctx, now); err != nil {
		return nil, err
	}
	s.clock = newClock(week, s.now, zone)
	if err := s.openShop(ctx); err != nil {
		return nil, err
	}
	return s.addCustomers(ctx)
}

// begin fixes the moment of the demo, and refuses a database of somebody else.
func (s *seeder) begin(ctx context.Context, now time.Time) error {
	begun, done, err := answerOf(ctx, s.pool, actBegin)
	if err != nil {
		return err
	}
	if done {
		s.now, err = time.Parse(time.RFC3339, begun)
		return err
	}
	others, err := staff.Any(ctx, s.pool)
	if err != nil {
		return err
	}
	if others {
		return errOther
	}
	s.now = now.UTC().Truncate(time.Minute)
	_, err = s.act(ctx, actBegin, program, s.now, func(acting) (string, error) { return s.now.Format(time.RFC3339), nil })
	return err
}

// season takes in the visits of a season one after the other, for the order of
// the tickets, then does their work several at once.
func (s *seeder) season(ctx context.Context, visits []*visit) error {
	for _, round := range shelvedRounds(visits) {
		if err := s.restock(ctx, "restock before "+round[0].name, round[0].opened); err != nil {
			return err
		}
		for _, v := range round {
			if err := s.takeIn(ctx, v); err != nil {
				return err
			}
		}
		g, ctx := errgroup.WithContext(ctx)
		g.SetLimit(workers)
		for _, v := range round {
			g.Go(func() error { return s.finish(ctx, v) })
		}
		if err := g.Wait(); err != nil {
			return err
		}
	}
	return nil
}

// Welcome is the one block that people read: where the shop is, who can sign
// in, and what to try.
func (s Shop) Welcome(address string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "\n%s, an invented shop, is open at\n  %s\n\nSign in as        with the pass-phrase   or, on a tablet, the PIN\n", shopName, address)
	for _, p := range people {
		fmt.Fprintf(&b, "  %-8s %-8s %-22s %s\n", p.name, p.job, p.passphrase, p.pin)
	}
	fmt.Fprintf(&b, "\nTry\n  as Odile, take in a fork                %s/drop-off\n", address)
	fmt.Fprintf(&b, "  as Ines, go on at the foot bolts        %s/bench/%d\n", address, s.BenchJob)
	fmt.Fprintf(&b, "  as Odile, invite who is due again       %s/due\n", address)
	fmt.Fprintf(&b, "  as Ragna, make this device a tablet     %s/tablets\n", address)
	if s.Token != "" {
		fmt.Fprintf(&b, "  as a customer, without signing in       %s/c/%s\n", address, s.Token)
	}
	return b.String() + "\n"
}

// PIN is that of a member of the invented shop's staff; empty for anybody else.
func PIN(name string) string {
	for _, p := range people {
		if p.name == name {
			return p.pin
		}
	}
	return ""
}

// Passphrase is that of a member of the invented shop's staff; empty for
// anybody else.
func Passphrase(name string) string {
	for _, p := range people {
		if p.name == name {
			return p.passphrase
		}
	}
	return ""
}

// zone is that of the invented shop.
var zone = func() *time.Location {
	return shop.Settings{Zone: shopZone}.Location()
}()
