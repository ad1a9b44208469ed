package templates

import (
	"strings"

	"damperdesk/internal/book"
	"damperdesk/internal/customer"
	"damperdesk/internal/link"
	"damperdesk/internal/shop"
)

// StickerPage is the paper with the code of a unit's book.
type StickerPage struct {
	Base
	Unit customer.Unit
	Desk shop.Settings
	Link string
}

// marked is what the unit is known by on its sticker.
func (p StickerPage) marked() string {
	if p.Unit.Tag != "" {
		return p.Unit.Tag
	}
	return p.Unit.Serial
}

// readInWords say what a service book brought: "2 services of Lock Street Bikes
// and 3 notes of ride hours".
func readInWords(r book.ReadIn) string {
	var parts []string
	if r.Services > 0 {
		parts = append(parts, plural(r.Services, "service")+" of "+joined(r.Shops))
	}
	if r.Hours > 0 {
		parts = append(parts, plural(r.Hours, "note")+" of ride hours")
	}
	return joined(parts)
}

// readInOptions are the books that can be taken back, the last first.
func (p UnitBookPage) readInOptions() []Option {
	list := []Option{{Value: "", Label: "Choose"}}
	for _, r := range p.ReadIns {
		if r.BackAt == nil {
			list = append(list, Option{Value: idText(r.ID), Label: readInWords(r) + ", read in " + p.Day(r.At) + " by " + r.By})
		}
	}
	return list
}

// viewsText says when a customer's page was opened: "Opened on 27 November, 3 times;
// on 20 November; by a person, or a program that looks ahead.".
func (b Base) viewsText(list []link.Viewed) string {
	if len(list) == 0 {
		return "Not opened yet, as far as we can tell."
	}
	var words []string
	for _, v := range list {
		text := "on " + b.Date(v.Day)
		if v.Count > 1 {
			text += ", " + plural(v.Count, "time")
		}
		words = append(words, text)
	}
	return "Opened " + strings.Join(words, "; ") + "; by a person, or a program that looks ahead."
}
