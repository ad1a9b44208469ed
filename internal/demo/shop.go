package demo

import (
	"context"
	"fmt"
	"slices"
	"time"

	"golang.org/x/sync/errgroup"

	"damperdesk/internal/quantity"
	"damperdesk/internal/shop"
	"damperdesk/internal/staff"
	"damperdesk/internal/tool"
	"damperdesk/internal/torque"
)

const (
	shopName = "Tarn Lane Cycles"
	shopZone = "Europe/London"
	currency = "GBP"
)

var settings = shop.Settings{
	Name: shopName, Address: "7 Tarn Lane, Netherbeck", Phone: "020 7946 0177", Mail: "desk@tarnlane.example.com",
	Zone: shopZone, Currency: currency, Hemisphere: "north",
	TorqueUnit: quantity.NewtonMetre, VolumeUnit: quantity.Millilitre, PressureUnit: quantity.PSI, MassUnit: quantity.Kilogram,
}

// week is Tuesday to Friday 10 to 18, Saturday 9 to 14.
var week = []shop.Opening{
	{Weekday: time.Tuesday, OpenMin: 10 * 60, CloseMin: 18 * 60},
	{Weekday: time.Wednesday, OpenMin: 10 * 60, CloseMin: 18 * 60},
	{Weekday: time.Thursday, OpenMin: 10 * 60, CloseMin: 18 * 60},
	{Weekday: time.Friday, OpenMin: 10 * 60, CloseMin: 18 * 60},
	{Weekday: time.Saturday, OpenMin: 9 * 60, CloseMin: 14 * 60},
}

const termsWords = `We service what you bring by its maker's manual and tell you before we do more than you asked for.
Extra work waits for your yes unless it stays within your spending limit; a safety matter always comes to you.
We keep your unit for 60 days after it is ready. Old parts go into the bin unless you want them back.
A fork that knocks, leaks or loses pressure is not ridden: bring it back.`

// people work in the invented shop; the pass-phrases and PINs are no secret.
var people = []struct {
	name, job, passphrase, pin string
	roles                      []string
}{
	{"Odile", "desk", "brass bell morning", "618240", []string{"desk"}},
	{"Ines", "mechanic", "wet gravel thirty", "730514", []string{"mechanic"}},
	{"Marit", "mechanic", "copper hose clamp", "295173", []string{"mechanic"}},
	{"Tobias", "mechanic", "long stem short day", "846027", []string{"mechanic"}},
	{"Ragna", "owner", "ledger and lamp oil", "501962", []string{"mechanic", "owner"}},
}

// tabletName is of a tablet that nobody holds: who tries the demo enrols their
// own.
const tabletName = "stand by the window"

// wrenches of which all but Wrench 4 are calibrated again before each season.
var wrenches = []tool.Tool{
	{Name: "Wrench 1", Kind: "click wrench", RangeMinNm: 5, RangeMaxNm: 60, Unit: quantity.NewtonMetre, Graduation: 0.5, Serial: "TL-001"},
	{Name: "Wrench 2", Kind: "beam wrench", RangeMinNm: 1.7, RangeMaxNm: 16.9, Unit: quantity.PoundForceInch, Graduation: 5, Serial: "TL-002"},
	{Name: "Wrench 3", Kind: "click wrench", RangeMinNm: 2, RangeMaxNm: 15, Unit: quantity.NewtonMetre, Graduation: 0.1, Serial: "TL-003"},
	{Name: "Wrench 4", Kind: "electronic wrench", RangeMinNm: 1, RangeMaxNm: 30, Unit: quantity.NewtonMetre, Graduation: 0.1, Serial: "TL-004"},
	{Name: "Wrench 5", Kind: "click screwdriver", RangeMinNm: 1, RangeMaxNm: 10, Unit: quantity.NewtonMetre, Graduation: 0.1, Serial: "TL-005"},
}

