package find

import (
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"damperdesk/internal/fold"
)

const (
	longest   = 200 // bytes that are looked at
	mostTerms = 8
	// A term of fewer letters is looked for as a whole word unless a longer one
	// stands beside it; of fewer digits as a whole number.
	shortest = 3
)

// term is one of the things that were typed. Each has to fit something of
// whatever is found.
type term struct {
	text   string // folded, letters and digits only, for mail also spaces
	digits string // of a phone number, without leading zeros; empty for anything else
	mail   string // in lower case; empty for anything else
}

func (t term) short() bool { return utf8.RuneCountInString(t.text) < shortest }

func (t term) hasDigit() bool { return strings.ContainsAny(t.text, "0123456789") }

// anywhere says whether the term is looked for inside a code too, not at its
// beginning alone.
func (t term) anywhere() bool { return t.hasDigit() && !t.short() }

// inNumber is what a phone number is written with, its groups parted by strokes
// and dashes of any kind.
var inNumber = regexp.MustCompile(`^[+()./\p{Pd}]*[0-9][0-9()./\p{Pd}]*$`)

// readings are the ways to take what was typed, the likelier first: groups of
// digits beside each other are one number, or each is a word of its own.
func readings(text string) [][]term {
	joined, grouped := termsOf(text, true)
	list := [][]term{joined}
	if grouped {
		apart, _ := termsOf(text, false)
		list = append(list, apart)
	}
	return list
}

// termsOf also says whether groups of digits stand beside each other.
func termsOf(text string, join bool) (terms []term, grouped bool) {
	number := ""
	end := func() {
		if t := numberTerm(number); t.text != "" {
			terms = append(terms, t)
		}
		number = ""
	}
	for field := range strings.FieldsSeq(text) {
		switch {
		case inNumber.MatchString(field):
			grouped = grouped || number != ""
			if !join {
				end()
			}
			number += field
		case strings.Contains(field, "@"):
			end()
			terms = append(terms, mailTerms(field)...)
		case fold.Text(field) == "": // a stroke between two groups parts nothing
		default:
			end()
			for word := range strings.FieldsSeq(fold.Text(field)) {
				terms = append(terms, term{text: word})
			}
		}
	}
	end()
	return terms[:min(len(terms), mostTerms)], grouped
}

func numberTerm(written string) term {
	t := term{text: fold.Digits(written)}
	digits := fold.PhoneDigits(written)
	if bare := strings.TrimLeft(digits, "0"); len(bare) >= shortest {
		digits = bare
	}
	if len(digits) >= shortest {
		t.digits = digits
	}
	return t
}

// mailTerms has one term for an address, none where nothing stands before the
// @ to look for.
func mailTerms(field string) []term {
	local, _, _ := strings.Cut(field, "@")
	text := fold.Text(local)
	if text == "" {
		return nil
	}
	return []term{{text: text, mail: strings.ToLower(field)}}
}

// clean is the part of the text that is looked at, fit for a database.
func clean(text string) string {
	text = strings.ReplaceAll(strings.ToValidUTF8(text, " "), "\x00", " ")
	if len(text) <= longest {
		return text
	}
	return strings.ToValidUTF8(text[:longest], "")
}

// ticketWritten is a ticket number as it is said or printed, and the address
// that its QR code holds. A scanner set to another keyboard than the computer
// types a dash for the stroke.
var ticketWritten = regexp.MustCompile(`(?i)^\s*(?:(?:ticket|job)\s*)?(?:#|no\.?\s)?\s*([1-9][0-9]{0,8})\s*$|[/-]tickets[/-]([1-9][0-9]{0,8})\s*$`)

// ticketIn is the ticket number that the text is; 0 for any other text.
func ticketIn(text string) int {
	m := ticketWritten.FindStringSubmatch(text)
	if m == nil {
		return 0
	}
	n, _ := strconv.Atoi(m[1] + m[2])
	return n
}
