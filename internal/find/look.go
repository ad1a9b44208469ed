package find

import (
	"context"
	"strings"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fold"
	"damperdesk/internal/spec"
)

// typed is the terms of a search, each with the words it may be a mistyping of.
type typed struct {
	terms []term
	near  [][]string // empty for a search as typed
}

// look finds what fits every one of the terms: as they are typed, and where
// that leaves room as they may be meant.
func look(ctx context.Context, q db.Querier, library []modelKey, terms []term) (t typed, h hits, err error) {
	t = typed{terms: terms, near: make([][]string, len(terms))}
	if len(terms) == 0 {
		return t, h, nil
	}
	if h, err = t.ways(library).hits(ctx, q, len(terms)); err != nil || h.enough(len(terms)) {
		return t, h, err
	}
	known, err := vocabulary(ctx, q, terms)
	if err != nil {
		return t, h, err
	}
	some := false
	for i, term := range terms {
		for _, m := range library {
			known[i] = append(known[i], strings.Fields(m.key)...)
		}
		t.near[i] = nearest(term.text, term.mistakes(), known[i])
		some = some || len(t.near[i]) > 0
	}
	if !some {
		return t, h, nil
	}
	h, err = t.ways(library).hits(ctx, q, len(terms))
	return t, h, err
}

// enough says whether mistyped words need not be looked for: of a single word
// they fill up a short list, of several they are tried where nothing fits.
func (h hits) enough(terms int) bool {
	found := max(len(h.Customers), len(h.Units))
	return found >= enough || found > 0 && terms > 1
}

// modelKey is a model of the library by what it is looked for.
type modelKey struct {
	id  int64
	key string
}

func readLibrary(ctx context.Context, q db.Querier) ([]modelKey, error) {
	models, err := spec.Models(ctx, q)
	var list []modelKey
	for _, m := range models {
		list = append(list, modelKey{m.ID, fold.Text(m.Title())})
	}
	return list, err
}

// vocabulary is for each term the words and codes of the shop that are long
// enough and share a trigram of its tail: codes where the term has a digit,
// words where it has none.
func vocabulary(ctx context.Context, q db.Querier, terms []term) ([][]string, error) {
	known := make([][]string, len(terms))
	var of, least, most []int
	var grams []string
	var codes []bool
	for i, t := range terms {
		allowed := t.mistakes()
		if allowed == 0 {
			continue
		}
		n, all := utf8.RuneCountInString(t.text), fold.Grams(t.text)
		if t.hasDigit() {
			all = fold.CodeGrams(t.text)
		}
		of, least, most = append(of, i), append(least, n-allowed), append(most, n+allowed)
		grams, codes = append(grams, strings.Join(tail(all, allowed), ",")), append(codes, t.hasDigit())
	}
	if len(of) == 0 {
		return known, nil
	}
	rows, err := q.Query(ctx, vocabularySQL, of, grams, least, most, codes)
	if err != nil {
		return nil, err
	}
	var i int
	var word string
	_, err = pgx.ForEachRow(rows, []any{&i, &word}, func() error {
		known[i] = append(known[i], word)
		return nil
	})
	return known, err
}

const vocabularySQL = `with term as materialized (
		select i, string_to_array(grams, ',') as grams, least, most, code
		from unnest($1::int[], $2::text[], $3::int[], $4::int[], $5::bool[]) t (i, grams, least, most, code)),
	words as (
		select t.i, c.name_key as key from term t join customer c on c.grams && t.grams where not t.code
		union
		select t.i, u.words_key from term t join unit u on u.grams && t.grams where not t.code),
	word as (
		select i, word from words cross join unnest(string_to_array(key, ' ')) word
		union
		select t.i, number from term t join unit u on u.grams && t.grams cross join unnest(array[u.serial_key, u.tag_key, u.frame_key]) number where t.code)
	select i, word from word join term using (i) where length(word) between least and most`

// ways are how terms may fit, as rows for the query: which term, where it is
// looked for, the trigrams that a row has to have, the text it is to hold and
// how well it then fits.
type ways struct {
	of    []int
	in    []string
	grams []string
	texts []string
	fits  []int

	models  []int64
	modelOf []int
	modelIs []int
}

