package book_test

import (
	"fmt"
	"strings"
	"testing"
	"unicode/utf8"

	"damperdesk/internal/book"
	"damperdesk/internal/customer"
	"damperdesk/internal/interval"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
	"damperdesk/internal/shop"
	"damperdesk/internal/spec"
)

// odd are n letters, with all among them that comes in with a paste: characters of
// no width (Unicode category Cf), blanks of other widths (Zs, Zl), a tab, and marks
// that turn the direction of what follows.
func odd(n int) string {
	const among = "a\u200db\u200bc\u00add\u00a0e\u2028f\tg\u202eh\u2066i\u202fj\ufeff中\U0001f6b2"
	letters := []rune(strings.Repeat(among, n/utf8.RuneCountInString(among)+1))[:n]
	letters[n-1] = 'z'
	return string(letters)
}

// What every form took is read again by the next shop: the longest words each one
// takes, and every odd character.
func TestWhatTheFormsTakeIsReadAgain(t *testing.T) {
	var content []byte
	t.Run("written", func(t *testing.T) {
		d := newDesk(t, "Weir Lane Cycles")
		settings, err := shop.Get(ctx, d.tx)
		d.must(err)
		settings.Name = odd(120)
		d.must(shop.Save(ctx, d.tx, d.by, settings))
		model, err := spec.AddModel(ctx, d.tx, d.by, spec.Model{Kind: "fork", Maker: odd(200), Name: odd(200), Spring: "air", Damper: "sealed"})
		d.must(err)
		d.unit, err = customer.AddUnit(ctx, d.tx, d.by, d.customer, customer.UnitDetails{Kind: "fork", ModelID: model, Serial: odd(119) + "7"})
		d.must(err)
		services, err := procedure.Services(ctx, d.tx)
		d.must(err)
		lowers, _ := procedure.ByCode(services, "lower-leg")
		lowers.Name = odd(60)
		_, err = procedure.PutService(ctx, d.tx, d.by, lowers)
		d.must(err)
		d.serve("2025-03-01", 76, "knocks", "lower-leg")
		d.saidAll()
		content = d.export("2025-10-01")
	})
	t.Run("read in", func(t *testing.T) {
		d := newDesk(t, "Lock Street Bikes")
		d.take("2025-10-02", d.bring("2025-10-02", content, 0), 0)
		b := d.book("2025-10-02")
		if len(b.Works) != 1 || len(b.Works[0].Readings) != 3 || len(b.Works[0].Settings) != 2 || len(b.Readings) != 4 {
			t.Errorf("works %v, %d notes; want one with 3 readings and 2 settings, 4 notes", works(b.Works), len(b.Readings))
		}
		for _, words := range []string{b.Works[0].Shop, b.Works[0].Services[0].Name, b.Unit.Name, b.Facts.Serial} {
			if !strings.HasPrefix(words, "abcd e f") || strings.ContainsAny(words, "\u200d\u200b\u00ad\u202e\u2066\t") {
				t.Errorf("it says %q", words)
			}
		}
		if n := utf8.RuneCountInString(b.Unit.Name); n > customer.MostShort {
			t.Errorf("the unit has %d letters", n)
		}
		again(t, b)
	})
}

// Words of which nothing can be seen still make a file that says something.
func TestWordsThatCannotBeSeenAreReadAgain(t *testing.T) {
	const unseen = "\u200b\u2060"
	zero, nothing := 0.0, 1e30
	b := book.Book{Shop: shop.Settings{Name: unseen}, Facts: book.Facts{Kind: "fork", Words: unseen}, Works: []book.Work{
		{Ref: "7c1e4b2a9d3f4e60", Day: book.Date{Time: day("2025-03-01")}, Shop: unseen, Found: []book.Found{{What: unseen, Grade: "note"}},
			Readings: []book.Reading{{Step: "A4", What: unseen, Count: &zero}, {Step: "A5", What: "far off", Count: &nothing}},
			Settings: []book.Setting{{Key: "rebound", Name: unseen, Count: &zero}, {Key: "rebound", Name: "Rebound"}}}}}
	f := again(t, b)
	if w := f.Services[0]; len(w.Services) != 1 || len(w.Readings) != 1 || w.Readings[0].What != "A4" || len(w.Settings) != 1 || w.Settings[0].Name != "rebound" || f.Unit.Name() != "fork" {
		t.Errorf("read %+v", f)
	}
}

