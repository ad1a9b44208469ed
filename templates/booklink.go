package templates

import (
	"strings"

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

// viewsText says when a customer's page was opened: "Opened on 27 November, 3
// times, and on 20 November.".
func (b Base) viewsText(list []link.Viewed) string {
	if len(list) == 0 {
		return "Not opened yet."
	}
	var words []string
	for _, v := range list {
		text := "on " + b.Date(v.Day)
		if v.Count > 1 {
			text += ", " + plural(v.Count, "time")
		}
		words = append(words, text)
	}
	return "Opened " + strings.Join(words, "; ") + "."
}