// Where a term is looked for. The texts are folded and hold nothing but letters
// and digits.
const (
	inWords  = "words"  // begins a word, and fits better as a whole one
	isWord   = "word"   // is a whole word
	inCodes  = "codes"  // begins a serial, tag or frame number, or stands in it
	isCode   = "code"   // is one
	inPhones = "phones" // the digits of a phone number
	inMails  = "mails"  // begins a mail address
)

func (w *ways) add(of int, in string, grams []string, text string, fit Fit) {
	w.of, w.in, w.texts, w.fits = append(w.of, of), append(w.in, in), append(w.texts, text), append(w.fits, int(fit))
	w.grams = append(w.grams, strings.Join(grams, ","))
}

func (t typed) ways(library []modelKey) *ways {
	w := &ways{}
	short := t.allShort()
	for i, term := range t.terms {
		switch grams := fold.Grams(term.text); {
		case term.mail != "":
			w.add(i, inMails, mailGrams(term.text), term.mail, Begun)
			continue
		case short:
			w.add(i, isWord, grams, term.text, Whole)
			continue
		default:
			w.add(i, inWords, grams[:len(grams)-1], term.text, Begun)
			w.add(i, inCodes, codeGrams(term), term.text, Within)
		}
		if term.digits != "" {
			w.add(i, inPhones, phoneGrams(term.digits), term.digits, Within)
		}
		for _, near := range t.near[i] {
			if term.hasDigit() {
				w.add(i, isCode, fold.CodeGrams(near), near, Near)
			} else {
				w.add(i, isWord, fold.Grams(near), near, Near)
			}
		}
	}
	w.addModels(t, library)
	return w
}

// allShort says that no term is long enough to begin a word.
func (t typed) allShort() bool {
	for _, term := range t.terms {
		if !term.short() || term.mail != "" {
			return false
		}
	}
	return true
}

// codeGrams are those of a code that the term begins or, with a digit, stands
// in.
func codeGrams(t term) []string {
	grams := fold.CodeGrams(t.text)
	if t.anywhere() {
		return grams[3 : len(grams)-1]
	}
	return grams[:len(grams)-1]
}

// mailGrams are those of the words before an @.
func mailGrams(words string) (grams []string) {
	for word := range strings.FieldsSeq(words) {
		grams = append(grams, fold.Grams(word)...)
	}
	return grams
}

const (
	// sameTail is how many last digits two writings of one phone number share
	// at least, with and without the country's prefix.
	sameTail = 7
	// Fewer digits than these are the last ones of a phone number: all numbers
	// of a place begin alike.
	anywhereInPhone = 6
)

// phoneGrams are trigrams that a phone number with these digits has.
func phoneGrams(digits string) []string {
	last := digits[max(0, len(digits)-sameTail):]
	grams := fold.Grams(last)
	if len(digits) < anywhereInPhone {
		return grams[2:]
	}
	return grams[2 : len(grams)-1]
}

// addModels adds the models that terms fit. There are so few that they are
// compared here.
func (w *ways) addModels(t typed, library []modelKey) {
	for i, term := range t.terms {
		for _, m := range library {
			if fit, ok := t.fitOf(i, m.key); ok && term.mail == "" {
				w.models, w.modelOf, w.modelIs = append(w.models, m.id), append(w.modelOf, i), append(w.modelIs, int(fit))
			}
		}
	}
}

// fitOf is how the words of a key fit term i.
func (t typed) fitOf(i int, key string) (Fit, bool) {
	words := " " + key + " "
	switch text := t.terms[i].text; {
	case strings.Contains(words, " "+text+" "):
		return Whole, true
	case strings.Contains(words, " "+text) && !t.allShort():
		return Begun, true
	}
	for _, near := range t.near[i] {
		if strings.Contains(words, " "+near+" ") {
			return Near, true
		}
	}
	return 0, false
}

