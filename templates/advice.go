package templates

import (
	"strings"

	"damperdesk/internal/advice"
	"damperdesk/internal/order"
	"damperdesk/internal/stock"
)

// AdvicePage is what is to be ordered and why.
type AdvicePage struct {
	Base
	Items []order.Advised // that are bought somewhere
	Lone  []order.Advised // that nobody sells
	More  bool

	Reckoned         []advice.Item // what was reckoned last of these
	Newest, Finished advice.Run
}

// LiveAdvice is the subject of how far it is reckoned what to order.
const LiveAdvice = "advice:0"

// adviceGroup is what is ordered at one supplier, or what jobs wait for.
type adviceGroup struct {
	title string
	items []order.Advised
}

func (p AdvicePage) groups() []adviceGroup {
	var groups []adviceGroup
	for _, a := range p.Items {
		title := a.Supplier
		if a.Wanted > 0 {
			title = "Jobs wait for these"
		}
		if n := len(groups); n == 0 || groups[n-1].title != title {
			groups = append(groups, adviceGroup{title: title})
		}
		last := &groups[len(groups)-1]
		last.items = append(last.items, a)
	}
	return groups
}

// whyWords says how an amount came about: "2 free, 3 on order, ordered below 6,
// filled up to 12: 7, in packs of 5: 10".
func whyWords(m stock.Measure, why []order.Reason) string {
	var s strings.Builder
	for _, r := range why {
		n := bare(m, r.Amount)
		words, before := "", ", "
		switch r.Because {
		case order.IsFree:
			words = n + " free"
			if r.Amount < 0 {
				words = bare(m, -r.Amount) + " more set aside than there is"
			}
		case order.IsSent:
			words = n + " on order"
		case order.IsDraft:
			words = n + " in a draft"
		case order.JobsWait:
			words = plural(r.Count, "job") + " waiting for " + n
		case order.Below:
			words = "ordered below " + n
		case order.UpTo:
			words = "filled up to " + n
		case order.Doubled:
			words = "filled up to twice that, " + n
		case order.Lacking, order.Comes:
			words, before = n, ": "
		case order.InPacks:
			words = "in packs of " + n
		default:
			words = r.Words
		}
		if s.Len() > 0 {
			s.WriteString(before)
		}
		s.WriteString(words)
	}
	return s.String()
}

// bare is an amount without the word for pieces.
func bare(m stock.Measure, amount int64) string {
	if m == stock.Each {
		return strings.Replace(m.Field(amount), "-", "−", 1)
	}
	return m.Format(amount)
}

func (p AdvicePage) sum(a order.Advised) string {
	sum, ok := a.SumMinor()
	if !ok {
		return "price not known"
	}
	return p.Prefs.Money(sum, "")
}

func (p AdvicePage) amountField(a order.Advised) Field {
	return Field{Name: lineField(a.ItemID, "qty"), Label: "Amount of " + a.Code, Value: a.Measure.Field(a.Suggestion.Qty), Keyboard: "decimal",
		Hint: packsWords(a.Measure, a.Suggestion.Qty, a.Pack)}
}
