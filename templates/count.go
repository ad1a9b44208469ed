package templates

import (
	"strings"

	"damperdesk/internal/partslist"
	"damperdesk/internal/stock"
)

// CountsPage is where counts begin and are found again.
type CountsPage struct {
	Base
	Counts  []stock.Stocktake
	ToCount []stock.Item
	// Unposted is what jobs used that the ledger had none of.
	Unposted []partslist.Unposted
	Places   []stock.PlaceToCount
}

// CountPage is one count at the shelf. Open is the line that is typed into, nil for
// none; Typed is what its field begins with.
type CountPage struct {
	Base
	Count stock.Stocktake
	List  []stock.Counted
	Open  *stock.Counted
	Typed string
}

// DifferencesPage is what an owner approves.
type DifferencesPage struct {
	Base
	Count stock.Stocktake
	List  []stock.Counted
}

func countPath(id int64) string { return "/parts/count/" + idText(id) }

// CountOf is what a count counts.
func CountOf(c stock.Stocktake) string {
	switch {
	case c.Chosen:
		return "count " + idText(c.ID) + ", chosen items"
	case c.Place == "":
		return "count " + idText(c.ID) + ", items without a place"
	}
	return "count " + idText(c.ID) + ", " + c.Place
}

// Heading is its title.
func (p CountPage) Heading() string { return upperFirst(CountOf(p.Count)) }

func placeName(place string) string {
	if place == "" {
		return "no place"
	}
	return place
}

func countStanding(c stock.Stocktake) (Shape, string) {
	switch c.State {
	case stock.CountPosted:
		return Disc, "posted"
	case stock.CountDropped:
		return Arrow, "dropped"
	}
	return HalfDisc, "open"
}

// countedOf is how far a count is: "3 of 12 counted".
func countedOf(c stock.Stocktake) string { return num(c.Counted) + " of " + num(c.Items) + " counted" }

func (p CountPage) open() bool { return p.Count.State == stock.CountOpen }

func countedLines(list []stock.Counted) (done []stock.Counted) {
	for _, c := range list {
		if c.LineID != 0 {
			done = append(done, c)
		}
	}
	return done
}

func uncountedLines(list []stock.Counted) []stock.Counted {
	return list[:len(list)-len(countedLines(list))]
}

// isOpen says whether the line is the one typed into.
func (p CountPage) isOpen(c stock.Counted) bool { return p.Open != nil && p.Open.ItemID == c.ItemID }

func (p CountPage) linePath(c stock.Counted) string {
	return countPath(p.Count.ID) + "?item=" + idText(c.ItemID)
}

// amountField asks for the amount in pieces, millilitres or grams by steps.
func (p CountPage) amountField() Field {
	f := Field{Name: "counted", Label: "Counted", Value: p.Typed, Unit: "pieces", Keyboard: "numeric", Attributes: map[string]any{"data-step": "1"}}
	switch p.Open.Measure {
	case stock.Volume:
		f.Unit, f.Keyboard, f.Attributes = "mL, or a number with L", "decimal", map[string]any{"data-step": "50"}
	case stock.Mass:
		f.Unit, f.Keyboard, f.Attributes = "g, or a number with kg", "decimal", map[string]any{"data-step": "50"}
	}
	return f
}

// lineNotes say of an open line what somebody at the shelf has to know, and nothing
// of what the ledger says before it is counted.
func (p CountPage) lineNotes() []string {
	var notes []string
	c := *p.Open
	if c.Found {
		notes = append(notes, "It is not kept here: its place is "+placeName(c.Place)+".")
	}
	if c.LineID != 0 {
		notes = append(notes, "Counted already: "+p.CountedWords(c)+" What you count now takes its place.")
	}
	return append(notes, "Last counted: "+p.lastCounted(c)+".")
}

func (b Base) lastCounted(c stock.Counted) string {
	if c.LastAt == nil {
		return "never"
	}
	return b.Day(*c.LastAt)
}

// CountedWords say what was counted, against what the ledger said then.
func (b Base) CountedWords(c stock.Counted) string {
	words := c.Name + ": " + c.Measure.Format(c.Counted) + " counted, "
	if c.Difference() == 0 {
		return words + "as the ledger said."
	}
	return words + "the ledger said " + c.Measure.Format(c.Ledger) + "."
}

// differenceWords are "2 pieces more", "20 mL less", or that there is none.
func differenceWords(c stock.Counted) string {
	switch d := c.Difference(); {
	case d > 0:
		return c.Measure.Format(d) + " more"
	case d < 0:
		return c.Measure.Format(-d) + " less"
	}
	return "none"
}

// countedBy says who counted it, when and how often.
func (b Base) countedBy(c stock.Counted) string {
	words := listed(c.By, b.When(*c.At))
	if c.Times > 1 {
		words += ", counted " + plural(c.Times, "time")
	}
	return words
}

// costs of a difference: at the moving cost, or what it was posted at.
func (p DifferencesPage) costs(c stock.Counted) int64 {
	if p.Count.State == stock.CountPosted {
		return c.Moved
	}
	return c.Cost()
}

// cost is an amount of the shop's money with a true minus, signed one with a plus
// as well.
func (b Base) cost(minor int64) string {
	return strings.Replace(b.Prefs.Money(minor, ""), "-", "−", 1)
}

func (b Base) signed(minor int64) string {
	if minor > 0 {
		return "+" + b.cost(minor)
	}
	return b.cost(minor)
}

// different are the lines with a difference, and what less, more and all come to.
func (p DifferencesPage) different() (lines []stock.Counted, less, more int64) {
	for _, c := range countedLines(p.List) {
		if c.Difference() == 0 {
			continue
		}
		lines = append(lines, c)
		if cost := p.costs(c); cost < 0 {
			less += cost
		} else {
			more += cost
		}
	}
	return lines, less, more
}

func (p DifferencesPage) doubtful() (names []string) {
	for _, c := range countedLines(p.List) {
		if c.Doubtful {
			names = append(names, c.Code)
		}
	}
	return names
}

// wrongWords say why the ledger cannot be right about an item.
func wrongWords(i stock.Item) string {
	if i.Qty < 0 {
		return "below zero: " + i.Show(i.Qty)
	}
	return i.Show(i.Aside) + " set aside, " + i.Show(i.Qty) + " there"
}
