package chart

import (
	"math"
	"strconv"
)

// Linear places values from Low to High at coordinates from Start to End, which
// may run backwards, as those of a drawing do upwards.
type Linear struct{ Low, High, Start, End float64 }

// At keeps what lies outside at the nearer end, and puts everything at the
// start where the scale has no length.
func (s Linear) At(v float64) float64 {
	if !(s.High > s.Low) || math.IsNaN(v) {
		return s.Start
	}
	share := min(max((v-s.Low)/(s.High-s.Low), 0), 1)
	return s.Start + share*(s.End-s.Start)
}

// Weeks places N slots of the same width from Start to End, one for each week:
// a week of 23 or 25 hours more or less is as wide as any other.
type Weeks struct {
	N          int
	Start, End float64
}

func (s Weeks) Width() float64 {
	if s.N < 1 {
		return 0
	}
	return (s.End - s.Start) / float64(s.N)
}

// At is the middle of slot i.
func (s Weeks) At(i int) float64 { return s.Edge(i) + s.Width()/2 }

// Edge is where slot i begins.
func (s Weeks) Edge(i int) float64 { return s.Start + float64(i)*s.Width() }

// Every says which slots are named where a name takes room: the last one and
// each so many before it.
func (s Weeks) Every(room float64) int {
	if s.Width() <= 0 {
		return 1
	}
	return max(1, int(math.Ceil(room/s.Width())))
}

// Ticks are round values from 0 to at least high, at most most of them and
// never nearer to each other than step: 1, 2 or 5 times a power of ten apart.
// Without a high, from 0 to one step.
func Ticks(high, step float64, most int) []float64 {
	if math.IsNaN(high) || math.IsInf(high, 0) || high < 0 {
		high = 0
	}
	most = max(most, 2)
	apart := niceAbove(max(high/float64(most-1), step))
	n := max(1, int(math.Ceil(high/apart-1e-9)))
	list := make([]float64, n+1)
	for i := range list {
		list[i] = float64(i) * apart
	}
	return list
}

// niceAbove is the least 1, 2 or 5 times a power of ten that is not below v.
func niceAbove(v float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(v)))
	for _, m := range []float64{1, 2, 5} {
		if m*power >= v*(1-1e-9) {
			return m * power
		}
	}
	return 10 * power
}

// coord prints a coordinate to a tenth.
func coord(v float64) string {
	return strconv.FormatFloat(math.Round(v*10)/10+0, 'f', -1, 64)
}

// number prints a tick with as many decimals as it has.
func number(v float64) string {
	return strconv.FormatFloat(math.Round(v*1e6)/1e6+0, 'f', -1, 64)
}
