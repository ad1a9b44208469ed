package procedure

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"testing"
)

// A database that holds a revision keeps it, so a text that changes under the
// same revision would never reach it. Whoever changes a block raises its
// revision and writes the new seal here.
func TestAChangedBlockRaisesItsRevision(t *testing.T) {
	sealed := map[string]string{
		"A":  "6 3382819ab076",
		"S":  "5 ed6ca73eaee6",
		"P":  "4 9c1b1412d8ae",
		"D1": "4 479cbbfe5079",
		"W":  "3 c7347bbc5b49",
		"Z":  "4 3cc35d78a800",
		"D2": "3 c9c046a20784",
		"U":  "2 380d53528b0c",
		"C":  "1 4efd98b49699",
		"Q":  "1 bbe16f152a88",
		"K":  "2 7b8916487ff3",
		"F":  "1 5b2ac49e6c03",
		"V":  "8 aa30e0d07be1",
		"R":  "6 065e86eae8aa",
	}
	blocks, _ := Shipped()
	for _, b := range blocks {
		text, err := json.Marshal(b.Steps)
		if err != nil {
			t.Fatal(err)
		}
		sum := sha256.Sum256(text)
		got := fmt.Sprintf("%d %s", b.Revision, hex.EncodeToString(sum[:6]))
		if sealed[b.Code] != got {
			t.Errorf("block %s is %q, sealed as %q: raise its revision if its steps changed, then seal it anew", b.Code, got, sealed[b.Code])
		}
	}
}
