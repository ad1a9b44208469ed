package staff

import (
	"bytes"
	"context"
	"errors"
	"slices"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

var serverKey = bytes.Repeat([]byte{3}, 32)

// enrolled is a tablet with its token.
func enrolled(t *testing.T, tx pgx.Tx, name string) (id int64, token string) {
	t.Helper()
	by := dbtest.By(t, tx, Owner)
	token = DeviceToken(serverKey, by.Intent)
	id, err := Enrol(context.Background(), tx, by, name, token)
	if err != nil {
		t.Fatal(err)
	}
	return id, token
}

func TestATabletIsKnownByItsTokenUntilItIsRevoked(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	id, token := enrolled(t, tx, " stand by  the window ")
	d, err := DeviceByToken(ctx, tx, token)
	if err != nil || d.ID != id || d.Name != "stand by the window" || d.EnrolledBy == "" || !d.EnrolledAt.Equal(dbtest.Now) || d.UsedAt != nil {
		t.Fatalf("%+v, %v", d, err)
	}
	for what, other := range map[string]string{"no token": "", "another": token + "x", "its hash": tokenHash(token)} {
		if _, err := DeviceByToken(ctx, tx, other); !errors.As(err, new(fault.NotFound)) {
			t.Errorf("%s is answered %v", what, err)
		}
	}
	owner := dbtest.By(t, tx, Owner)
	if err := RenameDevice(ctx, tx, owner, id, d.Version, "bench two"); err != nil {
		t.Fatal(err)
	}
	if err := Revoke(ctx, tx, owner, id, d.Version); !errors.As(err, new(fault.Conflict)) {
		t.Errorf("an older version is revoked: %v", err)
	}
	if err := Revoke(ctx, tx, owner, id, d.Version+1); err != nil {
		t.Fatal(err)
	}
	if _, err := DeviceByToken(ctx, tx, token); !errors.As(err, new(fault.NotFound)) {
		t.Errorf("after it was revoked its token is answered %v", err)
	}
	if d, err := GetDevice(ctx, tx, id); err != nil || d.RevokedAt == nil || d.Name != "bench two" {
		t.Errorf("%+v, %v", d, err)
	}
	if err := Revoke(ctx, tx, owner, id, d.Version+2); !errors.As(err, new(fault.Conflict)) {
		t.Errorf("it is revoked twice: %v", err)
	}
}

func TestATabletsTokenIsItsActsAlone(t *testing.T) {
	act := uuid.New()
	one := DeviceToken(serverKey, act)
	if one != DeviceToken(serverKey, act) {
		t.Error("the same act gives two tokens")
	}
	if one == DeviceToken(serverKey, uuid.New()) || one == DeviceToken(bytes.Repeat([]byte{4}, 32), act) {
		t.Error("another act or key gives the same token")
	}
	if len(one) != 43 { // 256 bits in base 64, RFC 4648
		t.Errorf("a token has %d characters", len(one))
	}
}

func TestTabletsInUseDoNotShareAName(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	first, _ := enrolled(t, tx, "Bench one")
	try := func(name string) error {
		return pgx.BeginFunc(ctx, tx, func(tx pgx.Tx) error {
			_, err := Enrol(ctx, tx, dbtest.By(t, tx, Owner), name, uuid.NewString())
			return err
		})
	}
	for _, name := range []string{"bench ONE", "", "\x00\n"} {
		if err := try(name); !slices.Equal(refused(err), []string{"name"}) {
			t.Errorf("%q beside Bench one: %v", name, err)
		}
	}
	if err := Revoke(ctx, tx, dbtest.By(t, tx, Owner), first, 1); err != nil {
		t.Fatal(err)
	}
	if err := try("bench one"); err != nil {
		t.Errorf("the name of a revoked tablet: %v", err)
	}
	list, err := Devices(ctx, tx)
	if err != nil || len(list) != 2 || list[0].RevokedAt != nil || list[1].ID != first {
		t.Errorf("%+v, %v; want the one in use first", list, err)
	}
}

func TestOnlyOwnersChangeTablets(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	id, _ := enrolled(t, tx, "bench one")
	by := dbtest.By(t, tx, "mechanic", "desk")
	_, enrol := Enrol(ctx, tx, by, "mine", "token")
	for what, err := range map[string]error{
		"enrol": enrol, "rename": RenameDevice(ctx, tx, by, id, 1, "mine"), "revoke": Revoke(ctx, tx, by, id, 1),
	} {
		if !errors.As(err, new(fault.Forbidden)) {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// An event says on which tablet it was done, by way of its intent.
func TestATabletIsUsedWhenSomethingIsRecordedOnIt(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	id, _ := enrolled(t, tx, "bench one")
	at := dbtest.Now.Add(time.Hour)
	by := history.By{At: at, Device: id, Intent: uuid.New()}
	_, err := tx.Exec(ctx, `insert into intent (id, kind, device_id, fingerprint, answer, at) values ($1, 'test', $2, '', '/', $3)`,
		by.Intent, id, at)
	if err != nil {
		t.Fatal(err)
	}
	if d, err := GetDevice(ctx, tx, id); err != nil || d.UsedAt == nil || !d.UsedAt.Equal(at) {
		t.Errorf("%+v, %v; want used at %s", d, err, at)
	}
}
