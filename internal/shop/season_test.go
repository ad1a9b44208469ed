package shop

import (
	"context"
	"errors"
	"slices"
	"testing"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
)

// Which days are of every year follows from the calendar.
func TestTheSeasonIsOfEveryYear(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner")
	if err := Save(ctx, tx, by, sample()); err != nil {
		t.Fatal(err)
	}
	version := 1
	for _, c := range []struct {
		from, to YearDay
		wrong    []string
	}{
		{YearDay{3, 15}, YearDay{10, 15}, nil},
		{YearDay{11, 15}, YearDay{2, 28}, nil}, // over the new year
		{YearDay{}, YearDay{}, nil},
		{YearDay{3, 15}, YearDay{}, []string{"season_to"}},
		{YearDay{2, 29}, YearDay{10, 15}, []string{"season_from"}},
		{YearDay{3, 15}, YearDay{2, 29}, []string{"season_to"}},
		{YearDay{4, 31}, YearDay{13, 1}, []string{"season_from", "season_to"}},
		{YearDay{3, 0}, YearDay{10, 32}, []string{"season_from", "season_to"}},
		{YearDay{3, 15}, YearDay{3, 15}, []string{"season_to"}},
		{YearDay{1, 1}, YearDay{12, 31}, []string{"season_to"}}, // no off-season
		{YearDay{3, 1}, YearDay{2, 28}, []string{"season_to"}},
	} {
		err := SetSeason(ctx, tx, by, version, c.from, c.to)
		if got := refused(err); !slices.Equal(got, c.wrong) || (c.wrong == nil) != (err == nil) {
			t.Errorf("from %v to %v: refused %v, %v; want %v", c.from, c.to, got, err, c.wrong)
		}
		if err != nil {
			continue
		}
		version++
		s, err := Get(ctx, tx)
		if err != nil || ParseYearDay(s.SeasonFrom) != c.from || ParseYearDay(s.SeasonTo) != c.to || s.Version != version {
			t.Errorf("kept %q to %q, version %d, %v; want %v to %v", s.SeasonFrom, s.SeasonTo, s.Version, err, c.from, c.to)
		}
	}
	if err := SetSeason(ctx, tx, by, version-1, YearDay{3, 15}, YearDay{10, 15}); !errors.As(err, new(fault.Conflict)) {
		t.Errorf("over a version nobody sees any more: %v", err)
	}
	if err := SetSeason(ctx, tx, dbtest.By(t, tx, "desk"), version, YearDay{3, 15}, YearDay{10, 15}); !errors.As(err, new(fault.Forbidden)) {
		t.Errorf("somebody of the desk: %v", err)
	}
}
