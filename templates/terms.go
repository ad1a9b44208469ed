package templates

import (
	"strconv"

	"github.com/a-h/templ"

	"damperdesk/internal/shop"
)

// TermsPage shows the terms that customers accept, and takes a new edition.
type TermsPage struct {
	Base
	Editions []shop.Terms // the one in force first
}

func (p TermsPage) over() string {
	if len(p.Editions) == 0 {
		return "0"
	}
	return strconv.FormatInt(p.Editions[0].ID, 10)
}

// words is what a new edition begins with.
func (p TermsPage) words() string {
	if len(p.Editions) == 0 {
		return shop.Draft
	}
	return p.Editions[0].Words
}

func (p TermsPage) field() Field {
	f := Field{Name: "words", Label: "Terms", Value: p.words(), Required: true, Attributes: templ.Attributes{"rows": "22"}}
	if len(p.Editions) > 0 {
		f.Label = "A new edition"
		f.Hint = "It is in force from the moment you press. Visits taken in before keep the edition they were taken in under."
	}
	return f
}

// number is which edition it is, counted from the first.
func (p TermsPage) number(i int) int { return len(p.Editions) - i }

// EditionWords says which edition is in force: "edition 2, by Ragna on Tuesday
// 13 October".
func (b Base) EditionWords(number int, t shop.Terms) string {
	words := "edition " + strconv.Itoa(number)
	if t.By != "" {
		words += ", by " + t.By
	}
	return words + " on " + b.LongDay(t.At)
}
