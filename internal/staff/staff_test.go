package staff

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// What new hashes cost where no test has asked for less.
var costBefore, toldBefore = present, told

func TestMain(m *testing.M) {
	Thrifty()
	dbtest.Main(m)
}

// atFullCost hashes as the program does until the test ends.
func atFullCost(t *testing.T) {
	present = costBefore
	t.Cleanup(Thrifty)
}

const words = "seven wet forks in a row"

func refused(err error) []string {
	var invalid *fault.Invalid
	if !errors.As(err, &invalid) {
		return nil
	}
	var names []string
	for name := range invalid.Fields {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// put adds a person whose hash costs next to nothing.
func put(t *testing.T, q interface {
	QueryRow(ctx context.Context, sql string, args ...any) pgx.Row
}, name string, roles ...string) int64 {
	t.Helper()
	hash, err := seal(context.Background(), words, cost{memory: 64, passes: 1, lanes: 1})
	if err != nil {
		t.Fatal(err)
	}
	var id int64
	err = q.QueryRow(context.Background(), `insert into staff (name, roles, passphrase_hash)
		values ($1, $2, $3) returning id`, name, roles, hash).Scan(&id)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func wantEvents(t *testing.T, q db.Querier, id int64, want ...string) {
	t.Helper()
	rows, err := q.Query(context.Background(), `select kind from event
		where subject_kind = 'staff' and subject_id = $1 order by id`, id)
	if err != nil {
		t.Fatal(err)
	}
	got, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil || !slices.Equal(got, want) {
		t.Errorf("events of person %d: %v, %v; want %v", id, got, err, want)
	}
}

func TestAPersonIsAddedAndFound(t *testing.T) {
	atFullCost(t)
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner")
	id, err := Add(ctx, tx, by, New{Name: "  Ines\t Aldous ", Roles: []string{"mechanic", "desk"}, Passphrase: words})
	if err != nil {
		t.Fatal(err)
	}
	p, err := ByName(ctx, tx, "ines aldous")
	if err != nil || p.ID != id || p.Name != "Ines Aldous" || !slices.Equal(p.Roles, []string{"desk", "mechanic"}) || p.Epoch != 1 || p.LeftOn != nil {
		t.Errorf("found %+v, %v", p, err)
	}
	if !p.Has("desk") || p.Has(Owner) {
		t.Errorf("roles of %+v are told wrongly", p)
	}
	var phc string
	if err := tx.QueryRow(ctx, "select passphrase_hash from staff where id = $1", id).Scan(&phc); err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(phc, "$argon2id$v=19$m=65536,t=3,p=1$") {
		t.Errorf("kept as %q", phc)
	}
	if _, err := Get(ctx, tx, id+100); !errors.As(err, new(fault.NotFound)) {
		t.Errorf("a person who does not exist: %v", err)
	}
	wantEvents(t, tx, id, "person added")
}

func TestANameIsTakenOnce(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner")
	put(t, tx, "Marit", "desk")
	_, err := Add(ctx, tx, by, New{Name: "MARIT", Roles: []string{"desk"}, Passphrase: words})
	if !slices.Equal(refused(err), []string{"name"}) {
		t.Errorf("the name a second time: %v", err)
	}
}

func TestPeopleWhoCannotBeAdded(t *testing.T) {
	for _, c := range []struct {
		rule   string
		new    New
		fields []string
	}{
		{"a name", New{" \x00 ", []string{"desk"}, words}, []string{"name"}},
		{"a name that fits", New{strings.Repeat("é", 81), []string{"desk"}, words}, []string{"name"}},
		{"a role", New{"Marit", nil, words}, []string{"roles"}},
		{"only known roles", New{"Marit", []string{"desk", "boss"}, words}, []string{"roles"}},
		{"ten characters", New{"Marit", []string{"desk"}, "ninechars"}, []string{"passphrase"}},
		{"not the name", New{"Marit Osk  Lund", []string{"desk"}, "marit osk lund"}, []string{"passphrase"}},
		{"all at once", New{"", nil, ""}, []string{"name", "passphrase", "roles"}},
		{"none", New{"Marit", []string{"desk"}, "tencharact"}, nil},
	} {
		err := c.new.check(clean(c.new.Name), ordered(c.new.Roles))
		if !slices.Equal(refused(err), c.fields) {
			t.Errorf("%s: %+v refused for %v, want %v", c.rule, c.new, err, c.fields)
		}
	}
}

func TestRolesChangeOverTheVersionThatWasRead(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner")
	id := put(t, tx, "Marit", "desk")
	if err := SetRoles(ctx, tx, by, id, 1, []string{"owner", "mechanic"}); err != nil {
		t.Fatal(err)
	}
	p, err := Get(ctx, tx, id)
	if err != nil || !slices.Equal(p.Roles, []string{"mechanic", "owner"}) || p.Version != 2 {
		t.Errorf("after the change %+v, %v", p, err)
	}
	if err := SetRoles(ctx, tx, by, id, 1, []string{"desk"}); !errors.As(err, new(fault.Conflict)) {
		t.Errorf("over an older version: %v, want a conflict", err)
	}
	if err := SetRoles(ctx, tx, by, id, 2, nil); !slices.Equal(refused(err), []string{"roles"}) {
		t.Errorf("no roles: %v", err)
	}
	wantEvents(t, tx, id, "roles set")
}

func TestTheLastOwnerStays(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner")
	var conflict fault.Conflict
	if err := SetRoles(ctx, tx, by, by.Staff, 1, []string{"desk"}); !errors.As(err, &conflict) {
		t.Errorf("the only owner gives up the role: %v", err)
	}
	if err := Leave(ctx, tx, by, by.Staff, 1, dbtest.Now); !errors.As(err, &conflict) {
		t.Errorf("the only owner leaves: %v", err)
	}
	second := put(t, tx, "Ragna", "owner")
	if err := Leave(ctx, tx, by, second, 1, dbtest.Now); err != nil {
		t.Fatalf("one of two owners leaves: %v", err)
	}
	if err := SetRoles(ctx, tx, by, by.Staff, 1, []string{"desk"}); !errors.As(err, &conflict) {
		t.Errorf("the only owner still here gives up the role: %v", err)
	}
	if err := SetRoles(ctx, tx, by, second, 2, []string{"desk"}); err != nil {
		t.Errorf("an owner who has left loses the role: %v", err)
	}
}

func TestTwoOwnersCannotRemoveEachOther(t *testing.T) {
	ctx, pool := context.Background(), dbtest.Clone(t)
	var one, two history.By
	err := pgx.BeginFunc(ctx, pool, func(tx pgx.Tx) error {
		one, two = dbtest.By(t, tx, "owner"), dbtest.By(t, tx, "owner")
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	first, err := pool.Begin(ctx)
	if err != nil {
		t.Fatal(err)
	}
	if err := Leave(ctx, first, one, two.Staff, 1, dbtest.Now); err != nil {
		t.Fatal(err)
	}
	other := make(chan error)
	go func() {
		other <- db.Write(ctx, pool, func(tx pgx.Tx) error { return Leave(ctx, tx, two, one.Staff, 1, dbtest.Now) })
	}()
	select {
	case err := <-other:
		t.Fatalf("the second did not wait for the first: %v", err)
	case <-time.After(100 * time.Millisecond):
	}
	if err := first.Commit(ctx); err != nil {
		t.Fatal(err)
	}
	if err := <-other; !errors.As(err, new(fault.Conflict)) {
		t.Errorf("the second owner left too: %v", err)
	}
}

func TestOnlyOwnersChangePeople(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	mechanic := dbtest.By(t, tx, "mechanic")
	other := put(t, tx, "Ragna", "owner")
	for what, err := range map[string]error{
		"add":                 second(Add(ctx, tx, mechanic, New{Name: "X", Roles: []string{"desk"}, Passphrase: words})),
		"set roles":           SetRoles(ctx, tx, mechanic, mechanic.Staff, 1, Roles),
		"reset passphrase":    ResetPassphrase(ctx, tx, mechanic, other, "another long phrase"),
		"sign out everywhere": SignOutEverywhere(ctx, tx, mechanic, other),
		"leave":               Leave(ctx, tx, mechanic, other, 1, dbtest.Now),
		"return":              Return(ctx, tx, mechanic, other, 1),
	} {
		if !errors.As(err, new(fault.Forbidden)) {
			t.Errorf("%s by a mechanic: %v, want forbidden", what, err)
		}
	}
	if err := SignOutEverywhere(ctx, tx, mechanic, mechanic.Staff); err != nil {
		t.Errorf("one's own sign-ins: %v", err)
	}
	wantEvents(t, tx, mechanic.Staff, "signed out everywhere")
}

func second[T any](_ T, err error) error { return err }

func TestWhatEndsSignIns(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner")
	id := put(t, tx, "Tobias", "mechanic")
	at := func() Person {
		p, err := Get(ctx, tx, id)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	for what, act := range map[string]func(Person) error{
		"signing out everywhere": func(Person) error { return SignOutEverywhere(ctx, tx, by, id) },
		"a new passphrase":       func(Person) error { return ResetPassphrase(ctx, tx, by, id, "another long phrase") },
		"leaving": func(p Person) error {
			if err := Leave(ctx, tx, by, id, p.Version, dbtest.Now); err != nil {
				return err
			}
			if at().StillIn(at().Epoch) {
				t.Error("somebody who has left can still be signed in")
			}
			return Return(ctx, tx, by, id, p.Version+1)
		},
	} {
		before := at()
		if !before.StillIn(before.Epoch) {
			t.Fatalf("%+v is not signed in at the start", before)
		}
		if err := act(before); err != nil {
			t.Fatalf("%s: %v", what, err)
		}
		if after := at(); after.StillIn(before.Epoch) || !after.StillIn(after.Epoch) {
			t.Errorf("%s: before %+v, after %+v", what, before, after)
		}
	}
	before := at()
	if err := SetRoles(ctx, tx, by, id, before.Version, []string{"desk"}); err != nil || !at().StillIn(before.Epoch) {
		t.Errorf("new roles ended the sign-ins, or %v", err)
	}
}

func TestListPutsThoseWhoLeftLast(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner")
	put(t, tx, "odile", "desk")
	gone := put(t, tx, "Ansel", "mechanic")
	put(t, tx, "Marit", "mechanic")
	if err := Leave(ctx, tx, by, gone, 1, dbtest.Now); err != nil {
		t.Fatal(err)
	}
	people, err := List(ctx, tx)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, p := range people {
		if p.ID != by.Staff {
			names = append(names, p.Name)
		}
	}
	if want := []string{"Marit", "odile", "Ansel"}; !slices.Equal(names, want) {
		t.Errorf("listed %v, want %v", names, want)
	}
}

func TestAnyTellsAnEmptyShop(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	if any, err := Any(ctx, tx); any || err != nil {
		t.Errorf("an empty shop: %v, %v", any, err)
	}
	put(t, tx, "Ragna", "owner")
	if any, err := Any(ctx, tx); !any || err != nil {
		t.Errorf("with one person: %v, %v", any, err)
	}
}
