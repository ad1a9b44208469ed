package erase_test

import (
	"errors"
	"slices"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/message"
)

// nothingIsSent: neither what waited, nor what was being sent, nor what the desk
// has sent again, nor a new message.
func nothingIsSent(t *testing.T, pool *pgxpool.Pool, id int64) {
	if n := ask[int](t, pool, "select (select count(*) from customer_way where customer_id = $1) + (select count(*) from book_file)", id); n != 0 {
		t.Errorf("%d of their ways and files of theirs are left", n)
	}
	unsent := ask[[]string](t, pool, `select array_agg(cause || ': ' || state || ', ' || why order by cause) from message where cause like 'planted%'`)
	if want := []string{"planted doubtful: dropped, customer erased", "planted sending: dropped, customer erased", "planted waiting: dropped, customer erased"}; !slices.Equal(unsent, want) {
		t.Errorf("messages are %q, want %q", unsent, want)
	}
	write(t, pool, func(tx pgx.Tx, by history.By) error {
		sending := message.Message{ID: ask[int64](t, tx, "select id from message where cause = 'planted sending'"), Lease: 7}
		if _, err := sending.HandOver(t.Context(), tx, by); !errors.Is(err, message.ErrLost) {
			t.Errorf("one that was being sent is handed over: %v", err)
		}
		if err := message.Again(t.Context(), tx, by, sending.ID); err != nil {
			return err
		}
		if _, _, err := message.Post(t.Context(), tx, by, message.Cause{Kind: message.DueSoon, CustomerID: id, Key: "after"}); err != nil {
			return err
		}
		for {
			m, ok, err := message.Take(t.Context(), tx, by, false)
			if err != nil || !ok {
				return err
			}
			if m.CustomerID == id {
				t.Errorf("%q is sent to %q", m.Cause, m.Mail)
			}
		}
	})
	saysNothing(t, pool, id)
	if n := ask[int](t, pool, "select count(*) from message m join customer_now n on n.id = m.customer_id where n.now_id = $1 and m.state not in ('sent', 'dropped')", id); n != 0 {
		t.Errorf("%d messages to them are still to be sent", n)
	}
}

// saysNothing: neither by the address of a message that they have still, nor at the
// desk, nor as whoever was merged into them.
func saysNothing(t *testing.T, pool *pgxpool.Pool, id int64) {
	sent := ask[int64](t, pool, "select id from message where cause = 'planted sending'")
	if _, _, err := message.Open(t.Context(), pool, key, message.Token(key, sent, message.Ready)); !errors.Is(err, message.ErrNoToken) {
		t.Errorf("the address of their message opens: %v", err)
	}
	said := ask[int](t, pool, "select count(*) from consent")
	for _, who := range []int64{id, ask[int64](t, pool, "select id from customer where merged_into = $1", id)} {
		err := try(t, pool, func(tx pgx.Tx, by history.By) error {
			return message.Say(t.Context(), tx, by, who, message.FirstRide, true, message.OnPage)
		})
		if !errors.As(err, new(fault.Conflict)) {
			t.Errorf("what %d wants is kept: %v", who, err)
		}
	}
	if n := ask[int](t, pool, "select count(*) from consent"); n != said {
		t.Errorf("%d sayings are kept, want %d", n, said)
	}
}

// elsewhereStays: of the lists of another shop's work only the texts that name
// the person are blanked.
func elsewhereStays(t *testing.T, pool *pgxpool.Pool) {
	got := ask[string](t, pool, "select services::text || found::text from elsewhere_service where ref = 'feedbeef'")
	if want := `[{"name": "lower leg service"}, {"name": "erased", "count": 7}][{"name": "erased", "count": 7}]`; got != want {
		t.Errorf("the work elsewhere is %s, want %s", got, want)
	}
}
