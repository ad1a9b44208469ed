package book

import (
	"cmp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// MostLetters is how long words of a file may be: no form here takes longer ones
// of what stands in it; those of a maker and of a model are the longest.
const MostLetters = 200

// refusedRune reports characters that no file may have: controls, and those that
// turn the direction of what follows (Unicode Standard Annex 9, explicit
// formatting characters).
func refusedRune(r rune) bool {
	return unicode.IsControl(r) || r >= 0x202A && r <= 0x202E || r >= 0x2066 && r <= 0x2069
}

// tidy makes a plain blank of every other one, and drops what has no width of its
// own, such as a soft hyphen. What is refused stays, to be refused.
func tidy(words string) string {
	return strings.Trim(strings.Map(func(r rune) rune {
		switch {
		case refusedRune(r):
			return r
		case unicode.Is(unicode.Z, r):
			return ' '
		case unicode.Is(unicode.Cf, r):
			return -1
		}
		return r
	}, words), " ")
}

// sendable is what somebody typed into a form as a file may have it, whatever it
// is; where nothing is left of it the first of otherwise that has any.
func sendable(words string, otherwise ...string) string {
	words = tidy(strings.Map(func(r rune) rune {
		switch {
		case unicode.IsControl(r):
			return ' '
		case refusedRune(r):
			return -1
		}
		return r
	}, words))
	return cmp.Or(append([]string{tidy(shortened(words, MostLetters))}, otherwise...)...)
}

// shortened are so many characters of a text at most.
func shortened(words string, most int) string {
	if utf8.RuneCountInString(words) > most {
		return string([]rune(words)[:most])
	}
	return words
}

// each is a list with every entry put through do; the list itself stays.
func each[T any](list []T, do func(T) T) []T {
	list = slices.Clone(list)
	for i, x := range list {
		list[i] = do(x)
	}
	return list
}

// said are the facts with their words put through do.
func (f Facts) said(do func(string) string) Facts {
	f.Maker, f.Model, f.Words, f.Serial = do(f.Maker), do(f.Model), do(f.Words), do(f.Serial)
	return f
}

// said is the work with its words put through do.
func (w Work) said(do func(string) string) Work {
	w.Shop = do(w.Shop)
	w.Services = each(w.Services, func(d Done) Done { return d.said(do) })
	w.Found = each(w.Found, func(f Found) Found {
		f.Step, f.What, f.Grade = do(f.Step), do(f.What), do(f.Grade)
		return f
	})
	w.Readings = each(w.Readings, func(r Reading) Reading {
		r.Step, r.What, r.Grade, r.Grades = do(r.Step), do(r.What), do(r.Grade), each(r.Grades, do)
		return r
	})
	w.Settings = each(w.Settings, func(s Setting) Setting {
		s.Key, s.Name, s.Form, s.Words = do(s.Key), do(s.Name), do(s.Form), do(s.Words)
		return s
	})
	return w
}

func (d Done) said(do func(string) string) Done { return Done{Code: do(d.Code), Name: do(d.Name)} }

// said is the file with its words put through do.
func (f File) said(do func(string) string) File {
	f.Shop, f.Unit = do(f.Shop), f.Unit.said(do)
	f.Services = each(f.Services, func(w Work) Work { return w.said(do) })
	f.Intervals = each(f.Intervals, func(i Interval) Interval {
		i.Done = i.Done.said(do)
		return i
	})
	return f
}
