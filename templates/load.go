package templates

import (
	"fmt"
	"math"
	"strings"
	"time"

	"damperdesk/internal/plan"
)

// LoadWeek is what the bench has to do in a week, and what the work of those who
// are chosen would add.
type LoadWeek struct {
	plan.Week
	Likely time.Duration
}

// viewBox is as long as the hours there are; nothing of a week without any.
func (w LoadWeek) viewBox() string { return fmt.Sprintf("0 0 %s 10", coord(w.whole())) }

func (w LoadWeek) whole() float64 { return max(w.There.Hours(), 1) }

func (w LoadWeek) taken() float64 { return min(w.Taken.Hours(), w.whole()) }

// likely keeps inside the drawing; its text says how much it is.
func (w LoadWeek) likely() float64 { return min(w.Likely.Hours(), w.whole()-w.taken()) }

// words say the drawing: "33 of 54 h free".
func (w LoadWeek) words() string {
	if w.There == 0 {
		return "nobody at the bench"
	}
	left := math.Max(w.Free().Hours()-w.Likely.Hours(), 0)
	return fmt.Sprintf("%.0f of %.0f h free", left, w.There.Hours())
}

// loadNote says what the drawing is of.
func loadNote(share float64, counted bool, kept bool) string {
	words := []string{"Filled: in line or booked.", fmt.Sprintf("Hatched: those ticked, if %s.", ofInvited(share))}
	if counted {
		words[1] = fmt.Sprintf("Hatched: those ticked, if %s, as of those invited before.", ofInvited(share))
	}
	words = append(words, "Empty: free")
	if kept {
		words[2] += ", of which some is kept for what nobody has booked"
	}
	return strings.Join(words, " ") + "."
}

// ofInvited is a share in quarters or tenths: "three of four say yes".
func ofInvited(share float64) string {
	if share == 0.75 {
		return "three of four say yes"
	}
	return fmt.Sprintf("%.0f of ten say yes", math.Round(10*share))
}

// dayOfMonth is a day without its weekday.
func (b Base) dayOfMonth(t time.Time) string { return b.local(t).Format("2 Jan") }
