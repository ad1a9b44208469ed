package web

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
)

// addModel puts a fork into the library, with a checked sheet of the values.
func (s *site) addModel(name string, values ...spec.Value) int64 {
	s.t.Helper()
	var id int64
	ctx := context.Background()
	s.write(func(tx pgx.Tx, by history.By) error {
		if err := procedure.Install(ctx, tx, by); err != nil {
			return err
		}
		drafter, checker := dbtest.By(s.t, tx, mechanic), dbtest.By(s.t, tx, owner)
		var err error
		id, err = spec.AddModel(ctx, tx, drafter, spec.Model{Kind: "fork", Maker: "Halvard", Name: name, Years: "2021 to 2024",
			Spring: "air", Damper: "cartridge", SpringLeg: "left", DamperLeg: "right", Adjusters: []string{"rebound"}})
		if err != nil {
			return err
		}
		document, err := spec.AddDocument(ctx, tx, dbtest.Act(s.t, tx, drafter), id, name+" service manual", "3rd edition")
		if err != nil || len(values) == 0 {
			return err
		}
		for i := range values {
			if values[i].SourceKind == spec.FromDocument {
				values[i].DocumentID = &document
			}
		}
		sheet, err := spec.DraftSheet(ctx, tx, dbtest.Act(s.t, tx, drafter), id, values)
		if err != nil {
			return err
		}
		return spec.CheckSheet(ctx, tx, checker, sheet)
	})
	return id
}

func footBolts() spec.Value {
	return spec.Value{Key: "foot bolt", Place: "foot-left foot-right", NominalSI: 7.3, MinusSI: 0.5, PlusSI: 0.5,
		ShownUnit: quantity.NewtonMetre, SourceKind: spec.FromDocument, Page: "41"}
}

func oilLeft() spec.Value {
	return spec.Value{Key: "lower-leg oil", Place: "foot-left", NominalSI: 10e-6, ShownUnit: quantity.Millilitre,
		Fluid: "lower-leg oil 40", SourceKind: spec.FromMeasuring, SourceWords: "on 3 forks"}
}

// 7.3 N·m is 64.6 lbf·in: factor of NIST SP 811, appendix B.8.
func TestASpecSheetShowsEachValueWithUnitWindowAndSource(t *testing.T) {
	s := server(t)
	page := s.as(desk).get(fmt.Sprintf("/models/%d", s.addModel("Sill", footBolts(), oilLeft()))).want(200)
	page.wantWords("h1", "Halvard Sill").
		wantWords(".lead", "air spring on the rider’s left, cartridge damper on the rider’s right").
		wantWords(".lead b", "Revision 1, current").
		wantWords(".state.eyes", "checked against its sources by").
		wantWords(`[data-key="foot bolt"] .fig`, "7.3 N·m").
		wantWords(`[data-key="foot bolt"] th`, "foot, rider’s right and left").
		wantWords(`[data-key="foot bolt"] td:nth-of-type(3)`, "6.8 to 7.8").
		wantWords(`[data-key="foot bolt"] td:nth-of-type(4)`, "65 lbf·in").
		wantWords(`[data-key="foot bolt"] td:nth-of-type(5)`, "Sill service manual, 3rd edition, page 41").
		wantWords(`[data-key="lower-leg oil"] .fig`, "10 mL").
		wantWords(`[data-key="lower-leg oil"] td:nth-of-type(2) small`, "lower-leg oil 40")
	if n := page.Find(".values tbody").Length(); n != 2 {
		t.Errorf("%d groups, want torques and oils", n)
	}
	if n := page.Find("figure.fork .tag").Length(); n == 0 {
		t.Error("the drawing has no marks")
	}
}

func TestASpecSheetSaysWhatItLacks(t *testing.T) {
	s := server(t)
	page := s.as(mechanic).get(fmt.Sprintf("/models/%d", s.addModel("Sill", footBolts(), oilLeft()))).want(200)
	lacking := page.Find(".values tr:has(.state.dash)")
	keys := lacking.Map(func(_ int, row *goquery.Selection) string { return row.AttrOr("data-key", "") })
	if !slices.Equal(keys, []string{"air top cap", "damper cap", "damper seal head", "shaft fastener", "lower-leg oil", "damper fill", "air-side oil"}) {
		t.Errorf("lacking: %q", keys)
	}
	page.wantWords(`.values [data-key="lower-leg oil"]:has(.state.dash) th`, "foot, rider’s right").
		wantWords(`.values [data-key="lower-leg oil"]:has(.state.dash) .over`, "the step will ask for value and source")
	bare := s.as(mechanic).get(fmt.Sprintf("/models/%d", s.addModel("Ledge"))).want(200)
	bare.wantWords(".head .state", "no spec sheet yet")
	if n := bare.Find(".values .state.dash").Length(); n != 10 {
		t.Errorf("%d values lacking, want the torque and the oil of each leg, those of the spring and those of the damper", n)
	}
}

func TestTheLibraryListsModelsWithTheirSheets(t *testing.T) {
	s := server(t)
	b := s.as(desk)
	b.get("/models").want(200).wantWords("main", "No model is in the library yet")
	sill := s.addModel("Sill", footBolts())
	s.addModel("Ledge")
	page := b.get("/models").want(200)
	rows := page.Find(".models tbody tr")
	if rows.Length() != 2 || !strings.Contains(rows.First().Text(), "Ledge") {
		t.Fatalf("rows: %q", rows.Text())
	}
	page.wantWords(".models tr:first-child .state", "no sheet yet").
		wantWords(".models tbody tr:last-child .state", "revision 1, current")
	if to := rows.Last().Find("a").AttrOr("href", ""); to != fmt.Sprintf("/models/%d", sill) {
		t.Errorf("leads to %q", to)
	}
}

func TestAllThatIsWrongWithAModelIsSaidAtOnce(t *testing.T) {
	p := server(t).as(owner).post("/models", "kind", "fork", "maker", " ", "name", "Sill", "travel", "long", "spring", "rubber", "damper", "sealed").want(422)
	for _, field := range []string{"maker", "travel", "spring"} {
		if p.wrong(field) == "" {
			t.Errorf("nothing stands beside %s; the page says %s", field, p.words("[role=alert]"))
		}
	}
	if p.wrong("name") != "" || p.value("name") != "Sill" || p.value("travel") != "long" {
		t.Errorf("the name is %q, the travel %q; beside the name %q", p.value("name"), p.value("travel"), p.wrong("name"))
	}
}

func TestNoSuchModelIsNoPage(t *testing.T) {
	b := server(t).as(mechanic)
	for _, path := range []string{"/models/7", "/models/0", "/models/sill"} {
		b.get(path).want(404)
	}
}
