package browsertest_test

import (
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/book"
	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/link"
)

// served is the unit that was here most often.
func (s stock) served() int64 {
	s.t.Helper()
	return s.id(`select unit_id from job j where ending = 'done' and exists (select from sheet_step where job_id = j.id)
		group by unit_id order by count(*) desc, unit_id limit 1`)
}

// book is the address of a unit's service book.
func (s stock) book(unit int64) string {
	s.t.Helper()
	var token string
	err := db.Write(s.t.Context(), s.pool, func(tx pgx.Tx) (err error) {
		token, err = link.MakeOfUnit(s.t.Context(), tx, dbtest.Act(s.t, tx, history.By{At: time.Now()}), linkKey, unit)
		return err
	})
	if err != nil {
		s.t.Fatal(err)
	}
	return "/b/" + token
}

// takenBack is a unit whose rider added hours in its book, some of which were taken
// back, as was one of two books that were read in.
func (s stock) takenBack() int64 {
	s.t.Helper()
	unit := s.served()
	s.readIn(unit)
	err := db.Write(s.t.Context(), s.pool, func(tx pgx.Tx) error {
		by := dbtest.Act(s.t, tx, history.By{At: time.Now()})
		for _, hours := range []float64{400, 40} {
			if err := interval.Say(s.t.Context(), tx, by, unit, interval.Said{Hours: &hours}, interval.Day(by.At, time.UTC)); err != nil {
				return err
			}
		}
		list, err := interval.Readings(s.t.Context(), tx, unit)
		if err != nil {
			return err
		}
		return interval.TakeBack(s.t.Context(), tx, by, unit, list[len(list)-2].ID, "typed 400 for 40")
	})
	if err != nil {
		s.t.Fatal(err)
	}
	return unit
}

// readIn reads two books of other shops into a unit and takes the first back.
func (s stock) readIn(unit int64) {
	s.t.Helper()
	for i := range 2 {
		brought := s.broughtBook(unit, func(f *book.File) {
			for k := range f.Services {
				f.Services[k].Ref, f.Services[k].Shop = fmt.Sprintf("fedcba%d%d", i, k), "Fork Loft"
			}
		})
		err := db.Write(s.t.Context(), s.pool, func(tx pgx.Tx) error {
			by := dbtest.Act(s.t, tx, history.By{At: time.Now(), Staff: s.id("select id from staff where name = 'Odile'"), Roles: []string{"desk"}})
			if _, err := book.Take(s.t.Context(), tx, by, brought, unit); err != nil || i == 1 {
				return err
			}
			list, err := book.ReadIns(s.t.Context(), tx, unit)
			if err != nil {
				return err
			}
			return book.TakeBack(s.t.Context(), tx, by, unit, list[0].ID, "of another fork")
		})
		if err != nil {
			s.t.Fatal(err)
		}
	}
}

// broughtBook is the book of a unit as another shop has it, brought by Odile and
// not taken in yet; change is done to it before.
func (s stock) broughtBook(unit int64, change func(*book.File)) int64 {
	s.t.Helper()
	now := time.Now()
	var f book.File
	err := db.Read(s.t.Context(), s.pool, func(tx pgx.Tx) error {
		b, err := book.Read(s.t.Context(), tx, unit, now)
		f = b.File(interval.Day(now, time.UTC))
		return err
	})
	if err != nil {
		s.t.Fatal(err)
	}
	change(&f)
	content, err := f.JSON()
	if err != nil {
		s.t.Fatal(err)
	}
	return s.id(`insert into book_file (staff_id, unit_id, name, content, at) select id, $1, 'book.json', $2, now() from staff where name = 'Odile'
		on conflict (staff_id) do update set content = excluded.content returning id`, unit, content)
}

func bookViews(s stock) map[string][]view {
	unit := s.served()
	path, never := s.book(unit), s.book(s.id(`select id from unit u where not exists (select from job where unit_id = u.id and ending = 'done') order by id limit 1`))
	brought := s.broughtBook(unit, func(f *book.File) {
		for i := range f.Services {
			f.Services[i].Ref, f.Services[i].Shop = fmt.Sprintf("abcdef%02d", i), "Lock Street Bikes"
		}
	})
	return map[string][]view{
		"/b/{token}": {
			{"", path, nil}, {"", never, nil}, {"", "/b/there-is-no-such-address", nil},
			{"", path, func(h hand) {
				h.fill(`[name="hours"]`, "lots")
				h.press(`form[action$="/hours"] .main`)
			}},
			{"", path, func(h hand) {
				h.click(`details:has(form[action$="/hours/back"]) > summary`)
				h.press(`form[action$="/hours/back"] .button`)
			}},
		},
		"/units/{id}/sticker": {{"Ines", fmt.Sprintf("/units/%d/sticker", unit), nil}},
		"/units/read-book": {
			{"Odile", fmt.Sprintf("/units/read-book?unit=%d", unit), nil},
			{"Odile", fmt.Sprintf("/units/read-book?customer=%d", s.id("select min(id) from customer")), nil},
		},
		"/units/read-book/{id}": {{"Odile", fmt.Sprintf("/units/read-book/%d", brought), nil}},
	}
}

// onBookPaper holds that a book prints on A4 (ISO 216) as a whole, and its sticker
// on its own size.
func (h hand) onBookPaper(s stock) {
	h.t.Helper()
	unit := s.served()
	path := s.book(unit)
	stuck := h.onPaper(fmt.Sprintf("/units/%d/sticker", unit), sticker)
	h.says(stuck[0], "Service book", "Tarn Lane Cycles")
	sheets := h.printed(path)
	all := ""
	for i, p := range sheets {
		if math.Abs(p.Width-a4.width) > 1 || math.Abs(p.Height-a4.height) > 1 {
			h.t.Errorf("sheet %d of the book is %.0f by %.0f points, want A4", i+1, p.Width, p.Height)
		}
		all += p.text()
	}
	h.says(all, "Service book", "Bushing play", "Services", "Settings as last returned")
	if strings.Contains(all, "Add them") {
		h.t.Error("the form is printed")
	}
}
