package shop

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
)

func TestTermsAreOnlyEverAdded(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner")
	if _, err := CurrentTerms(ctx, tx); !errors.As(err, new(fault.NotFound)) {
		t.Fatalf("before the first edition: %v, want not found", err)
	}
	first, err := SetTerms(ctx, tx, by, 0, "We keep your fork 30 days.")
	if err != nil {
		t.Fatal(err)
	}
	second, err := SetTerms(ctx, tx, by, first, " We keep your fork 60 days.\n")
	if err != nil {
		t.Fatal(err)
	}
	got, err := CurrentTerms(ctx, tx)
	if err != nil || got.ID != second || got.Words != "We keep your fork 60 days." || !got.At.Equal(dbtest.Now) {
		t.Errorf("in force: %+v, %v", got, err)
	}
	if _, err := SetTerms(ctx, tx, by, second, " \n"); !slices.Equal(refused(err), []string{"words"}) {
		t.Errorf("empty terms: %v", err)
	}
	if _, err := SetTerms(ctx, tx, by, second, "We keep your fork 60 days."); !slices.Equal(refused(err), []string{"words"}) {
		t.Errorf("the same words again: %v", err)
	}
	for _, stale := range []int64{0, first} {
		if _, err := SetTerms(ctx, tx, by, stale, "We keep your fork."); !errors.As(err, new(fault.Conflict)) {
			t.Errorf("after edition %d while a newer one is in force: %v, want a conflict", stale, err)
		}
	}
	if all, err := Editions(ctx, tx); err != nil || len(all) != 2 || all[0] != got || all[1].ID != first {
		t.Errorf("editions %+v, %v", all, err)
	}
	wantEvents(t, ctx, tx, "terms set", 2)
	if _, err := tx.Exec(ctx, "update terms set words = 'Ours.' where id = $1", first); err == nil {
		t.Error("an edition was changed")
	}
	// The refusal ends the transaction; there is nothing left to check in it.
}

func TestTheDraftMustBeMadeTheShopsOwn(t *testing.T) {
	if len(draftBlanks) == 0 {
		t.Fatal("the draft leaves nothing open")
	}
	words := Draft
	for _, blank := range draftBlanks {
		if err := checkTerms(words); err == nil || !strings.Contains(err.Error(), blank) {
			t.Errorf("with %s: %v", blank, err)
		}
		words = strings.Replace(words, blank, "30 days", 1)
	}
	if err := checkTerms(words + " [1]"); err != nil { // brackets of the shop's own
		t.Errorf("filled in: %v", err)
	}
}
