package find

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"damperdesk/internal/fold"
)

// Piece is a part of a text that is shown, and whether it is what was looked
// for.
type Piece struct {
	Text   string
	Marked bool
}

// Words marks in a name or in words what was typed of them, and whole words
// that were mistyped.
func (r Result) Words(s string) []Piece {
	var marks []span
	for _, w := range wordsIn(s) {
		marks = append(marks, r.typed.inWord(s, w)...)
	}
	return pieces(s, marks)
}

// Code marks in a serial, tag or frame number what was typed of it.
func (r Result) Code(s string) []Piece {
	key := fold.Code(s)
	var marks []span
	for i, t := range r.typed.terms {
		at := strings.Index(key, t.text)
		switch {
		case at == 0, at > 0 && t.anywhere():
			marks = append(marks, spanOf(s, fold.Code, at, at+len(t.text)))
		default:
			for _, near := range r.typed.near[i] {
				if near == key {
					marks = append(marks, span{0, len(s)})
				}
			}
		}
	}
	return pieces(s, marks)
}

// Phone marks the digits that were typed.
func (r Result) Phone(s string) []Piece {
	digits := fold.Digits(s)
	var marks []span
	for _, t := range r.typed.terms {
		if t.digits == "" {
			continue
		}
		at := strings.LastIndex(digits, t.digits)
		switch bare := strings.TrimLeft(digits, "0"); {
		case at >= 0 && (len(t.digits) >= anywhereInPhone || at+len(t.digits) == len(digits)):
			marks = append(marks, spanOf(s, fold.Digits, at, at+len(t.digits)))
		case at < 0 && len(bare) >= sameTail && strings.HasSuffix(t.digits, bare):
			marks = append(marks, span{0, len(s)})
		}
	}
	return pieces(s, marks)
}

// Mail marks the beginning of the address that was typed, or words before its @.
func (r Result) Mail(s string) []Piece {
	for _, t := range r.typed.terms {
		if t.mail != "" && strings.HasPrefix(strings.ToLower(s), t.mail) && len(t.mail) <= len(s) {
			return pieces(s, []span{{0, len(t.mail)}})
		}
	}
	at := strings.IndexByte(s+"@", '@')
	list := r.Words(s[:at])
	if at < len(s) {
		list = append(list, Piece{Text: s[at:]})
	}
	return list
}

// span is bytes from and up to, of a text.
type span struct{ from, to int }

// inWord marks what terms have of the word w of s.
func (t typed) inWord(s string, w span) []span {
	word := s[w.from:w.to]
	key := fold.Code(word)
	var marks []span
	for i, term := range t.terms {
		if term.text != "" && term.mail == "" && strings.HasPrefix(key, term.text) && !(t.allShort() && key != term.text) {
			m := spanOf(word, fold.Code, 0, len(term.text))
			marks = append(marks, span{w.from + m.from, w.from + m.to})
			continue
		}
		for _, near := range t.near[i] {
			if near == key {
				marks = append(marks, w)
			}
		}
	}
	return marks
}

// wordsIn are the words of s as Fold parts them.
func wordsIn(s string) []span {
	var list []span
	from := -1
	for at, r := range s {
		parts := fold.Text("a"+string(r)+"a") == "a a"
		switch {
		case parts && from >= 0:
			list = append(list, span{from, at})
			from = -1
		case !parts && from < 0 && (unicode.IsLetter(r) || unicode.IsDigit(r)):
			from = at
		}
	}
	if from >= 0 {
		list = append(list, span{from, len(s)})
	}
	return list
}

// spanOf is the least part of s that becomes bytes from and up to of what fold
// makes of s. Letters are taken with the marks that follow them.
func spanOf(s string, fold func(string) string, from, to int) span {
	out := span{0, len(s)}
	begun := false
	for at, r := range s {
		if n := len(fold(s[:at+utf8.RuneLen(r)])); !begun && n > from {
			out.from, begun = at, true
		}
		if begun && len(fold(s[:at])) >= to && !unicode.Is(unicode.M, r) {
			out.to = at
			break
		}
	}
	return out
}

// pieces cuts s at the spans, which may overlap.
func pieces(s string, marks []span) []Piece {
	marked := make([]bool, len(s))
	for _, m := range marks {
		for i := m.from; i < m.to; i++ {
			marked[i] = true
		}
	}
	var list []Piece
	for from := 0; from < len(s); {
		to := from
		for to < len(s) && marked[to] == marked[from] {
			to++
		}
		list = append(list, Piece{s[from:to], marked[from]})
		from = to
	}
	return list
}
