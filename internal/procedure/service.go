package procedure

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/spec"
)

// mostParts is how many parts a service may have.
const mostParts = 24

// Part is what a service may be made of: a block, or some of its steps.
type Part struct {
	Entry    string // "W", "S1-5"
	Block    string
	From, To int // 0 for the whole block
}

// Parts lists the blocks in the order of a sheet, each followed by the ranges of
// it that a service uses.
func Parts(services []Service) []Part {
	var list []Part
	for _, st := range order {
		if !slices.ContainsFunc(list, func(p Part) bool { return p.Block == st.block }) {
			list = append(list, Part{Entry: st.block, Block: st.block})
		}
	}
	for _, s := range services {
		for _, entry := range s.Blocks {
			name, _, _ := strings.Cut(entry, " ")
			p, err := parsePart(name)
			if err != nil || name == p.block || slices.ContainsFunc(list, func(o Part) bool { return o.Entry == name }) {
				continue
			}
			list = append(list, Part{Entry: name, Block: p.block, From: p.from, To: p.to})
		}
	}
	slices.SortStableFunc(list, func(a, b Part) int {
		if a.Block != b.Block {
			return place(a.Block) - place(b.Block)
		}
		return a.From - b.From
	})
	return list
}

// PartOf takes an entry of a service apart: what it brings, and when, such as
// "only if shared oil", empty for always.
func PartOf(entry string) (name, when string) {
	name, when, _ = strings.Cut(entry, " ")
	return name, when
}

// brings reports whether a service names the step of that number, whatever the
// condition.
func (s Service) brings(block string, number int) bool {
	return slices.ContainsFunc(s.Blocks, func(entry string) bool {
		name, _ := PartOf(entry)
		p, err := parsePart(name)
		return err == nil && p.block == block && number >= p.from && number <= p.to
	})
}

// always reports whether a service brings the step of that number on every unit.
func (s Service) always(block string, number int) bool {
	s.Blocks = slices.DeleteFunc(slices.Clone(s.Blocks), func(entry string) bool { _, when := PartOf(entry); return when != "" })
	return s.brings(block, number)
}

// follows reports whether a service brings the step on wherever it brings off.
func (s Service) follows(block string, off int, after string, on int) bool {
	if s.always(block, off) {
		return s.always(after, on)
	}
	return !s.brings(block, off) || s.brings(after, on)
}

// faults says by field what is wrong with a service as the shop makes it. What
// comes off goes back on, the air is out before anything is opened, and each
// ends with the verdict on riding.
func (s Service) faults(all []Service) map[string]string {
	f := map[string]string{}
	refuse := func(wrong bool, field, sentence string) {
		if _, told := f[field]; wrong && !told {
			f[field] = sentence
		}
	}
	refuse(s.Name == "", "name", "Say what customers and the desk call it.")
	refuse(utf8.RuneCountInString(s.Name) > mostTitle, "name", fmt.Sprintf("Write at most %d characters.", mostTitle))
	for _, other := range all {
		refuse(other.Code != s.Code && strings.EqualFold(other.Name, s.Name), "name", "Another service is called that.")
	}
	refuse(len(s.Kinds) == 0, "kinds", "Say what it is for.")
	for _, kind := range s.Kinds {
		refuse(!slices.Contains(spec.ModelKinds, kind), "kinds", "Choose from fork, rear shock and seatpost.")
	}
	for _, code := range s.Covers {
		_, known := ByCode(all, code)
		refuse(!known || code == s.Code, "covers", "Choose other services from the list.")
	}
	refuse(len(s.Blocks) == 0, "part.0", "Choose at least one part.")
	refuse(len(s.Blocks) > mostParts, "part.0", fmt.Sprintf("Choose at most %d parts.", mostParts))
	for i, entry := range s.Blocks {
		refuse(!readable(entry), "part."+strconv.Itoa(i), "Choose a part and when it is done from the lists.")
	}
	opens := slices.ContainsFunc([]string{"P", "D1", "D2", "U", "W", "C"}, func(b string) bool { return s.brings(b, 1) || s.brings(b, 3) })
	refuse(!s.always("V", 9), "part.0", "The final check with its verdict is part of every service: add Prove, or its steps up to 9, done always.")
	refuse(opens && !s.always("S", 5), "part.0", "Before a fork is opened its air is out: add Strip, or its steps up to 5, done always.")
	refuse(!s.follows("S", 8, "Z", 7) && !s.follows("S", 8, "Q", 1), "part.0", "The lowers come off and nothing puts them on: add Close.")
	refuse(!s.follows("Z", 7, "Z", 1), "part.0", "Close is done from its first step on: which part goes into which leg is looked at before.")
	refuse(!s.follows("S", 3, "R", 9) && !s.follows("S", 3, "Q", 1), "part.0", "What comes out of a bike goes back in: add Refit.")
	return f
}

func readable(entry string) bool {
	name, when := PartOf(entry)
	if _, err := parsePart(name); err != nil {
		return false
	}
	condition := strings.TrimPrefix(strings.TrimPrefix(when, "only "), "if ")
	if when == "" {
		return true
	}
	_, err := ask(condition, Facts{})
	return err == nil && strings.TrimSuffix(when, condition) != ""
}

var notInCode = regexp.MustCompile(`[^a-z0-9]+`)

// codeFor is a free code made of a name.
func codeFor(name string, all []Service) string {
	base := "own-" + strings.Trim(notInCode.ReplaceAllString(strings.ToLower(name), "-"), "-")
	for n, code := 2, base; ; n++ {
		if _, taken := ByCode(all, code); !taken {
			return code
		}
		code = base + "-" + strconv.Itoa(n)
	}
}

// PutService stores a service as the shop makes it: over the version that was
// seen, or a new one where the code is empty. Jobs that are begun keep their
// steps. Fields of fault.Invalid are "name", "kinds", "covers" and "part.N".
func PutService(ctx context.Context, tx pgx.Tx, by history.By, s Service) (code string, err error) {
	if err := ownerOnly(by); err != nil {
		return "", err
	}
	all, err := Services(ctx, tx)
	if err != nil {
		return "", err
	}
	s.Name = strings.TrimSpace(s.Name)
	if f := s.faults(all); len(f) > 0 {
		return "", &fault.Invalid{Fields: f}
	}
	sql := `update service set name = $2, kinds = $3, blocks = $4, covers = $5, in_use = $6, version = version + 1 where code = $1 and version = $7`
	args := []any{s.Code, s.Name, s.Kinds, s.Blocks, list(s.Covers), !s.OutOfUse}
	if s.Code == "" {
		s.Code = codeFor(s.Name, all)
		args[0] = s.Code
		sql = `insert into service (code, name, kinds, blocks, covers, in_use, seq, version)
			select $1, $2, $3, $4, $5, $6, coalesce(max(seq), 0) + 1, 2 from service`
	} else {
		args = append(args, s.Version)
	}
	if err := db.Changed(tx.Exec(ctx, sql, args...)); err != nil {
		return "", fmt.Errorf("put service: %w", db.Translate(err))
	}
	return s.Code, history.Append(ctx, tx, by, history.Event{SubjectKind: "shop", SubjectID: 1, Kind: "service put", Detail: map[string]any{"service": s.Code, "out of use": s.OutOfUse}})
}
