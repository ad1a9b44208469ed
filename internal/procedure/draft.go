package procedure

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

func ownerOnly(by history.By) error {
	if !by.Has("owner") {
		return fault.Forbidden("Only an owner changes how the work is done.")
	}
	return nil
}

// BeginDraft begins the shop's own next revision of a block, with the steps of
// the one in force. Bench sheets keep taking that one.
func BeginDraft(ctx context.Context, tx pgx.Tx, by history.By, code string) error {
	if err := ownerOnly(by); err != nil {
		return err
	}
	now, err := InState(ctx, tx, code, StateCurrent)
	if err != nil {
		return err
	}
	id, err := insertRevision(ctx, tx, by, Revision{Block: now.Block, State: StateDraft, BasedOn: now.ID})
	if err != nil {
		return fmt.Errorf("begin draft: %w", db.Translate(err))
	}
	if err := insertSteps(ctx, tx, id, now.Steps); err != nil {
		return fmt.Errorf("begin draft: %w", err)
	}
	return tell(ctx, tx, by, "block draft begun", code, id)
}

// insertRevision stores a revision without its steps under the next free number,
// a shipped one under its own if that is higher.
func insertRevision(ctx context.Context, tx pgx.Tx, by history.By, r Revision) (id int64, err error) {
	err = tx.QueryRow(ctx, `insert into block (code, title, revision, state, shipped, based_on, put_by, put_at)
		select $1, $2, greatest(coalesce(max(revision), 0) + 1, $3), $4, nullif($3, 0), nullif($5, 0::bigint), nullif($6, 0::bigint), $7
		from block where code = $1 returning id`, r.Code, r.Title, r.Shipped, r.State, r.BasedOn, by.Staff, by.At).Scan(&id)
	return id, err
}

func tell(ctx context.Context, tx pgx.Tx, by history.By, kind, code string, id int64) error {
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "shop", SubjectID: 1, Kind: kind, Detail: map[string]any{"block": code, "id": id}})
}

// draftOf reads the draft of a block to be changed over the version that was
// seen, and what the program ships of it.
func draftOf(ctx context.Context, tx pgx.Tx, by history.By, code string, version int) (draft, shipped Revision, err error) {
	if err := ownerOnly(by); err != nil {
		return draft, shipped, err
	}
	if _, err := tx.Exec(ctx, "select from block where code = $1 and state = 'draft' for update", code); err != nil {
		return draft, shipped, db.Translate(err)
	}
	if draft, err = absent(InState(ctx, tx, code, StateDraft)); err != nil {
		return draft, shipped, err
	}
	if draft.ID == 0 || draft.Version != version {
		return draft, shipped, fault.Conflict("The draft was changed meanwhile, put in force or thrown away: look at it again.")
	}
	shipped, err = absent(Newest(ctx, tx, code))
	return draft, shipped, err
}

// PutStep writes a step of a draft: over the one of its key, or a new one behind
// the one of the key after. Fields of fault.Invalid are "title", "text",
// "caution", "kind", "place", "spec", "scale", "minutes", "fasteners",
// "condition", "stop", "second", "unknown" and "after". A step that no longer
// shares a press leaves its group.
func PutStep(ctx context.Context, tx pgx.Tx, by history.By, code string, version int, s Step, after string) error {
	draft, shipped, err := draftOf(ctx, tx, by, code, version)
	if err != nil {
		return err
	}
	s.Block = draft.Code // its number in the block, and so its part of the sheet, is read by it
	s.Title, s.Text, s.Caution = strings.TrimSpace(s.Title), strings.TrimSpace(s.Text), strings.TrimSpace(s.Caution)
	fields := s.faults(byKey(shipped.Steps, s.Key))
	old, behind := byKey(draft.Steps, s.Key), indexOf(draft.Steps, after)
	switch {
	case s.Key != "" && old == nil:
		return fault.NotFound("That step is not in the draft any more.")
	case s.Key == "" && behind < 0:
		fields["after"] = "Choose the step it comes after."
	}
	if len(fields) > 0 {
		return &fault.Invalid{Fields: fields}
	}
	if s.Key == "" {
		s.Key = OwnKey(draft.Block, after)
		draft.Steps = slices.Insert(draft.Steps, behind+1, s)
	} else {
		if s.Group = old.Group; !s.Plain() {
			s.Group = ""
		}
		*old = s
	}
	return draft.keep(ctx, tx, by, shipped, "block step put")
}

// MoveStep puts a step of a draft at a place, counted from 1.
func MoveStep(ctx context.Context, tx pgx.Tx, by history.By, code string, version int, key string, to int) error {
	draft, shipped, err := draftOf(ctx, tx, by, code, version)
	if err != nil {
		return err
	}
	if byKey(draft.Steps, key) == nil {
		return fault.NotFound("That step is not in the draft any more.")
	}
	draft.Steps = Moved(draft.Steps, key, to)
	return draft.keep(ctx, tx, by, shipped, "block step moved")
}

// RemoveStep takes a step out of a draft. What guards people stays, and what a
// rule of the program leans on.
func RemoveStep(ctx context.Context, tx pgx.Tx, by history.By, code string, version int, key string) error {
	draft, shipped, err := draftOf(ctx, tx, by, code, version)
	if err != nil {
		return err
	}
	draft.Steps = slices.DeleteFunc(draft.Steps, func(s Step) bool { return s.Key == key })
	return draft.keep(ctx, tx, by, shipped, "block step removed")
}

