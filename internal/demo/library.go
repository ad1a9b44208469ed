package demo

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"
	"time"

	"damperdesk/internal/history"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
)

// model is an invented unit with the figures of its invented manual.
type model struct {
	kind               string // empty: a fork
	maker, name, years string
	travel             int // mm
	spring, damper     string
	lowers             string
	adjusters          []string
	positions          []string

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
	fill, height, head    float64 // of the damper: mL, mm, N·m of its seal head
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
		fill: 110, head: 12,
	},
	{
		maker: "Halvard", name: "Berm", years: "2020 to 2023", travel: 160, spring: "air", damper: "cartridge", lowers: "arch front",
		adjusters: []string{"rebound", "compression", "lockout"},
		foot:      8.0, footWindow: 0.5, oilSpring: 15, oilDamper: 10, oil: "bath oil, 10 weight",
		psi: 92, most: 180, least: 40, rebound: 8, reboundAll: 20, compression: 9, compAll: 16,
		stanchion: 36, cap: 30, damperCap: 28, axle: 12, airOil: 5, spacers: 1, hours: 50, months: 12, edition: "2nd edition", page: "36", judged: "Halvard Sill",
		fill: 125, head: 14,
	},
	{
		maker: "Halvard", name: "Ledge", years: "2018 to 2022", travel: 180, spring: "coil", damper: "sealed", lowers: "arch front",
		adjusters: []string{"rebound", "compression", "preload"},
		foot:      9.0, footWindow: 1.0, oilSpring: 20, oilDamper: 20, oil: "bath oil, 20 weight",
		rebound: 9, reboundAll: 22, compression: 8, compAll: 18,
		stanchion: 38, cap: 25, damperCap: 30, axle: 14, coil: 7, preload: 2, hours: 40, months: 12, edition: "2nd edition", page: "29", judged: "Halvard Sill",
		fill: 170, height: 85, head: 20,
	},
	{
		maker: "Tindra", name: "Kelp", years: "from 2022", travel: 150, spring: "air", damper: "cartridge", lowers: "arch back",
		adjusters: []string{"rebound", "compression"},
		foot:      6.8, footWindow: 0.4, oilSpring: 8, oilDamper: 8, oil: "bath oil, 5 weight",
		psi: 78, most: 150, least: 35, rebound: 10, reboundAll: 24, compression: 7, compAll: 15,
		stanchion: 36, cap: 24, damperCap: 24, axle: 10, airOil: 2, spacers: 1, hours: 50, months: 12, edition: "1st edition", page: "18", judged: "Tindra Lode",
		fill: 105, head: 11,
	},
	{
		maker: "Tindra", name: "Lode", years: "2017 to 2021", travel: 130, spring: "air", damper: "sealed", lowers: "arch back",
		adjusters: []string{"rebound", "lockout"}, positions: []string{"locked", "open"},
		foot: 6.0, footWindow: 0.5, oilSpring: 5, oilDamper: 10, oil: "bath oil, 5 weight",
		psi: 82, most: 150, least: 35, rebound: 6, reboundAll: 18,
		stanchion: 34, cap: 24, damperCap: 24, axle: 10, airOil: 2, hours: 50, months: 12, edition: "4th edition", page: "22", judged: "Tindra Kelp",
		fill: 140, height: 95, head: 16,
	},
	{
		maker: "Orrery", name: "Apsis", years: "from 2019", travel: 100, spring: "air", damper: "sealed", lowers: "arch front",
		adjusters: []string{"rebound", "lockout"},
		foot:      5.5, footWindow: 0.5, oilSpring: 6, oilDamper: 6, oil: "bath oil, 10 weight",
		psi: 74, most: 140, least: 35, rebound: 8, reboundAll: 16,
		stanchion: 32, cap: 22, damperCap: 20, axle: 10, airOil: 2, spacers: 1, hours: 60, months: 12, edition: "2nd edition", page: "33", judged: "Tindra Lode",
		fill: 120, height: 80, head: 15,
	},
	{
		maker: "Orrery", name: "Perigee", years: "2016 to 2020", travel: 120, spring: "air", damper: "shared oil", lowers: "arch front",
		adjusters: []string{"rebound"},
		foot:      6.5, footWindow: 0.5, oilSpring: 8, oil: "bath oil, 10 weight",
		psi: 78, most: 140, least: 35, rebound: 7, reboundAll: 15,
		stanchion: 32, cap: 22, damperCap: 22, axle: 10, airOil: 2, spacers: 1, hours: 50, months: 12, edition: "1st edition", page: "27", judged: "Orrery Apsis",
		fill: 150, height: 90, head: 14,
	},
	{
		kind: "rear shock", maker: "Tindra", name: "Swale", years: "from 2020", travel: 55, spring: "air", damper: "sealed",
		adjusters: []string{"rebound"}, oil: "bath oil, 10 weight",
		psi: 165, most: 300, least: 80, rebound: 6, reboundAll: 14, cap: 12, airOil: 1, spacers: 1, edition: "1st edition", page: "15", judged: "Tindra Kelp",
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
	if m.kind == "rear shock" {
		return m.shockLines()
	}
	nm, ml, mm := quantity.NewtonMetre, quantity.Millilitre, quantity.Millimetre
	list := []sheetLine{
		{"foot bolt", "", m.foot, m.footWindow, nm, m.page},
		{"lower-leg oil", "foot-left", m.oilSpring, 1, ml, m.page},
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
	if m.damper != "shared oil" {
		list = append(list, sheetLine{"lower-leg oil", "foot-right", m.oilDamper, 1, ml, m.page})
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
	return slices.Concat(list, m.damperLines(), m.springLines())
}

func (m model) damperLines() []sheetLine {
	nm, ml, mm := quantity.NewtonMetre, quantity.Millilitre, quantity.Millimetre
	list := []sheetLine{
		{"damper seal head", "stanchion-right", m.head, 1, nm, "45"},
		{"damper service hours", "", 100, 0, spec.Hours, "3"},
		{"damper service months", "", 24, 0, spec.Months, "3"},
		{"damper minutes", "", 60, 0, spec.Minutes, "3"},
		{"full minutes", "", 135, 0, spec.Minutes, "3"},
		{"bushing minutes", "", 105, 0, spec.Minutes, "3"},
		{"stanchion wear limit", "", 0.03, 0, mm, "12"},
	}
	switch m.damper {
	case "shared oil":
		return append(list, sheetLine{"shared oil", "top-right", m.fill, 5, ml, "46"}, sheetLine{"oil height", "top-right", m.height, 2, mm, "46"})
	case "sealed":
		return append(list, sheetLine{"damper fill", "top-right", m.fill, 5, ml, "46"}, sheetLine{"oil height", "top-right", m.height, 2, mm, "46"})
	}
	return append(list, // a bladder in place of gas and piston
		sheetLine{"damper fill", "top-right", m.fill, 5, ml, "46"},
		sheetLine{"shaft fastener", "stanchion-right", 5, 0.5, nm, "45"},
		sheetLine{"damper gas", "", 0, 0, quantity.PSI, "44"},
		sheetLine{"floating piston depth", "top-right", 0, 0, mm, "44"},
		sheetLine{"cartridge from the top", "", 1, 0, "", "43"})
}

func (m model) shockLines() []sheetLine {
	return []sheetLine{
		{"air can", "", m.cap, 1, quantity.NewtonMetre, m.page},
		{"shock bolt", "", 12, 1, quantity.NewtonMetre, "6"},
		{"air-side oil", "", m.airOil, 0.5, quantity.Millilitre, m.page},
		{"volume spacers", "", float64(m.spacers), 0, "", m.page},
		{"travel", "", float64(m.travel), 1, quantity.Millimetre, "4"},
		{"air lost overnight", "", 3, 0, quantity.PSI, m.page},
		{"rebound clicks", "", float64(m.rebound), 0, "", "9"},
		{"rider pressure", "", m.psi, 0, quantity.PSI, "8"},
		{"minimum pressure", "", m.least, 0, quantity.PSI, "8"},
		{"maximum pressure", "", m.most, 0, quantity.PSI, "8"},
	}
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
			SourceKind: spec.FromDocument, DocumentID: &document, Page: l.page, Sure: l.number == 0}
		switch l.key {
		case "lower-leg oil", "air-side oil":
			v.Fluid = m.oil
		case "shared oil", "damper fill":
			v.Fluid = "damper fluid, 5 weight"
		}
		list = append(list, v)
	}
	if m.kind != "" {
		return list, nil
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
			if m.psi > 0 && m.compression > 0 {
				if err := spec.PutSetup(a.ctx, a.tx, a.by, sheet, 1, m.setup(document)); err != nil {
					return "", err
				}
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

// setup is the chart that the invented manuals of air forks print: the pressure
// rises with the rider, and the damping with the pressure.
func (m model) setup(document int64) spec.Setup {
	s := spec.Setup{Unit: quantity.PSI, From: spec.Value{SourceKind: spec.FromDocument, DocumentID: &document, Page: "8"}}
	for i, kg := range []float64{55, 65, 75, 85, 95, 105} {
		pa, err := inSI("rider pressure", math.Round(m.psi*(0.25+0.01*kg)), quantity.PSI)
		if err != nil {
			panic(err) // the table above is wrong
		}
		rebound, compression := m.rebound+2-i, m.compression+2-i
		s.Rows = append(s.Rows, spec.SetupRow{RiderKG: kg, PressurePa: &pa, Rebound: &rebound, Compression: &compression})
	}
	return s
}

func (m model) asModel() spec.Model {
	wheel, steerer, axle := 622, "28.6-38.1", "15x110"
	if m.stanchion >= 38 {
		axle = "20x110"
	}
	if m.kind != "" {
		return spec.Model{Kind: m.kind, Maker: m.maker, Name: m.name, Years: m.years, TravelMM: &m.travel, Spring: m.spring, Damper: m.damper, Adjusters: m.adjusters}
	}
	return spec.Model{Kind: "fork", Maker: m.maker, Name: m.name, Years: m.years, TravelMM: &m.travel, Spring: m.spring, Damper: m.damper,
		SpringLeg: "left", DamperLeg: "right", Lowers: m.lowers, Adjusters: m.adjusters, Positions: m.positions,
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
