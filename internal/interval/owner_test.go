package interval

import (
	"math/rand/v2"
	"testing"
	"time"
)

// However often a unit is sold, and whoever says what of which days: no day has
// two habits, and none that is another owner's.
func TestNoDayHasTwoHabits(t *testing.T) {
	start := on(t, "2026-01-01")
	for seed := range uint64(300) {
		r := rand.New(rand.NewPCG(seed, 75))
		day := func() time.Time { return start.AddDate(0, 0, r.IntN(300)) }
		var riding Riding
		riding.Season = SeasonOf("north")
		for at := start; len(riding.Before) < r.IntN(4); {
			at = at.AddDate(0, 0, r.IntN(120))
			riding.Before = append(riding.Before, Owner{Until: at, UntilAt: at.Add(time.Duration(r.IntN(24)) * time.Hour)})
		}
		var list []Reading
		for range 2 + r.IntN(8) {
			h := Reading{Kind: Habit, RidesAWeek: 7, HoursARide: 1, At: day().Add(12 * time.Hour), Season: Seasons[r.IntN(len(Seasons))]}
			if since := day(); r.IntN(2) == 0 && since.Before(h.At) {
				h.Since = &since
			}
			list = append(list, h)
		}
		log := NewLog(list, time.UTC, riding)
		spans := log.byHabit(start, start.AddDate(1, 0, 0))
		for i, s := range spans {
			for _, o := range spans[i+1:] {
				if latest(s.from, o.from).Before(earliest(s.to, o.to)) {
					t.Fatalf("seed %d: %v to %v and %v to %v", seed, s.from, s.to, o.from, o.to)
				}
			}
			for w := range riding.tenures(s.from, s.to) {
				if w.owner != s.owner {
					t.Fatalf("seed %d: the habit of owner %d holds from %v to %v, in days of owner %d", seed, s.owner, s.from, s.to, w.owner)
				}
			}
		}
	}
}

// What is to come is the buyer's riding: how hard the seller rode says nothing of it.
func TestWhatIsForetoldIsOfWhoHasItNow(t *testing.T) {
	sold, to := on(t, "2026-03-30"), on(t, "2026-04-06")
	of := func(seller Owner) time.Time {
		seller.Until, seller.UntilAt = sold, sold.Add(12*time.Hour)
		log := NewLog([]Reading{{Kind: Stated, Hours: 5, Since: on2(t, "2026-03-30"), At: to, Conditions: []string{Dry}},
			{Kind: Habit, RidesAWeek: 2, HoursARide: 1, At: on(t, "2026-01-05"), Conditions: []string{Wet}}}, time.UTC,
			Riding{Factors: shopFactors(), Before: []Owner{seller}})
		return Rule{Hours: 50}.Outlook(Facts{Served: &Served{Ready: sold, Left: sold}, Log: log, Norm: Shipped(SeasonOf("north"))}).Median
	}
	kg := 130.0
	if light, heavy := of(Owner{}), of(Owner{EBike: true, RiderKG: &kg}); !light.Equal(heavy) {
		t.Errorf("50 h are ridden by %v after a light seller, by %v after a heavy one", light, heavy)
	}
}

// Who sold a unit later had it still on a day before.
func TestWhatWasKnownOnADayIsOfWhoHadItThen(t *testing.T) {
	sold := on(t, "2026-03-30")
	r := Riding{Now: Owner{EBike: true}, Before: []Owner{{Until: sold, UntilAt: sold.Add(12 * time.Hour)}}}
	if before := r.on(on(t, "2026-03-29"), time.UTC); before.Now.EBike || len(before.Before) != 0 {
		t.Errorf("the day before the sale: %+v, want the seller", before)
	}
	if after := r.on(sold, time.UTC); !after.Now.EBike || len(after.Before) != 1 {
		t.Errorf("on the day: %+v, want the buyer after the seller", after)
	}
}