// GroupSteps has steps of a draft signed together, or each alone.
func GroupSteps(ctx context.Context, tx pgx.Tx, by history.By, code string, version int, keys []string, together bool) error {
	draft, shipped, err := draftOf(ctx, tx, by, code, version)
	switch {
	case err != nil:
		return err
	case len(keys) == 0 || together && len(keys) < 2:
		return fault.Conflict("Tick the steps first: at least two to be signed together.")
	case together && !following(draft.Steps, keys):
		return fault.Conflict("Only steps that follow each other are signed together.")
	}
	draft.Steps = Grouped(draft.Steps, keys, together)
	return draft.keep(ctx, tx, by, shipped, "block steps grouped")
}

// keep writes the steps of a changed draft. What the change brought about and no
// bench sheet could live with is refused; what was wrong before may wait.
func (r Revision) keep(ctx context.Context, tx pgx.Tx, by history.By, shipped Revision, kind string) error {
	before, err := InState(ctx, tx, r.Code, StateDraft)
	if err != nil {
		return err
	}
	was := BlockFaults(before.Block, before.Block, shipped.Block)
	for _, sentence := range BlockFaults(r.Block, before.Block, shipped.Block) {
		if !slices.Contains(was, sentence) {
			return fault.Conflict(sentence)
		}
	}
	if _, err := tx.Exec(ctx, "delete from step where block_id = $1", r.ID); err != nil {
		return fmt.Errorf("keep draft: %w", db.Translate(err))
	}
	if err := insertSteps(ctx, tx, r.ID, r.Steps); err != nil {
		return fmt.Errorf("keep draft: %w", db.Translate(err))
	}
	if _, err := tx.Exec(ctx, "update block set version = version + 1, put_by = $2, put_at = $3 where id = $1", r.ID, by.Staff, by.At); err != nil {
		return fmt.Errorf("keep draft: %w", db.Translate(err))
	}
	return tell(ctx, tx, by, kind, r.Code, r.ID)
}

// DropDraft throws a draft away.
func DropDraft(ctx context.Context, tx pgx.Tx, by history.By, code string, version int) error {
	draft, _, err := draftOf(ctx, tx, by, code, version)
	if err != nil {
		return err
	}
	for _, sql := range []string{"delete from step where block_id = $1", "delete from block where id = $1"} {
		if _, err := tx.Exec(ctx, sql, draft.ID); err != nil {
			return fmt.Errorf("drop draft: %w", db.Translate(err))
		}
	}
	return tell(ctx, tx, by, "block draft dropped", code, draft.ID)
}

// PutInForce makes a draft what bench sheets take from now on, with what changed
// and why in words. Sheets that are begun keep what they were begun with. It
// fails while the draft has faults, and when another revision came in force
// since it was begun.
func PutInForce(ctx context.Context, tx pgx.Tx, by history.By, code string, version int, words string) error {
	draft, shipped, err := draftOf(ctx, tx, by, code, version)
	if err != nil {
		return err
	}
	now, err := InState(ctx, tx, code, StateCurrent)
	words = strings.TrimSpace(words)
	switch faults := BlockFaults(draft.Block, now.Block, shipped.Block); {
	case err != nil:
		return err
	case now.ID != draft.BasedOn:
		return fault.Conflict("Another revision came in force since this draft was begun: throw it away and begin with that one.")
	case len(faults) > 0:
		return fault.Conflict(faults[0])
	case len(Differences(now.Steps, draft.Steps)) == 0:
		return fault.Conflict("The draft changes nothing yet.")
	case words == "":
		return fault.Field("words", "Say in a line what changes and why.")
	case utf8.RuneCountInString(words) > mostText:
		return fault.Field("words", fmt.Sprintf("Write at most %d characters.", mostText))
	}
	return succeed(ctx, tx, by, now, draft, words, "block put in force")
}

// TakeShipped puts the newer shipped revision in force that waits beside the
// shop's own, which stays readable.
func TakeShipped(ctx context.Context, tx pgx.Tx, by history.By, code string, number int) error {
	if err := ownerOnly(by); err != nil {
		return err
	}
	offered, err := absent(InState(ctx, tx, code, StateOffered))
	if err != nil {
		return err
	}
	if offered.ID == 0 || offered.Revision != number {
		return fault.Conflict("That revision is not offered any more: look at the block again.")
	}
	now, err := InState(ctx, tx, code, StateCurrent)
	if err != nil {
		return err
	}
	return succeed(ctx, tx, by, now, offered, "", "shipped block taken")
}

func succeed(ctx context.Context, tx pgx.Tx, by history.By, now, next Revision, words, kind string) error {
	if err := db.Changed(tx.Exec(ctx, "update block set state = 'past' where id = $1 and state = 'current'", now.ID)); err != nil {
		return fmt.Errorf("put in force: %w", err)
	}
	err := db.Changed(tx.Exec(ctx, "update block set state = 'current', words = $2, put_by = nullif($3, 0::bigint), put_at = $4 where id = $1 and state = $5",
		next.ID, words, by.Staff, by.At, next.State))
	if err != nil {
		return fmt.Errorf("put in force: %w", err)
	}
	return tell(ctx, tx, by, kind, next.Code, next.ID)
}
