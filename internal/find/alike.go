package find

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/fold"
)

// Likeness is why two customers may be one person, the best reason first.
type Likeness int

const (
	SamePhone Likeness = iota
	SameMail
	SameName
	CloseName
)

func (l Likeness) String() string {
	return [...]string{"the same phone number", "the same mail address", "the same name", "a name close to it"}[l]
}

// Alike is somebody who may be the one that was typed.
type Alike struct {
	Customer
	Why []Likeness
}

const alikeAtMost = 6

// Reasons are why two people may be one. Phone numbers are the same where all
// their digits are, or the last sameTail where one has the prefix of a country
// or place before them; names where they have the same words in any order, an
// initial standing for any word it begins.
func Reasons(a, b customer.Details) (why []Likeness) {
	if samePhone(a.Phone, b.Phone) {
		why = append(why, SamePhone)
	}
	if a, b := strings.TrimSpace(a.Mail), strings.TrimSpace(b.Mail); a != "" && strings.EqualFold(a, b) {
		why = append(why, SameMail)
	}
	switch slips, alike := nameSlips(strings.Fields(fold.Text(a.Name)), strings.Fields(fold.Text(b.Name))); {
	case alike && slips == 0:
		why = append(why, SameName)
	case alike:
		why = append(why, CloseName)
	}
	return why
}

func samePhone(a, b string) bool {
	a, b = strings.TrimLeft(fold.PhoneDigits(a), "0"), strings.TrimLeft(fold.PhoneDigits(b), "0")
	if len(a) > len(b) {
		a, b = b, a
	}
	return a != "" && (a == b || len(a) >= sameTail && strings.HasSuffix(b, a))
}

// nameSlips pairs off the words of two names and counts how far apart they are;
// a name of a single word is like no longer one.
func nameSlips(a, b []string) (slips int, alike bool) {
	if len(a) == 0 || len(a) != len(b) {
		return 0, false
	}
	left := slices.Clone(b)
	for _, word := range a {
		best, at := 0, -1
		for i, other := range left {
			if n, ok := wordSlips(word, other); ok && (at < 0 || n < best) {
				best, at = n, i
			}
		}
		if at < 0 {
			return 0, false
		}
		slips, left = slips+best, slices.Delete(left, at, at+1)
	}
	return slips, true
}

func wordSlips(a, b string) (int, bool) {
	short, long := a, b
	if len(short) > len(long) {
		short, long = long, short
	}
	if n := len([]rune(short)); n == 1 && strings.HasPrefix(long, short) {
		return min(1, len([]rune(long))-n), true
	}
	n := distance(a, b)
	return n, n <= min(term{text: a}.mistakes(), term{text: b}.mistakes())
}

// LikelySame lists who of the customers may be the person of those details, the
// likeliest first; but is the id of a customer who is meant themselves, 0 for
// nobody. Whoever was merged counts by their own details too.
func LikelySame(ctx context.Context, q db.Querier, d customer.Details, but int64) ([]Alike, error) {
	list, err := likelySame(ctx, q, d, but)
	if err != nil {
		return nil, fmt.Errorf("find who is alike: %w", err)
	}
	return list, nil
}

func likelySame(ctx context.Context, q db.Querier, d customer.Details, but int64) ([]Alike, error) {
	rows, err := candidates(ctx, q, d)
	if err != nil {
		return nil, err
	}
	why, ids := map[int64][]Likeness{}, []int64{}
	for _, c := range rows {
		if reasons := Reasons(d, c.Details); len(reasons) > 0 && c.NowID != but {
			ids = append(ids, c.NowID)
			why[c.NowID] = append(why[c.NowID], reasons...)
		}
	}
	people, err := readCustomers(ctx, q, ids)
	if err != nil {
		return nil, err
	}
	var list []Alike
	for id, c := range people {
		slices.Sort(why[id])
		list = append(list, Alike{Customer: c, Why: slices.Compact(why[id])})
	}
	slices.SortFunc(list, func(a, b Alike) int {
		return cmp.Or(cmp.Compare(a.Why[0], b.Why[0]), cmp.Compare(len(b.Why), len(a.Why)), cmp.Compare(a.Name, b.Name), cmp.Compare(a.ID, b.ID))
	})
	return list[:min(len(list), alikeAtMost)], nil
}

// candidate is somebody who shares a number, an address or a word.
type candidate struct {
	NowID int64
	customer.Details
}

// candidates looks by trigrams: for names by their longest words, as typed and
// as they may have been meant.
func candidates(ctx context.Context, q db.Querier, d customer.Details) (all []candidate, err error) {
	likely, err := likelyWords(ctx, q, d.Name)
	if err != nil {
		return nil, err
	}
	local, _, _ := strings.Cut(d.Mail, "@")
	var b pgx.Batch
	var named, rung, mailed []candidate
	grams := make([]string, len(likely))
	for i, w := range likely {
		grams[i] = strings.Join(fold.Grams(w), ",")
	}
	db.Queue(&b, &named, candidateSQL+`join unnest($1::text[], $2::text[]) w (word, grams) on c.grams @> string_to_array(w.grams, ',')
		where ' ' || c.name_key || ' ' like '% ' || w.word || ' %' limit 2000`, likely, grams)
	if digits := strings.TrimLeft(fold.PhoneDigits(d.Phone), "0"); len(digits) >= shortest {
		db.Queue(&b, &rung, candidateSQL+"where c.grams @> $1 limit 200", phoneEnd(digits))
	}
	if folded := fold.Text(local); folded != "" {
		db.Queue(&b, &mailed, candidateSQL+"where c.grams @> $1 and lower(c.mail) = lower($2)", mailGrams(folded), strings.TrimSpace(d.Mail))
	}
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return nil, err
	}
	return slices.Concat(rung, mailed, named), nil
}

// wordsLookedFor is how many words of a name are: the other may be an initial.
const wordsLookedFor = 2

func likelyWords(ctx context.Context, q db.Querier, name string) ([]string, error) {
	words := strings.Fields(fold.Text(name))
	slices.SortStableFunc(words, func(a, b string) int { return cmp.Compare(len(b), len(a)) })
	var terms []term
	for _, w := range words[:min(len(words), wordsLookedFor)] {
		terms = append(terms, term{text: w})
	}
	known, err := vocabulary(ctx, q, terms)
	likely := []string{}
	for i, t := range terms {
		if err == nil {
			likely = append(likely, t.text)
			likely = append(likely, nearest(t.text, t.mistakes(), known[i])...)
		}
	}
	return likely, err
}

// phoneEnd are the trigrams of the last digits of a number.
func phoneEnd(digits string) []string {
	grams := fold.Grams(digits[max(0, len(digits)-sameTail):])
	return grams[2:]
}

const candidateSQL = "select coalesce(c.merged_into, c.id) as now_id, c.name, c.phone, c.mail, c.address from customer c "
