package demo

import (
	"context"
	"fmt"
	"strconv"
	"time"

	"damperdesk/internal/history"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
)

// model is an invented fork with the figures of its invented manual.
type model struct {
	maker, name, years string
	travel             int // mm
	spring, damper     string
	lowers             string
	adjusters          []string

	foot, footWindow      float64 // N·m
	oilSpring, oilDamper  float64 // mL in each leg
	oil                   string
	psi, most, least      float64 // for 75 kg; limits
	rebound, reboundAll   int     // clicks from closed; of
	compression, compAll  int
	stanchion             float64 // mm
	cap, damperCap, axle  float64 // N·m
	airOil                float64 // mL on the air side
	spacers               int
	coil                  float64 // N/mm
	preload               int     // turns from fully out
	hours, months         int
	edition, page, judged string
}

var models = []model{
	{
		maker: "Halvard", name: "Sill", years: "2021 to 2024", travel: 140, spring: "air", damper: "cartridge", lowers: "arch front",
		adjusters: []string{"rebound", "compression"},
		foot:      7.3, footWindow: 0.5, oilSpring: 10, oilDamper: 10, oil: "bath oil, 10 weight",
		psi: 84, most: 160, least: 40, rebound: 7, reboundAll: 17, compression: 6, compAll: 12,
		stanchion: 34, cap: 28, damperCap: 28, axle: 12, airOil: 3, spacers: 2, hours: 50, months: 12, edition: "3rd edition", page: "41", judged: "Halvard Ledge",
	},
	{
		maker: "Halvard", name: "Berm", years: "2020 to 2023", travel: 160, spring: "air", damper: "cartridge", lowers: "arch front",
		adjusters: []string{"rebound", "compression", "lockout"},
		foot:      8.0, footWindow: 0.5, oilSpring: 15, oilDamper: 10, oil: "bath oil, 10 weight",
		psi: 92, most: 180, least: 40, rebound: 8, reboundAll: 20, compression: 9, compAll: 16,
		stanchion: 36, cap: 30, damperCap: 28, axle: 12, airOil: 5, spacers: 1, hours: 50, months: 12, edition: "2nd edition", page: "36", judged: "Halvard Sill",
	},
	{
		maker: "Halvard", name: "Ledge", years: "2018 to 2022", travel: 180, spring: "coil", damper: "sealed", lowers: "arch front",
		adjusters: []string{"rebound", "compression", "preload"},
		foot:      9.0, footWindow: 1.0, oilSpring: 20, oilDamper: 20, oil: "bath oil, 20 weight",
		rebound: 9, reboundAll: 22, compression: 8, compAll: 18,
		stanchion: 38, cap: 25, damperCap: 30, axle: 14, coil: 7, preload: 2, hours: 40, months: 12, edition: "2nd edition", page: "29", judged: "Halvard Sill",
	},
	{
		maker: "Tindra", name: "Kelp", years: "from 2022", travel: 150, spring: "air", damper: "cartridge", lowers: "arch back",
		adjusters: []string{"rebound", "compression"},
		foot:      6.8, footWindow: 0.4, oilSpring: 8, oilDamper: 8, oil: "bath oil, 5 weight",
		psi: 78, most: 150, least: 35, rebound: 10, reboundAll: 24, compression: 7, compAll: 15,
		stanchion: 36, cap: 24, damperCap: 24, axle: 10, airOil: 2, spacers: 1, hours: 50, months: 12, edition: "1st edition", page: "18", judged: "Tindra Lode",
	},
	{
		maker: "Tindra", name: "Lode", years: "2017 to 2021", travel: 130, spring: "air", damper: "sealed", lowers: "arch back",
		adjusters: []string{"rebound", "lockout"},
		foot:      6.0, footWindow: 0.5, oilSpring: 5, oilDamper: 10, oil: "bath oil, 5 weight",
		psi: 82, most: 150, least: 35, rebound: 6, reboundAll: 18,
		stanchion: 34, cap: 24, damperCap: 24, axle: 10, airOil: 2, hours: 50, months: 12, edition: "4th edition", page: "22", judged: "Tindra Kelp",
	},
	{
		maker: "Orrery", name: "Apsis", years: "from 2019", travel: 100, spring: "air", damper: "sealed", lowers: "arch front",
		adjusters: []string{"rebound", "lockout"},
		foot:      5.5, footWindow: 0.5, oilSpring: 6, oilDamper: 6, oil: "bath oil, 10 weight",
		psi: 74, most: 140, least: 35, rebound: 8, reboundAll: 16,
		stanchion: 32, cap: 22, damperCap: 20, axle: 10, airOil: 2, spacers: 1, hours: 60, months: 12, edition: "2nd edition", page: "33", judged: "Tindra Lode",
	},
}

