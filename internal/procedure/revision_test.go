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
		"A":  "4 6391c7ff08a9",
		"S":  "3 8430c65a3d83",
		"P":  "3 802552d0135a",
		"D1": "3 bc1cd217aa2f",
		"W":  "2 966b03db3ce5",
		"Z":  "3 4e10da045e6f",
		"D2": "2 6595c7dd7013",
		"U":  "1 3b9948c57ec9",
		"C":  "1 4efd98b49699",
		"Q":  "1 bbe16f152a88",
		"K":  "1 ee26b01c4643",
		"F":  "1 5b2ac49e6c03",
		"V":  "7 dd18e104621b",
		"R":  "5 7a4d287aff09",
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
