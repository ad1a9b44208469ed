package web

import (
	"context"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/history"
	"damperdesk/internal/shop"
)

// row is the line of the shop's page about a setting.
func (p *page) row(name string) string {
	row := p.Find(".settings tr").FilterFunction(func(_ int, tr *goquery.Selection) bool {
		return strings.HasPrefix(strings.TrimSpace(tr.Find("th").Text()), name)
	})
	return strings.Join(strings.Fields(row.Find("td").Text()), " ")
}

func TestTheShopsPageSaysHowEachSettingStands(t *testing.T) {
	s := server(t)
	b := s.as(owner)
	s.as(owner, desk)
	p := b.get("/shop").want(http.StatusOK)
	for name, want := range map[string]string{
		"Name, zone": "Weir Lane Cycles, Europe/London, GBP", "Units": "N·m, mL, psi, kg",
		"Opening hours": "not set yet", "Closures": "none ahead", "Terms": "not set yet",
		"People": "2 here: 1 at the front desk, 0 at the bench", "Tablets": "not set yet", "Spec sheets": "not set yet",
	} {
		if got := p.row(name); got != want {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
	ctx := context.Background()
	s.write(func(tx pgx.Tx, by history.By) error {
		if _, err := shop.SetTerms(ctx, tx, by, 0, "We look after it."); err != nil {
			return err
		}
		for _, day := range []int{12, 24} { // yesterday's is no longer ahead
			at := time.Date(2026, 10, day, 0, 0, 0, 0, time.UTC)
			if err := shop.AddBreak(ctx, tx, by, shop.Break{First: at, Last: at, FromMin: 780, ToMin: shop.DayEnd}); err != nil {
				return err
			}
		}
		return shop.SetHours(ctx, tx, by, nil, []shop.Opening{
			{Weekday: time.Tuesday, OpenMin: 600, CloseMin: 1080}, {Weekday: time.Wednesday, OpenMin: 600, CloseMin: 1080},
			{Weekday: time.Saturday, OpenMin: 600, CloseMin: 780},
		})
	})
	p = b.get("/shop")
	for name, want := range map[string]string{
		"Opening hours": "Tuesday to Wednesday 10:00 to 18:00; Saturday 10:00 to 13:00",
		"Closures":      "next: Sat 24 Oct from 13:00", "Terms": "edition 1 on Tuesday 13 October",
	} {
		if got := p.row(name); got != want {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
	for _, path := range []string{"/shop", "/people", "/tablets"} {
		b.get(path).wantWords("nav [aria-current]", "Shop")
	}
	for _, path := range []string{"/tools", "/tools/limits", "/calculators", "/calculators/units"} {
		b.get(path).wantWords("nav [aria-current]", "Spec sheets")
	}
}