// sheetLine is a value as the manual prints it.
type sheetLine struct {
	key, place     string
	number, window float64
	unit           quantity.Unit
	page           string
}

func (m model) lines() []sheetLine {
	nm, ml, mm := quantity.NewtonMetre, quantity.Millilitre, quantity.Millimetre
	list := []sheetLine{
		{"foot bolt", "", m.foot, m.footWindow, nm, m.page},
		{"lower-leg oil", "foot-left", m.oilSpring, 1, ml, m.page},
		{"lower-leg oil", "foot-right", m.oilDamper, 1, ml, m.page},
		{"damper cap", "top-right", m.damperCap, 2, nm, "44"},
		{"axle", "axle", m.axle, 2, nm, "6"},
		{"brake caliper", "lower-left", 8, 1, nm, "6"},
		{"travel", "", float64(m.travel), 2, mm, "4"},
		{"stanchion diameter", "", m.stanchion, 0, mm, "4"},
		{"play limit", "", 0.3, 0, mm, "12"},
		{"rebound clicks", "", float64(m.rebound), 0, "", "9"},
		{"rebound range", "", float64(m.reboundAll), 1, "", "9"},
		{"lower-leg service hours", "", float64(m.hours), 0, spec.Hours, "3"},
		{"lower-leg service months", "", float64(m.months), 0, spec.Months, "3"},
		{"lower-leg minutes", "", 60, 0, spec.Minutes, "3"},
	}
	if m.compAll > 0 {
		list = append(list,
			sheetLine{"compression clicks", "", float64(m.compression), 0, "", "9"},
			sheetLine{"compression range", "", float64(m.compAll), 1, "", "9"})
	}
	if m.has("lockout") {
		list = append(list,
			sheetLine{"lockout positions", "", 0, 0, "", "10"},
			sheetLine{"lockout range", "", 2, 0, "", "10"})
	}
	return append(list, m.springLines()...)
}

func (m model) springLines() []sheetLine {
	list := []sheetLine{{"air top cap", "top-left", m.cap, 2, quantity.NewtonMetre, "38"}}
	if m.spring == "coil" {
		return append(list,
			sheetLine{"coil rate", "", m.coil, 0.5, quantity.NewtonPerMillimetre, "8"},
			sheetLine{"preload turns", "", float64(m.preload), 0, "", "8"})
	}
	return append(list,
		sheetLine{"air-side oil", "top-left", m.airOil, 0.5, quantity.Millilitre, "38"},
		sheetLine{"volume spacers", "", float64(m.spacers), 0, "", "38"},
		sheetLine{"air lost overnight", "", 3, 0, quantity.PSI, "39"},
		sheetLine{"air-spring service hours", "", float64(m.hours), 0, spec.Hours, "3"},
		sheetLine{"air-spring service months", "", float64(m.months), 0, spec.Months, "3"},
		sheetLine{"air-spring minutes", "", 40, 0, spec.Minutes, "3"},
		sheetLine{"rider pressure", "", m.psi, 0, quantity.PSI, "8"},
		sheetLine{"minimum pressure", "", m.least, 0, quantity.PSI, "8"},
		sheetLine{"maximum pressure", "", m.most, 0, quantity.PSI, "8"})
}