// hits asks which customers, and which units, fit all n terms.
func (w *ways) hits(ctx context.Context, q db.Querier, n int) (h hits, err error) {
	rows, err := q.Query(ctx, hitSQL, w.of, w.in, w.grams, w.texts, w.fits, w.modelOf, w.models, w.modelIs,
		n, customersAtMost, unitsAtMost, sameTail, anywhereInPhone)
	if err != nil {
		return h, err
	}
	var unit bool
	var found hit
	_, err = pgx.ForEachRow(rows, []any{&unit, &found.ID, &found.Fit}, func() error {
		if unit {
			h.Units = append(h.Units, found)
		} else {
			h.Customers = append(h.Customers, found)
		}
		return nil
	})
	return h, err
}

// wordFit is the SQL of how way w fits folded words, codeFit that of how it fits
// a serial, tag or frame number; the numbers are those of Fit.
func wordFit(words string) string {
	return "case when w.fit = 2 and ' ' || " + words + " || ' ' like w.whole then 1 else w.fit end"
}

func codeFit(code string) string {
	return "case when w.fit = 4 then 4 when " + code + " = w.text then 0 when " + code + " like w.text || '%' or " + code + " like '%' || w.text then 2 else 3 end"
}

var hitSQL = `with way as materialized (
		select i, place, string_to_array(grams, ',') as grams, text, fit, '% ' || text || ' %' as whole,
			case when place = 'words' then '% ' || text || '%' else '% ' || text || ' %' end as words,
			case when place = 'code' then text when text ~ '[0-9]' and length(text) > 2 then '%' || text || '%' else text || '%' end as code
		from unnest($1::int[], $2::text[], $3::text[], $4::text[], $5::int[]) w (i, place, grams, text, fit)),
	named as (
		select w.i, coalesce(c.merged_into, c.id) as id, ` + wordFit("c.name_key || ' ' || c.mail_key") + ` as fit
		from way w join customer c on c.grams @> w.grams
		where w.place in ('words', 'word') and ' ' || c.name_key || ' ' || c.mail_key || ' ' like w.words),
	rung as (
		select w.i, coalesce(c.merged_into, c.id) as id, case when number like '%' || w.text then case when length(w.text) >= $12 then 1 else 2 end
			when w.text like '%' || number then 1 else 3 end
		from way w join customer c on c.grams @> w.grams cross join ltrim(c.phone_digits, '0') number
		where w.place = 'phones' and (number like '%' || w.text or length(w.text) >= $13 and number like '%' || w.text || '%'
			or length(number) >= $12 and w.text like '%' || number)),
	mailed as (
		select w.i, coalesce(c.merged_into, c.id) as id, case when lower(c.mail) = w.text then 1 else 2 end
		from way w join customer c on c.grams @> w.grams
		where w.place = 'mails' and starts_with(lower(c.mail), w.text)),
	customer_hit as materialized (
		select i, id, min(fit) as fit from (table named union all table rung union all table mailed) h group by i, id),
	unit_hit as (
		select h.i, u.id, h.fit from customer_hit h join unit u on u.customer_id = h.id
		union all
		select w.i, u.id, ` + wordFit("u.words_key") + `
		from way w join unit u on u.grams @> w.grams
		where w.place in ('words', 'word') and ' ' || u.words_key || ' ' like w.words
		union all
		select w.i, u.id, ` + codeFit("number") + `
		from way w join unit u on u.grams @> w.grams cross join unnest(array[u.serial_key, u.tag_key, u.frame_key]) number
		where w.place in ('codes', 'code') and number like w.code
		union all
		select m.i, u.id, m.fit from unnest($6::int[], $7::bigint[], $8::int[]) m (i, model, fit) join unit u on u.model_id = m.model),
	customer_fit as (
		select id, max(fit) as worst, sum(fit) as total from customer_hit group by id having count(*) = $9),
	unit_fit as (
		select id, max(fit) as worst, sum(fit) as total
		from (select i, id, min(fit) as fit from unit_hit group by i, id) h group by id having count(*) = $9)
	(select false, f.id, worst from customer_fit f join customer c on c.id = f.id order by worst, total, c.name_key, f.id limit $10)
	union all
	(select true, id, worst from unit_fit
		order by worst, total, id not in (select unit_id from job where closed_at is null), id desc limit $11)`
