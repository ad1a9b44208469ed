package order

// Situation is how an item stands, as far as it says what to order. Amounts are in
// the smallest unit of its measure.
type Situation struct {
	Free    int64 // there and not set aside; below zero where more is set aside than there is
	OnOrder int64 // sent, still to come
	Drafted int64 // in a draft
	Wanted  int64 // by jobs that wait for it, beyond what is set aside for them
	Jobs    int   // how many wait
	Low     *int64
	High    *int64
	Pack    int64 // it comes in so much, above zero
	// Basis says why Low and High are what they are, where that is not simply said
	// by hand; it stands before the other reasons.
	Basis []Reason
}

// Because is a kind of reason.
type Because string

// The kinds of reason.
const (
	IsFree   Because = "free"
	IsSent   Because = "on order"
	IsDraft  Because = "in a draft"
	JobsWait Because = "jobs wait"     // Count of them, for Amount
	Below    Because = "ordered below" // Amount
	UpTo     Because = "filled up to"  // Amount
	Doubled  Because = "filled up to twice that"
	Lacking  Because = "lacking" // Amount
	InPacks  Because = "in packs of"
	Comes    Because = "that makes" // Amount, in whole packs
)

// Reason is one step of how an amount came about, with its figures.
type Reason struct {
	Because Because
	Amount  int64
	Count   int
	Words   string // of a basis that has its own
}

// Suggestion is how much to order, and why.
type Suggestion struct {
	Qty int64 // whole packs
	Why []Reason
}

// Suggest says how much of an item to order. With what is on order and without what
// jobs wait for, it is to be no less than Low; else it is filled up to High, or to
// twice Low where there is no High. Without Low it is ordered for jobs alone. ok is
// false where nothing is to be ordered.
func Suggest(s Situation) (_ Suggestion, ok bool) {
	has := s.Free + s.OnOrder + s.Drafted - s.Wanted
	low := int64(0)
	if s.Low != nil {
		low = *s.Low
	}
	if has >= low {
		return Suggestion{}, false
	}
	why := append([]Reason{}, s.Basis...)
	why = append(why, Reason{Because: IsFree, Amount: s.Free}, Reason{Because: IsSent, Amount: s.OnOrder})
	if s.Drafted > 0 {
		why = append(why, Reason{Because: IsDraft, Amount: s.Drafted})
	}
	if s.Wanted > 0 {
		why = append(why, Reason{Because: JobsWait, Amount: s.Wanted, Count: s.Jobs})
	}
	to := int64(0)
	if s.Low != nil {
		to = 2 * low
		why = append(why, Reason{Because: Below, Amount: low})
		if s.High != nil {
			to = *s.High
			why = append(why, Reason{Because: UpTo, Amount: to})
		} else if low > 0 {
			why = append(why, Reason{Because: Doubled, Amount: to})
		}
	}
	lacking := max(to, low) - has
	qty := Whole(lacking, s.Pack)
	why = append(why, Reason{Because: Lacking, Amount: lacking})
	if qty != lacking {
		why = append(why, Reason{Because: InPacks, Amount: s.Pack}, Reason{Because: Comes, Amount: qty})
	}
	return Suggestion{qty, why}, true
}