// openShop adds what stands before the first customer: people, settings,
// hours, terms, wrenches and the library.
func (s *seeder) openShop(ctx context.Context) error {
	first := s.clock.hour(0, 10)
	if err := s.hire(ctx, first); err != nil {
		return err
	}
	if err := s.enrol(ctx, first.Add(30*time.Minute)); err != nil {
		return err
	}
	_, err := s.act(ctx, "open the shop", s.staff["Ragna"], first.Add(time.Hour), func(a acting) (string, error) {
		if err := shop.Save(a.ctx, a.tx, a.by, settings); err != nil {
			return "", err
		}
		if err := shop.SetHours(a.ctx, a.tx, a.by, nil, week); err != nil {
			return "", err
		}
		id, err := shop.SetTerms(a.ctx, a.tx, a.by, 0, termsWords)
		return fmt.Sprint(id), err
	})
	if err != nil {
		return err
	}
	terms, err := shop.CurrentTerms(ctx, s.pool)
	if err != nil {
		return err
	}
	s.terms = terms.ID
	if err := s.setPrices(ctx, first.Add(90*time.Minute)); err != nil {
		return err
	}
	if err := s.planBench(ctx, first.Add(100*time.Minute)); err != nil {
		return err
	}
	if err := s.addWrenches(ctx, first.Add(2*time.Hour)); err != nil {
		return err
	}
	if err := s.addLibrary(ctx, first.Add(3*time.Hour)); err != nil {
		return err
	}
	if err := s.stockShelf(ctx, s.clock.hour(1, 11)); err != nil {
		return err
	}
	return s.addRevisions(ctx, first.Add(3*time.Hour))
}

// enrol makes the tablet that the bench sheets are signed on.
func (s *seeder) enrol(ctx context.Context, at time.Time) error {
	answer, err := s.act(ctx, "enrol the tablet", s.staff["Ragna"], at, func(a acting) (string, error) {
		id, err := staff.Enrol(a.ctx, a.tx, a.by, tabletName, staff.DeviceToken(s.key, a.by.Intent))
		return fmt.Sprint(id), err
	})
	if err != nil {
		return err
	}
	_, err = fmt.Sscan(answer, &s.tablet)
	return err
}

// hire adds everybody at once, because to hash a pass-phrase takes its time.
func (s *seeder) hire(ctx context.Context, at time.Time) error {
	g, inGroup := errgroup.WithContext(ctx)
	for _, p := range people {
		g.Go(func() error {
			_, err := s.act(inGroup, "hire "+p.name, program, at, func(a acting) (string, error) {
				id, err := staff.AddTold(a.ctx, a.tx, a.by, staff.New{Name: p.name, Roles: p.roles, Passphrase: p.passphrase}, p.pin)
				return fmt.Sprint(id), err
			})
			return err
		})
	}
	if err := g.Wait(); err != nil {
		return err
	}
	s.staff = map[string]worker{}
	for _, p := range people {
		who, err := staff.ByName(ctx, s.pool, p.name)
		if err != nil {
			return err
		}
		s.staff[p.name] = worker{id: who.ID, roles: who.Roles}
	}
	return nil
}

func (s *seeder) addWrenches(ctx context.Context, at time.Time) error {
	for _, w := range wrenches {
		answer, err := s.act(ctx, "buy "+w.Name, s.staff["Ragna"], at, func(a acting) (string, error) {
			id, err := tool.Add(a.ctx, a.tx, a.by, w)
			return fmt.Sprint(id), err
		})
		if err != nil {
			return err
		}
		var id int64
		if _, err := fmt.Sscan(answer, &id); err != nil {
			return err
		}
		s.tools = append(s.tools, id)
	}
	return s.calibrate(ctx, "new", at, s.tools)
}

// calibrate records that wrenches came back from their calibration.
func (s *seeder) calibrate(ctx context.Context, occasion string, at time.Time, tools []int64) error {
	_, err := s.act(ctx, "calibrate, "+occasion, s.staff["Ragna"], at, func(a acting) (string, error) {
		for _, id := range tools {
			certificate := fmt.Sprintf("NB %d-%d", at.Year(), 300+id)
			w, err := tool.Get(a.ctx, a.tx, id)
			if err != nil {
				return "", err
			}
			done := tool.NewCalibration{DoneOn: at, Certificate: certificate, Passed: true, Points: tried(w)}
			if w.Kind == "click wrench" { // the others’ certificates state none
				share := 0.04
				done.Share = &share
			}
			if err := tool.Calibrate(a.ctx, a.tx, a.by, id, done); err != nil {
				return "", err
			}
		}
		return "", nil
	})
	return err
}

// tried are the points of a calibration, a little off as they are.
func tried(w tool.Tool) []torque.Point {
	var list []torque.Point
	for i, share := range torque.PointShares {
		off := []float64{0.011, -0.004, 0.007}[i]
		set := max(share*w.RangeMaxNm, w.RangeMinNm)
		list = append(list, torque.Point{Set: set, Reference: set / (1 + off)})
	}
	return list
}

// inUse are the wrenches that are looked after: all but Wrench 4.
func (s *seeder) inUse() []int64 { return slices.Concat(s.tools[:3], s.tools[4:]) }
