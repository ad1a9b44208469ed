package web

import (
	"context"
	"errors"
	"slices"
	"strings"
	"sync"
	"time"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
	"damperdesk/internal/spec"
	"damperdesk/templates"
)

// usualFigures keeps what forks usually need until another job is finished or
// the services change: reckoning it takes longer than the rest of the page.
type usualFigures struct {
	mu       sync.Mutex
	ended    []job.Ended
	services []procedure.Service
	found    map[string]job.Usual
}

func (u *usualFigures) read(ctx context.Context, q db.Querier, now time.Time, services []procedure.Service) (map[string]job.Usual, error) {
	ended, err := job.EndedBy(ctx, q, now.Add(-job.UsualLasts))
	if err != nil {
		return nil, err
	}
	u.mu.Lock()
	defer u.mu.Unlock()
	if u.found != nil && slices.Equal(u.ended, ended) && slices.EqualFunc(u.services, services, sameService) {
		return u.found, nil
	}
	found, err := job.UsualOf(ended, services)
	if err == nil {
		u.ended, u.services, u.found = ended, services, found
	}
	return found, err
}

func sameService(a, b procedure.Service) bool {
	return a.Code == b.Code && a.Name == b.Name && slices.Equal(a.Kinds, b.Kinds) && slices.Equal(a.Covers, b.Covers)
}

// tickUsual ticks what a symptom usually needs, for the button of a page
// without its script.
func (a *App) tickUsual(ctx context.Context, f *form, now time.Time) error {
	prefix, symptom, _ := strings.Cut(strings.TrimPrefix(f.text("press"), templates.PressUsual), " ")
	services, err := procedure.Services(ctx, a.pool)
	if err != nil {
		return err
	}
	usual, err := a.usual.read(ctx, a.pool, now, procedure.Offered(services))
	if err != nil {
		return err
	}
	spring, err := a.springTyped(ctx, f, prefix)
	if err != nil {
		return err
	}
	for _, n := range usual[symptom].Needs {
		if n.Spring == "" || n.Spring == spring {
			f.values.Add(prefix+"services", n.Code)
		}
	}
	return nil
}

// springTyped is the spring of the unit that is chosen or typed; air, as most
// have, where nobody knows.
func (a *App) springTyped(ctx context.Context, f *form, prefix string) (spring string, err error) {
	if f.text(prefix+"unit") == templates.AnotherUnit {
		var m spec.Model
		m, err = spec.GetModel(ctx, a.pool, f.number(prefix+"model"))
		spring = m.Spring
	} else {
		var u customer.Unit
		u, err = customer.GetUnit(ctx, a.pool, f.number(prefix+"unit"))
		spring = u.Spring
	}
	if errors.As(err, new(fault.NotFound)) || err == nil && spring == "" {
		return "air", nil
	}
	return spring, err
}
