package find

import (
	"cmp"
	"slices"
	"unicode/utf8"
)

// mistakes is how many slips of the fingers the term may have. By the counting
// in tail these are the most that trigrams can still find. A slip in a number
// makes another number, so one is all.
func (t term) mistakes() int {
	switch n := utf8.RuneCountInString(t.text); {
	case t.mail != "", n < 4:
		return 0
	case n < 9, t.hasDigit():
		return 1
	}
	return 2
}

// tail is the trigrams of which a word with that many mistakes keeps at least
// one. A letter inserted breaks two of the trigrams in a row, one left out or
// changed three, two swapped four: 4 × mistakes + 1 cannot all be broken. They
// are taken from the end, since many words begin alike.
func tail(grams []string, mistakes int) []string {
	return grams[max(0, len(grams)-4*mistakes-1):]
}

// distance is the number of slips that make one word of the other: a letter
// inserted, left out or changed, or two neighbours swapped, which are the four
// kinds that Damerau counted in 1964; no letter is touched twice.
func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	before, last, row := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(x); i++ {
		row[0] = i
		for j := 1; j <= len(y); j++ {
			change := 1
			if x[i-1] == y[j-1] {
				change = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+change)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(y)]
}

// mostNear is how many other words one word may be a mistyping of.
const mostNear = 12

// nearest is those of the words that are at most so many slips away from text,
// the closest first.
func nearest(text string, allowed int, words []string) []string {
	type candidate struct {
		word string
		away int
	}
	var list []candidate
	for _, w := range words {
		if d := distance(text, w); d > 0 && d <= allowed {
			list = append(list, candidate{w, d})
		}
	}
	slices.SortFunc(list, func(a, b candidate) int {
		return cmp.Or(cmp.Compare(a.away, b.away), cmp.Compare(a.word, b.word))
	})
	list = slices.Compact(list)
	var near []string
	for _, c := range list[:min(len(list), mostNear)] {
		near = append(near, c.word)
	}
	return near
}
