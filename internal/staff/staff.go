// Package staff knows who works here and lets them in: people and their roles,
// passphrases, sign-in with a growing delay, sessions and the setup code; the
// tablets of the shop, and the PINs that are good on them alone.
package staff

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"
	"golang.org/x/text/unicode/norm"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// Owner is the role that may change people and of which one person at least
// must remain.
const Owner = "owner"

// Roles lists what a person may do here, in the order people read them.
var Roles = []string{"desk", "mechanic", Owner}

// Person is somebody who works here, or did until LeftOn.
type Person struct {
	ID    int64
	Name  string
	Roles []string
	// Epoch goes up whenever all the person's sign-ins end.
	Epoch   int
	LeftOn  *time.Time
	HasPIN  bool
	Version int
}

// Has reports whether the person holds the role.
func (p Person) Has(role string) bool { return slices.Contains(p.Roles, role) }

// StillIn reports whether a sign-in that was made in an epoch still holds.
func (p Person) StillIn(epoch int) bool { return p.LeftOn == nil && p.Epoch == epoch }

// New is a person about to be added.
type New struct {
	Name       string
	Roles      []string
	Passphrase string
}

const nameLimit = 80 // characters

const personColumns = "id, name, roles, epoch, left_on, pin_hash is not null as has_pin, version"

// Get reads one person, also one who has left.
func Get(ctx context.Context, q db.Querier, id int64) (Person, error) {
	rows, err := q.Query(ctx, "select "+personColumns+" from staff where id = $1", id)
	return found(db.One[Person](rows, err, "person here"))
}

// ByName reads the person of that name, in any case of letters.
func ByName(ctx context.Context, q db.Querier, name string) (Person, error) {
	rows, err := q.Query(ctx, "select "+personColumns+" from staff where lower(name) = lower($1)", clean(name))
	return found(db.One[Person](rows, err, "person here"))
}

func found(p Person, err error) (Person, error) {
	if err != nil {
		return Person{}, fmt.Errorf("read person: %w", err)
	}
	return p, nil
}

// List reads everybody by name, those who have left last.
func List(ctx context.Context, q db.Querier) ([]Person, error) {
	rows, err := q.Query(ctx, "select "+personColumns+" from staff order by left_on is not null, lower(name)")
	people, err := db.All[Person](rows, err)
	if err != nil {
		return nil, fmt.Errorf("list people: %w", err)
	}
	return people, nil
}

// Any reports whether anybody was ever added.
func Any(ctx context.Context, q db.Querier) (bool, error) {
	var any bool
	if err := q.QueryRow(ctx, "select exists (select from staff)").Scan(&any); err != nil {
		return false, fmt.Errorf("look for people: %w", err)
	}
	return any, nil
}

// Add adds a person; an owner may, and the program itself.
func Add(ctx context.Context, tx pgx.Tx, by history.By, n New) (int64, error) {
	return add(ctx, tx, by, n, present)
}

// AddTold adds a person whose pass-phrase and PIN everybody is told, such as
// those of an invented shop. To guard what is no secret would cost a second or
// more, so their hashes take less work; what they choose later takes as much as
// anybody's. Only the program does this.
func AddTold(ctx context.Context, tx pgx.Tx, by history.By, n New, pin string) (int64, error) {
	if by.Staff != 0 {
		return 0, fault.Forbidden("A pass-phrase that everybody is told is for the program to give.")
	}
	id, err := add(ctx, tx, by, n, told)
	if err != nil {
		return 0, err
	}
	return id, setPIN(ctx, tx, by, id, pin, told)
}

func add(ctx context.Context, tx pgx.Tx, by history.By, n New, c cost) (int64, error) {
	if err := ownerOnly(by); err != nil {
		return 0, err
	}
	name, roles := clean(n.Name), ordered(n.Roles)
	if err := n.check(name, roles); err != nil {
		return 0, err
	}
	hash, err := seal(ctx, n.Passphrase, c)
	if err != nil {
		return 0, fmt.Errorf("add person: %w", err)
	}
	var id int64
	err = tx.QueryRow(ctx, "insert into staff (name, roles, passphrase_hash) values ($1, $2, $3) returning id",
		name, roles, hash).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("add person: %w", db.Translate(err))
	}
	return id, tell(ctx, tx, by, id, "person added", map[string]any{"roles": roles})
}

func (n New) check(name string, roles []string) error {
	fields := map[string]string{}
	if says := nameRefusal(name); says != "" {
		fields["name"] = says
	}
	if len(roles) == 0 || len(roles) < len(n.Roles) {
		fields["roles"] = rolesRefusal
	}
	if says := passphraseRefusal(n.Passphrase, name); says != "" {
		fields["passphrase"] = says
	}
	if len(fields) > 0 {
		return &fault.Invalid{Fields: fields}
	}
	return nil
}

const rolesRefusal = "Choose at least one of front desk, mechanic and owner."

// SetRoles gives the person these roles in place of the ones before.
func SetRoles(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, roles []string) error {
	if err := ownerOnly(by); err != nil {
		return err
	}
	to := ordered(roles)
	if len(to) == 0 || len(to) < len(roles) {
		return fault.Field("roles", rolesRefusal)
	}
	if !slices.Contains(to, Owner) {
		if err := keepAnOwner(ctx, tx, id); err != nil {
			return err
		}
	}
	tag, err := tx.Exec(ctx, `update staff set roles = $3, version = version + 1
		where id = $1 and version = $2`, id, version, to)
	if err := db.Changed(tag, err); err != nil {
		return fmt.Errorf("set roles: %w", err)
	}
	return tell(ctx, tx, by, id, "roles set", map[string]any{"roles": to})
}

