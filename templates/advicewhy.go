package templates

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"damperdesk/internal/advice"
	"damperdesk/internal/money"
	"damperdesk/internal/stat"
	"damperdesk/internal/stock"
)

// SeasonPage is what the busiest weeks ahead will take.
type SeasonPage struct {
	Base
	Items         []advice.Item
	Finished      advice.Run
	Plain, Sparse int // other items: without a season, with too little history
}

func (p SeasonPage) nothing() string {
	if p.Finished.ID == 0 {
		return "It was not reckoned yet what items take: press “Reckon again” on the page of what to order."
	}
	return "No item is known to have a season that begins within half a year. " + p.others()
}

func (p SeasonPage) others() string {
	return fmt.Sprintf("Of %s the history shows no season; of %s there is not enough history.", plural(p.Plain, "other item"), plural(p.Sparse, "item"))
}

// ShelfPage is what the shop wants of its shelf.
type ShelfPage struct {
	Base
	Setting advice.Setting
}

func (p ShelfPage) services() []Field {
	f := func(name, class string, v float64) Field {
		return Field{Name: name, Label: "Class " + class, Unit: "%", Value: decimal(v), Keyboard: "decimal", Required: true}
	}
	return []Field{f("service_a", "A", p.Setting.ServiceA), f("service_b", "B", p.Setting.ServiceB), f("service_c", "C", p.Setting.ServiceC)}
}

func (p ShelfPage) costs() []Field {
	return []Field{
		{Name: "order", Label: "To order and unpack one item", Unit: p.Prefs.Currency, Value: money.FormatNumber(p.Setting.OrderMinor, p.Prefs.Currency), Keyboard: "decimal", Required: true,
			Hint: "The more it costs, the more is ordered at a time."},
		{Name: "hold", Label: "To have it lie there for a year, of its price", Unit: "%", Value: decimal(p.Setting.HoldPercent), Keyboard: "decimal", Required: true,
			Hint: "Capital, room, and what gets too old. A fifth is usual."},
	}
}

// decimal prints a number with one decimal place at most.
func decimal(v float64) string {
	return strings.TrimSuffix(strconv.FormatFloat(v, 'f', 1, 64), ".0")
}

// runWords says when it was reckoned, or how far it is.
func (p AdvicePage) runWords() string {
	words := "It was not reckoned yet from what was used: items without a level said by hand are ordered for jobs alone."
	if p.Finished.ID != 0 {
		words = "Reckoned " + p.When(*p.Finished.FinishedAt) + "."
	}
	switch {
	case !p.Newest.Open():
	case p.Newest.Total == nil:
		words = "It is about to be reckoned again. " + words
	default:
		words = fmt.Sprintf("It is being reckoned again: %d of %s. ", p.Newest.Done, plural(*p.Newest.Total, "item")) + words
	}
	return words
}

func (p AdvicePage) reckoned(item int64) (advice.Item, bool) {
	at := slices.IndexFunc(p.Reckoned, func(i advice.Item) bool { return i.ItemID == item })
	if at < 0 {
		return advice.Item{}, false
	}
	return p.Reckoned[at], true
}

// reckonedWords is what the history says, in a line.
func reckonedWords(i advice.Item) string {
	switch {
	case i.Sparse():
		return "By what was used: not enough history"
	case !i.Known():
		return "By what was used: nothing can be said"
	case i.ByHand():
		return "Said by hand. By what was used: below " + bare(i.Measure, *i.Low) + ", up to " + bare(i.Measure, *i.High)
	}
	return "Why: by what was used, below " + bare(i.Measure, *i.Low) + ", up to " + bare(i.Measure, *i.High)
}

var modelWords = map[stat.Model]string{
	stat.ByYear:    "the same weeks of the year before",
	stat.ByAround:  "the weeks around the same of the year before",
	stat.ByMean:    "the mean of all weeks",
	stat.ByLevel:   "the weeks before, the last ones most",
	stat.ByTrend:   "the weeks before and where they lead",
	stat.BySeasons: "the weeks before and the seasons of the year",
	stat.ByCroston: "how much is used at a time, and how often (Croston)",
	stat.BySBA:     "how much is used at a time, and how often (Syntetos and Boylan)",
	stat.ByTSB:     "how much is used at a time, and the chance of it (Teunter, Syntetos and Babai)",
}

// figures are the reasons of an item in whole sentences.
func figures(i advice.Item) []string {
	if !i.Known() {
		return []string{unknownWords(i)}
	}
	list := []string{"Used: " + about(i.Measure, i.Mean) + " a week in the last year; there are " + plural(i.Weeks, "week") + " to go by."}
	if i.EmptyWeeks > 0 {
		list = append(list, "In "+plural(i.EmptyWeeks, "week")+" the shelf was empty on most days and nothing was used. They count for what the weeks beside them used, or for what was used right after.")
	}
	list = append(list, forecastWords(i), deliveryWords(i),
		fmt.Sprintf("Until a delivery that is ordered at the next look has come, %s are expected, give or take %s. So that they last in %s of 100 times (class %s), it is ordered below %s.",
			about(i.Measure, i.Demand), about(i.Measure, i.DemandSd), decimal(i.Service*100), i.Class, i.Measure.Format(*i.Low)))
	batch := "Four weeks of use are ordered at a time, because the price is not known"
	if i.Priced {
		batch = "What an order and the shelf cost is least at " + i.Measure.Format(i.Batch) + " at a time"
	}
	if i.Priced && float64(i.Batch) >= i.Mean*advice.MostWeeks {
		batch = fmt.Sprintf("What an order and the shelf cost would be least at more than the use of %d weeks, which is the most that is ordered at a time", advice.MostWeeks)
	}
	batch += ", in packs of " + i.Measure.Format(i.Pack) + ": it is filled up to " + i.Measure.Format(*i.High) + "."
	list = append(list, batch)
	if i.Capped && i.ShelfDays != nil {
		list = append(list, "No more than is used within the "+plural(*i.ShelfDays, "day")+" that it keeps.")
	}
	if i.ByHand() {
		list = append(list, "What was said by hand counts. Empty the levels on the page of the item to go by what was used.")
	}
	return list
}

func unknownWords(i advice.Item) string {
	if i.Sparse() {
		return fmt.Sprintf("There are %s with something on the shelf, and something was used in %d of them; it takes %d weeks and %d such. Until then what is said by hand counts.",
			plural(i.KnownWeeks, "week"), i.Demands, i.NeedWeeks, i.NeedDemands)
	}
	return "It is not said where it is bought, or the figures are out of range."
}

func forecastWords(i advice.Item) string {
	words := "Foretold by " + modelWords[i.Model] + ". Tried on weeks it had not seen, it was off by " + about(i.Measure, i.Off) + " over the time to last"
	if i.Bar == i.Model {
		return words + "; nothing finer was nearer."
	}
	return words + "; by " + modelWords[i.Bar] + " it would have been " + about(i.Measure, i.BarOff) + "."
}

func deliveryWords(i advice.Item) string {
	looks := fmt.Sprintf(", and it is looked at what to order every %s.", plural(i.ReviewDays, "day"))
	if i.LeadN == 0 {
		return "A delivery takes " + decimal(i.LeadDays) + " days, as the supplier promises" + looks
	}
	return fmt.Sprintf("The last %d deliveries took %s days, give or take %s", i.LeadN, decimal(i.LeadDays), decimal(i.LeadSD())) + looks
}

// about is a mean amount, with one decimal place of what is counted.
func about(m stock.Measure, amount float64) string {
	if m == stock.Each {
		return decimal(amount)
	}
	return m.Format(int64(amount/1000+0.5) * 1000)
}