// again is a book as the next shop reads it.
func again(t *testing.T, b book.Book) book.File {
	t.Helper()
	content, err := b.File(day("2026-01-01")).JSON()
	if err != nil {
		t.Fatal(err)
	}
	if len(content) > book.MostFile {
		t.Errorf("%d bytes; want at most %d", len(content), book.MostFile)
	}
	f, err := book.Parse(content, day("2026-01-01"))
	if err != nil {
		t.Fatalf("what was written is refused: %v", err)
	}
	return f
}

// life is a fork of so many services with so many readings each, the newest first,
// and of so many notes.
func life(services, readings, notes int, words string) book.Book {
	b := book.Book{Shop: shop.Settings{Name: "Weir Lane Cycles", Zone: "Europe/London"}, Facts: book.Facts{Kind: "fork", Words: "Tindra Lode"}}
	for i := range services {
		w := book.Work{Ref: fmt.Sprintf("%016x", i), Day: book.Date{Time: day("2025-12-01").AddDate(0, 0, -i)}, Shop: "Weir Lane Cycles", Services: []book.Done{{Code: "lower-leg", Name: "Lower-leg service"}}}
		for k := range readings {
			value := 5e5 + float64(i*k%97)*1234.5
			w.Readings = append(w.Readings, book.Reading{Step: fmt.Sprint("D1.", k), What: words, Quantity: quantity.KindPressure, Value: &value, Unit: "Pa", ShownIn: quantity.PSI})
		}
		b.Works = append(b.Works, w)
	}
	for i := range notes {
		b.Readings = append(b.Readings, interval.Reading{Kind: interval.Stated, Hours: float64(i % 9), Source: "rider", At: day("2022-01-01").AddDate(0, 0, i)})
	}
	return b
}

// However much a unit has lived through, its file has the newest that fits, says
// what it is without, and is read again.
func TestABookThatIsTooBigHasItsNewest(t *testing.T) {
	for _, c := range []struct {
		name                      string
		services, readings, notes int
		words                     string
		has, hasNotes             int // -1: some, and not all
	}{
		{"forty", 40, 25, 300, "Pressure in the negative chamber", 40, 300},
		{"three of a week", 450, 25, 1000, "Pressure in the negative chamber", 450, 1000},
		{"more services than are read", 700, 5, 0, "Pressure", 500, 0},
		{"more notes than are read", 1, 1, 1300, "Pressure", 1, 1000},
		{"more than a file may weigh", 400, 60, 20, "Pressure in the negative chamber", -1, 20},
		{"one service that fills it", 2, 200, 3, strings.Repeat("中", 200), 2, 3},
		{"words that JSON writes long", 40, 200, 3, strings.Repeat("<", 200), -1, 3},
	} {
		f := again(t, life(c.services, c.readings, c.notes, c.words))
		var out book.LeftOut
		if f.LeftOut != nil {
			out = *f.LeftOut
		}
		has, notes := len(f.Services), len(f.RideHours)
		if has+out.Services != c.services || notes+out.RideHours != c.notes {
			t.Errorf("%s: has %d services and %d notes, says it is without %d and %d", c.name, has, notes, out.Services, out.RideHours)
		}
		if c.has >= 0 && has != c.has || c.has < 0 && (has == 0 || has == c.services) || notes != c.hasNotes || f.Services[0].Ref != fmt.Sprintf("%016x", 0) {
			t.Errorf("%s: has %d services and %d notes; want the newest %d and %d", c.name, has, notes, c.has, c.hasNotes)
		}
		if notes > 0 && !f.RideHours[notes-1].On.Equal(day("2022-01-01").AddDate(0, 0, c.notes-1)) {
			t.Errorf("%s: the last note is of %v", c.name, f.RideHours[notes-1].On)
		}
	}
}
