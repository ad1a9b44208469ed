package customer

import (
	"context"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fold"
)

// keying is the revision of the rules below, of package fold. Raise it
// with any of them: Rekey then mends every row when the program next starts.
const keying = 2

// rekeyedAtOnce is how many rows one transaction of Rekey holds.
const rekeyedAtOnce = 500

// keys are what a customer is found by. The mail address counts up to its @,
// since what follows is shared by half of all customers.
func (d Details) keys() (name, mail, digits string, grams []string) {
	local, _, _ := strings.Cut(d.Mail, "@")
	name, mail, digits = fold.Text(d.Name), fold.Text(local), fold.PhoneDigits(d.Phone)
	return name, mail, digits, fold.AllGrams(name+" "+mail, digits)
}

// unitKeys are what a unit is found by, among them what its bike is. The name
// of its model is looked up in the library, where it may be mended.
type unitKeys struct {
	words, serial, tag, frame string
	grams                     []string
}

func (d UnitDetails) keys() unitKeys {
	k := unitKeys{words: fold.Text(d.ModelWords + " " + d.BikeColour + " " + d.BikeWords), serial: fold.Code(d.Serial), tag: fold.Code(d.Tag), frame: fold.Code(d.FrameNo)}
	k.grams = fold.AllGrams(k.words, k.serial, k.tag, k.frame)
	return k
}

// Rekey makes the keys of all rows that older rules made them for, or none. It
// may be broken off, and called by several servers at once; when it returns
// without an error everything can be found.
func Rekey(ctx context.Context, pool *db.Pool) error {
	for _, rekey := range []func(context.Context, pgx.Tx) (int, error){rekeyCustomers, rekeyUnits} {
		for n := rekeyedAtOnce; n == rekeyedAtOnce; {
			err := db.Write(ctx, pool, func(tx pgx.Tx) (err error) {
				n, err = rekey(ctx, tx)
				return err
			})
			if err != nil {
				return fmt.Errorf("make keys for finding: %w", err)
			}
		}
	}
	return nil
}

// rekeyCustomers leaves out who was erased: they are found by nothing.
func rekeyCustomers(ctx context.Context, tx pgx.Tx) (int, error) {
	rows, err := tx.Query(ctx, "select id, name, phone, mail, address from (select * from customer where erased_at is null) c"+outdated, keying, rekeyedAtOnce)
	list, err := db.All[struct {
		ID int64
		Details
	}](rows, err)
	if err != nil {
		return 0, err
	}
	var batch pgx.Batch
	for _, c := range list {
		name, mail, digits, grams := c.keys()
		batch.Queue("update customer set name_key = $2, mail_key = $3, phone_digits = $4, grams = $5, keyed = $6 where id = $1",
			c.ID, name, mail, digits, grams, keying)
	}
	return len(list), tx.SendBatch(ctx, &batch).Close()
}

// RekeyUnits makes the keys of units whose words were changed by other means than
// the functions here.
func RekeyUnits(ctx context.Context, tx pgx.Tx) error {
	for n := rekeyedAtOnce; n == rekeyedAtOnce; {
		var err error
		if n, err = rekeyUnits(ctx, tx); err != nil {
			return fmt.Errorf("make keys for finding: %w", err)
		}
	}
	return nil
}

func rekeyUnits(ctx context.Context, tx pgx.Tx) (int, error) {
	rows, err := tx.Query(ctx, `select u.id, u.model_words, u.serial, u.tag, coalesce(b.words, '') as bike_words,
			coalesce(b.colour, '') as bike_colour, coalesce(b.frame_no, '') as frame_no
		from (select * from unit`+outdated+`) u left join bike b on b.id = u.bike_id`, keying, rekeyedAtOnce)
	list, err := db.All[struct {
		ID                             int64
		ModelWords, Serial, Tag        string
		BikeWords, BikeColour, FrameNo string
	}](rows, err)
	if err != nil {
		return 0, err
	}
	var batch pgx.Batch
	for _, u := range list {
		k := UnitDetails{ModelWords: u.ModelWords, Serial: u.Serial, Tag: u.Tag, BikeWords: u.BikeWords, BikeColour: u.BikeColour, FrameNo: u.FrameNo}.keys()
		batch.Queue("update unit set words_key = $2, serial_key = $3, tag_key = $4, frame_key = $5, grams = $6, keyed = $7 where id = $1",
			u.ID, k.words, k.serial, k.tag, k.frame, k.grams, keying)
	}
	return len(list), tx.SendBatch(ctx, &batch).Close()
}

const outdated = " where keyed <> $1 order by id limit $2 for no key update"
