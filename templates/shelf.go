package templates

import (
	"fmt"
	"image/color"
	"net/url"
	"slices"

	"github.com/boombuler/barcode/code128"

	"damperdesk/internal/stock"
)

// shelfNav are the places of the parts.
var shelfNav = []place{
	{path: "/parts", word: "Shelf"},
	{path: "/orders/advice", word: "What to order"},
	{path: "/orders", word: "Orders"},
	{path: "/suppliers", word: "Suppliers"},
	{path: "/parts/count", word: "Count"},
	{path: "/parts/lists", word: "Parts lists", roles: []string{"mechanic", "owner"}},
	{path: "/parts/waste", word: "Waste log"},
	{path: "/parts/review", word: "Review of parts", roles: []string{"owner"}},
}

// PartsPage lists what the shop keeps.
type PartsPage struct {
	Base
	Filter stock.Filter
	Items  []stock.Item
	More   bool
	Places []string
}

// PartLabelPage is the label of one item; Address is what its code leads to.
type PartLabelPage struct {
	Base
	Item    stock.Item
	Address string
}

// BelowZeroPage asks whether the ledger may go below zero.
type BelowZeroPage struct {
	Base
	May     bool
	Version int
}

func partPath(id int64) string { return "/parts/" + itoa(id) }

// asks says whether the list is narrowed.
func (p PartsPage) asks() bool {
	f := p.Filter
	return f.Words != "" || f.Kind != "" || f.Place != "" || f.State != "" || f.Gone
}

// from leads to the same list from behind a key.
func (p PartsPage) from(after string) string {
	q := url.Values{}
	for name, value := range map[string]string{"q": p.Filter.Words, "kind": string(p.Filter.Kind), "place": p.Filter.Place, "state": p.Filter.State, "after": after} {
		if value != "" {
			q.Set(name, value)
		}
	}
	if p.Filter.Gone {
		q.Set("gone", "yes")
	}
	if len(q) == 0 {
		return "/parts"
	}
	return "/parts?" + q.Encode()
}

func (p PartsPage) next() string { return p.from(p.Items[len(p.Items)-1].Key()) }

// choicesFrom are an empty choice and a list of words.
func choicesFrom[T ~string](all string, list []T, chosen T) []Option {
	options := []Option{{Value: "", Label: all, Chosen: chosen == ""}}
	for _, word := range list {
		options = append(options, Option{Value: string(word), Label: upperFirst(string(word)), Chosen: word == chosen})
	}
	return options
}

// placeOptions have the place that is asked for even where nothing lies there.
func (p PartsPage) placeOptions() []Option {
	list := p.Places
	if p.Filter.Place != "" && !slices.Contains(list, p.Filter.Place) {
		list = append(slices.Clone(list), p.Filter.Place)
	}
	options := []Option{{Value: "", Label: "any place", Chosen: p.Filter.Place == ""}}
	for _, name := range list {
		options = append(options, Option{Value: name, Label: name, Chosen: name == p.Filter.Place})
	}
	return options
}

// partStanding is how much there is of an item, in a word and a shape.
func partStanding(i stock.Item) (Shape, string) {
	low := i.Low != nil && i.Free() < *i.Low
	switch {
	case i.LeftOn != nil:
		return Dotted, "no longer kept"
	case i.Qty < 0:
		return Triangle, "below zero: count it"
	case i.Aside > i.Qty:
		return Triangle, "more set aside than there is"
	case low && i.Qty == 0:
		return Triangle, "none left"
	case low:
		return HalfDisc, "low"
	case i.Qty == 0:
		return Dotted, "none there"
	case i.Low == nil:
		return Disc, "there"
	}
	return Disc, "enough"
}

// priced is a price for a piece, a litre or a kilogram: "£4.50 a piece".
func (b Base) priced(minor int64, m stock.Measure) string {
	return b.Prefs.Money(minor, "") + " a " + m.PricedWord()
}

// costWords are what a piece, a litre or a kilogram costs now.
func (b Base) costWords(i stock.Item) string {
	if i.PaidQty == 0 && i.Qty == 0 {
		return "not known"
	}
	return b.priced(i.CostPriced(), i.Measure)
}

func (b Base) saleWords(i stock.Item) string {
	if i.SaleMinor == nil {
		return "not sold by itself"
	}
	return b.priced(*i.SaleMinor, i.Measure)
}

// mostModules is what a Code 128 on the label may have, quiet zones included: bars
// of 0.2 mm over its 54 mm, which a laser at the counter still tells apart (common
// practice, no source).
const mostModules = 270

// quietBars is the margin of light modules that ISO/IEC 15417 asks for at both ends.
const quietBars = 10

// bar is a dark stripe of a linear code, in modules.
type bar struct{ at, wide int }

// bars draws a text as Code 128; none where it has letters that the code has not or
// where it is too long to be read off the label.
func bars(text string) (list []bar, wide int) {
	code, err := code128.Encode(text)
	if err != nil {
		return nil, 0
	}
	size := code.Bounds().Dx()
	if wide = size + 2*quietBars; wide > mostModules {
		return nil, 0
	}
	for x := 0; x < size; x++ {
		from := x
		for x < size && code.At(x, 0) == color.Black {
			x++
		}
		if x > from {
			list = append(list, bar{quietBars + from, x - from})
		}
	}
	return list, wide
}

func barsBox(wide int) string { return fmt.Sprintf("0 0 %d 40", wide) }

// barcodeHint says on the screen why a label has no bars.
func (p PartLabelPage) barcodeHint() string {
	if list, _ := bars(p.Item.Code); len(list) > 0 {
		return ""
	}
	return "The code is too long for bars on this label, or has letters that bars cannot say. The square code leads here all the same."
}

// narrowed is the page for the filter, which never comes back with errors.
func (p PartsPage) narrowed() Base {
	b := p.Base
	b.Typed, b.Errors = nil, nil
	return b
}

func belowOptions(may bool) []Option {
	return []Option{
		{Value: "no", Label: "is refused", Note: "Somebody books the delivery in or counts first, so that the ledger always has what is used.", Chosen: !may},
		{Value: "yes", Label: "is taken, and the part is one to count", Note: "The ledger goes below zero, at the last price paid, and the part stands among those to count.", Chosen: may},
	}
}
