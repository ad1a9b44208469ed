package due

import (
	"slices"
	"time"
)

// Candidate is a service of a unit that its rider may be invited for.
type Candidate struct {
	UnitID     int64
	Service    string // its code
	CustomerID int64
	Work       time.Duration // at the bench
}

const (
	// Comes is the share of the invited who come, until there are invitations
	// enough to tell: common practice (no source).
	Comes = 0.75
	// leastInvited is how many earlier invitations tell the share.
	leastInvited = 20
	// AtOnce is how many services are invited for in one press.
	AtOnce = 100
	// Fills is how many weeks after the present one invitations may fill: most
	// who come do so within a fortnight, common practice (no source).
	Fills = 2
)

// ShareOf is the share of invited people who came, of so many. Before there are
// enough it is Comes, and counted is false.
func ShareOf(came, invited int) (share float64, counted bool) {
	if invited < leastInvited {
		return Comes, false
	}
	return float64(came) / float64(invited), true
}

// Choose picks whom to invite, as indices of the list, in the order of the
// list: one customer after the other with all that is due of theirs, as long
// as the work that is likely to come of it fits into the free hours of the
// weeks after the present one, weeks[0]. Whoever does not fit is passed over
// for somebody whose work does. With most above 0 the room does not count: it
// takes the first customers whose services are so many or fewer. There are never
// more than AtOnce.
func Choose(list []Candidate, free []time.Duration, share float64, most int) []int {
	room := time.Duration(0)
	for _, hours := range free[min(1, len(free)):min(1+Fills, len(free))] {
		room += hours
	}
	var picked []int
	theirs, order := byCustomer(list)
	for _, customer := range order {
		var work time.Duration
		for _, i := range theirs[customer] {
			work += list[i].Work
		}
		likely, n := time.Duration(share*float64(work)), len(picked)+len(theirs[customer])
		switch {
		case n > AtOnce, most > 0 && n > most, most <= 0 && likely > room:
			continue
		}
		room -= likely
		picked = append(picked, theirs[customer]...)
	}
	slices.Sort(picked)
	return picked
}

// byCustomer are the places in the list of what is due of each customer, and these
// as they come first.
func byCustomer(list []Candidate) (theirs map[int64][]int, order []int64) {
	theirs = map[int64][]int{}
	for i, c := range list {
		if theirs[c.CustomerID] == nil {
			order = append(order, c.CustomerID)
		}
		theirs[c.CustomerID] = append(theirs[c.CustomerID], i)
	}
	return theirs, order
}

// Spread puts work that is likely to come into the free hours of weeks, from the
// second on; what does not fit is over.
func Spread(likely time.Duration, free []time.Duration) (in []time.Duration, over time.Duration) {
	in = make([]time.Duration, len(free))
	for i := 1; i < len(free); i++ {
		in[i] = min(likely, max(free[i], 0))
		likely -= in[i]
	}
	return in, likely
}