// ResetPassphrase gives the person a new passphrase, ends all their sign-ins
// and forgets their wrong tries. An owner may, and the person themselves; only
// then does their PIN stay, since nobody else should leave one behind.
func ResetPassphrase(ctx context.Context, tx pgx.Tx, by history.By, id int64, passphrase string) error {
	if err := selfOrOwner(by, id); err != nil {
		return err
	}
	p, err := Get(ctx, tx, id)
	if err != nil {
		return err
	}
	if says := passphraseRefusal(passphrase, p.Name); says != "" {
		return fault.Field("passphrase", says)
	}
	hash, err := seal(ctx, passphrase, present)
	if err != nil {
		return fmt.Errorf("reset passphrase: %w", err)
	}
	_, err = tx.Exec(ctx, `update staff set passphrase_hash = $2, epoch = epoch + 1, version = version + 1,
			pin_hash = case when $3 then pin_hash end
		where id = $1`, id, hash, by.Staff == id)
	if err != nil {
		return fmt.Errorf("reset passphrase: %w", err)
	}
	if err := forgetTries(ctx, tx, p.Name); err != nil {
		return err
	}
	return tell(ctx, tx, by, id, "passphrase reset", nil)
}

// SignOutEverywhere ends all the person's sign-ins. An owner may, and the
// person themselves.
func SignOutEverywhere(ctx context.Context, tx pgx.Tx, by history.By, id int64) error {
	if err := selfOrOwner(by, id); err != nil {
		return err
	}
	tag, err := tx.Exec(ctx, "update staff set epoch = epoch + 1 where id = $1", id)
	if err == nil && tag.RowsAffected() == 0 {
		err = fault.NotFound("There is no such person here.")
	}
	if err != nil {
		return fmt.Errorf("sign out everywhere: %w", err)
	}
	return tell(ctx, tx, by, id, "signed out everywhere", nil)
}

// Leave records the person's last day. Their sign-ins end at once, whichever
// day it is, and their PIN is forgotten.
func Leave(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, on time.Time) error {
	if err := ownerOnly(by); err != nil {
		return err
	}
	if err := keepAnOwner(ctx, tx, id); err != nil {
		return err
	}
	tag, err := tx.Exec(ctx, `update staff set left_on = $3, pin_hash = null, epoch = epoch + 1, version = version + 1
		where id = $1 and version = $2 and left_on is null`, id, version, on)
	if err := db.Changed(tag, err); err != nil {
		return fmt.Errorf("let a person leave: %w", err)
	}
	return tell(ctx, tx, by, id, "person left", map[string]any{"on": on.Format(time.DateOnly)})
}

// Return lets somebody who had left sign in again, by pass-phrase.
func Return(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int) error {
	if err := ownerOnly(by); err != nil {
		return err
	}
	tag, err := tx.Exec(ctx, `update staff set left_on = null, version = version + 1
		where id = $1 and version = $2 and left_on is not null`, id, version)
	if err := db.Changed(tag, err); err != nil {
		return fmt.Errorf("let a person return: %w", err)
	}
	return tell(ctx, tx, by, id, "person returned", nil)
}

// keepAnOwner refuses when the person is the only owner still here. The rows
// of all owners stay locked until the transaction ends, so that two owners
// cannot remove each other.
func keepAnOwner(ctx context.Context, tx pgx.Tx, id int64) error {
	rows, err := tx.Query(ctx, `select id from staff where $1 = any(roles) and left_on is null
		order by id for update`, Owner)
	if err != nil {
		return fmt.Errorf("look for owners: %w", err)
	}
	owners, err := pgx.CollectRows(rows, pgx.RowTo[int64])
	if err != nil {
		return fmt.Errorf("look for owners: %w", err)
	}
	if len(owners) == 1 && owners[0] == id {
		return fault.Conflict("Nobody else here is an owner: make somebody else one first.")
	}
	return nil
}

func ownerOnly(by history.By) error {
	if by.Staff == 0 || by.Has(Owner) {
		return nil
	}
	return fault.Forbidden("Only an owner can change who works here.")
}

func selfOrOwner(by history.By, id int64) error {
	if by.Staff == id {
		return nil
	}
	return ownerOnly(by)
}

func tell(ctx context.Context, tx pgx.Tx, by history.By, id int64, kind string, detail map[string]any) error {
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "staff", SubjectID: id, Kind: kind, Detail: detail})
}

// clean is a name as it is kept and compared: composed (NFC), with single
// spaces, without control characters.
func clean(name string) string {
	name = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(name, ""))
	return norm.NFC.String(strings.Join(strings.Fields(name), " "))
}

func nameRefusal(name string) string {
	if name == "" {
		return "Give a name."
	}
	if utf8.RuneCountInString(name) > nameLimit {
		return fmt.Sprintf("Keep the name under %d characters.", nameLimit)
	}
	return ""
}

// ordered is the known ones of roles, each once, in the order of Roles.
func ordered(roles []string) []string {
	known := []string{}
	for _, r := range Roles {
		if slices.Contains(roles, r) {
			known = append(known, r)
		}
	}
	return known
}