func (m model) has(adjuster string) bool {
	for _, a := range m.adjusters {
		if a == adjuster {
			return true
		}
	}
	return false
}

// values are the lines in SI, all from the document but the knob screw, which
// the invented manuals do not give.
func (m model) values(document int64) ([]spec.Value, error) {
	var list []spec.Value
	for _, l := range m.lines() {
		nominal, err := inSI(l.key, l.number, l.unit)
		if err != nil {
			return nil, err
		}
		window, err := inSI(l.key, l.window, l.unit)
		if err != nil {
			return nil, err
		}
		v := spec.Value{Key: l.key, Place: l.place, NominalSI: nominal, MinusSI: window, PlusSI: window, ShownUnit: l.unit,
			SourceKind: spec.FromDocument, DocumentID: &document, Page: l.page}
		if l.key == "lower-leg oil" || l.key == "air-side oil" {
			v.Fluid = m.oil
		}
		list = append(list, v)
	}
	return append(list, spec.Value{Key: "knob screw", Place: "knob", NominalSI: 1.1, MinusSI: 0.2, PlusSI: 0.2,
		ShownUnit: quantity.NewtonMetre, SourceKind: spec.FromJudgement, SourceWords: m.judged}), nil
}

func inSI(key string, number float64, unit quantity.Unit) (float64, error) {
	k, _ := spec.Find(key)
	if unit.Kind() != k.Kind { // a count, hours, months, minutes
		return number, nil
	}
	return quantity.FromUnit(k.Kind, number, unit)
}

// addLibrary has Marit draft each sheet and Ines check it.
func (s *seeder) addLibrary(ctx context.Context, at time.Time) error {
	for i := range models {
		m := &models[i]
		drafter, checker := s.staff["Marit"], s.staff["Ines"]
		_, err := s.act(ctx, "read the manual of "+m.name, drafter, at.Add(time.Duration(i)*40*time.Minute), func(a acting) (string, error) {
			id, err := spec.AddModel(a.ctx, a.tx, a.by, m.asModel())
			if err != nil {
				return "", err
			}
			document, err := spec.AddDocument(a.ctx, a.tx, a.by, id, m.name+" service manual", m.edition)
			if err != nil {
				return "", err
			}
			values, err := m.values(document)
			if err != nil {
				return "", err
			}
			sheet, err := spec.DraftSheet(a.ctx, a.tx, a.by, id, values)
			if err != nil {
				return "", err
			}
			return fmt.Sprint(id), a.then(checker, a.by.At.Add(24*time.Hour), func(by history.By) error {
				return spec.CheckSheet(a.ctx, a.tx, by, sheet)
			})
		})
		if err != nil {
			return err
		}
	}
	return nil
}

func (m model) asModel() spec.Model {
	wheel, steerer, axle := 622, "28.6-38.1", "15x110"
	if m.stanchion >= 38 {
		axle = "20x110"
	}
	return spec.Model{Kind: "fork", Maker: m.maker, Name: m.name, Years: m.years, TravelMM: &m.travel, Spring: m.spring, Damper: m.damper,
		SpringLeg: "left", DamperLeg: "right", Lowers: m.lowers, Adjusters: m.adjusters,
		Build: spec.Build{WheelMM: &wheel, StanchionMM: &m.stanchion, Crowns: "one", Steerer: steerer, Axle: axle}}
}

// modelIDs maps names to the rows of the library.
func (s *seeder) modelIDs(ctx context.Context) (map[string]int64, error) {
	list, err := spec.Models(ctx, s.pool)
	if err != nil {
		return nil, err
	}
	ids := map[string]int64{}
	for _, m := range list {
		ids[m.Name] = m.ID
	}
	return ids, nil
}

func modelOf(name string) *model {
	for i := range models {
		if models[i].name == name {
			return &models[i]
		}
	}
	return nil
}

func text(number float64) string { return strconv.FormatFloat(number, 'f', -1, 64) }
