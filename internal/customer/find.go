package customer

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"time"

	"damperdesk/internal/db"
)

// Found is a customer that fits what was typed.
type Found struct {
	Customer
	Units    int
	LastHere *time.Time // when the newest visit was opened
}

const (
	minDigits = 3 // fewer say nothing about a phone number
	// Two writings of one number, with and without the country's prefix, share
	// at least this many last digits.
	minSameTail = 7
)

// wanted is what somebody typed, sorted into what it can be.
type wanted struct {
	words   []string // patterns of words in a name, all of them
	all     []string // the same with words of digits too
	whole   []string // the words as whole words
	digits  string   // of a phone number, without leading zeros where that leaves enough
	number  int      // of a ticket, 0 for none
	mail    string   // pattern of a mail address
	nothing bool
}

func want(text string) wanted {
	w := wanted{words: []string{}, all: []string{}, whole: []string{}}
	folded := strings.Fields(Fold(text))
	typed := Digits(text)
	for _, word := range folded {
		w.all = append(w.all, "% "+word+"%")
		if len(typed) < minDigits || word != Digits(word) {
			w.words = append(w.words, "% "+word+"%")
			w.whole = append(w.whole, "% "+word+" %")
		}
	}
	if len(typed) >= minDigits {
		w.digits = typed
		if short := strings.TrimLeft(typed, "0"); len(short) >= minDigits {
			w.digits = short
		}
	}
	if n, err := strconv.ParseInt(typed, 10, 32); err == nil && len(w.words) == 0 {
		w.number = int(n)
	}
	if single := strings.TrimSpace(text); !strings.ContainsAny(single, " \t") && single != "" {
		w.mail = strings.NewReplacer(`\`, `\\`, "%", `\%`, "_", `\_`).Replace(strings.ToLower(single)) + "%"
	}
	w.nothing = len(w.all) == 0
	return w
}

// Find lists at most limit customers who fit the text, best first: words of
// the name in any order, each at least begun; three or more digits of the
// phone number in any grouping; the beginning of the mail address; the number
// of a ticket. Of words and digits together the words must fit, and those
// whose phone number fits too come first.
func Find(ctx context.Context, q db.Querier, text string, limit int) ([]Found, error) {
	w := want(text)
	if w.nothing {
		return nil, nil
	}
	rows, err := q.Query(ctx, findSQL, w.words, w.all, w.whole, w.digits, w.mail, w.number, limit, minSameTail)
	list, err := db.All[Found](rows, err)
	if err != nil {
		return nil, fmt.Errorf("find customers: %w", err)
	}
	return list, nil
}

const findSQL = `with fit as (
		select c.id, c.name, c.name_key, c.phone, c.mail, c.version,
			cardinality($1::text[]) > 0 and ' ' || c.name_key like all ($1) as words,
			' ' || c.name_key like all ($2::text[]) as every,
			cardinality($3::text[]) > 0 and ' ' || c.name_key || ' ' like all ($3) as whole,
			$4 <> '' and (c.phone_digits like '%' || $4 || '%'
				or (length(ltrim(c.phone_digits, '0')) >= $8 and $4 like '%' || ltrim(c.phone_digits, '0'))) as rang,
			$5 <> '' and lower(c.mail) like $5 as mailed,
			c.id = any (array(select v.customer_id from job j join visit v on v.id = j.visit_id where j.number = $6)) as ticketed
		from customer c),
	best as (
		select *, ticketed::int * 8 + rang::int * 4 + whole::int * 2 + every::int as score
		from fit
		where words or every or mailed or ticketed or (rang and cardinality($1) = 0)
		order by score desc, name_key, id limit $7)
	select id, name, phone, mail, version,
		(select count(*) from unit u where u.customer_id = best.id)::int as units,
		(select max(opened_at) from visit v where v.customer_id = best.id) as last_here
	from best order by score desc, name_key, id`
