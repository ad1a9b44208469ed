package staff

import (
	"context"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/google/uuid"
	"golang.org/x/crypto/argon2"
	"golang.org/x/sync/semaphore"
	"golang.org/x/text/unicode/norm"
)

// The rules for a new passphrase, in characters.
const (
	passphraseLeast = 10
	passphraseMost  = 200
)

// passphraseRefusal says why a passphrase cannot be taken; empty when it can.
func passphraseRefusal(passphrase, name string) string {
	n := utf8.RuneCountInString(norm.NFKC.String(passphrase))
	switch {
	case n < passphraseLeast:
		return fmt.Sprintf("Take at least %d characters; a few words are easiest to remember.", passphraseLeast)
	case n > passphraseMost:
		return fmt.Sprintf("Keep the pass-phrase under %d characters.", passphraseMost)
	case strings.EqualFold(clean(passphrase), clean(name)):
		return "The pass-phrase may not be the name."
	}
	return ""
}

// cost is how much work one hash takes: memory in KiB, passes over it and
// lanes side by side. Each hash carries its own.
type cost struct {
	memory, passes uint32
	lanes          uint8
}

// standard takes about 180 ms and 64 MiB.
var standard = cost{memory: 64 * 1024, passes: 3, lanes: 1}

// minimal is the least that OWASP's cheat sheet on storing passwords takes for
// argon2id (from memory): about 25 ms and 19 MiB.
var minimal = cost{memory: 19 * 1024, passes: 2, lanes: 1}

// present is what a new hash costs: standard, save under Thrifty. One of what
// everybody is told costs told.
var present, told = standard, minimal

// Thrifty makes new hashes cheap to try out, for tests that sign in often: the
// race detector makes standard cost ten times its time. Nothing but a TestMain
// may call it.
func Thrifty() {
	present = cost{memory: 64, passes: 1, lanes: 1}
	told = present
}

// hashing keeps the memory of hashes under way to twice that of standard.
var hashing = semaphore.NewWeighted(2)

const (
	saltBytes = 16
	keyBytes  = 32
)

// sealed is a hashed passphrase; its text is a PHC string.
type sealed struct {
	cost cost
	salt []byte
	key  []byte
}

// nobody is what a try under an unknown name is compared with, so that it
// takes as long as any other. No passphrase is known that matches it.
func nobody() sealed {
	return sealed{cost: present, salt: make([]byte, saltBytes), key: make([]byte, keyBytes)}
}

// seal hashes a passphrase with a fresh salt. It waits for its turn, and no
// longer than ctx allows.
func seal(ctx context.Context, passphrase string, c cost) (string, error) {
	s := sealed{cost: c, salt: make([]byte, saltBytes)}
	rand.Read(s.salt)
	var err error
	s.key, err = derive(ctx, passphrase, s.salt, c, keyBytes)
	return s.String(), err
}

func (s sealed) matches(ctx context.Context, passphrase string) (bool, error) {
	key, err := derive(ctx, passphrase, s.salt, s.cost, uint32(len(s.key)))
	if err != nil {
		return false, err
	}
	return subtle.ConstantTimeCompare(key, s.key) == 1, nil
}

// derive composes the passphrase (NFKC) first: two tablets may type the same
// letter in two ways.
func derive(ctx context.Context, passphrase string, salt []byte, c cost, length uint32) ([]byte, error) {
	if err := hashing.Acquire(ctx, 1); err != nil {
		return nil, fmt.Errorf("wait to hash a passphrase: %w", err)
	}
	defer hashing.Release(1)
	return argon2.IDKey(norm.NFKC.Bytes([]byte(passphrase)), salt, c.passes, c.memory, c.lanes, length), nil
}

// Mark tells the secret that an act was sent with from any other, so that the
// act sent again with another one can be refused. It is stored with the act:
// its salt is made from the act and the server's key, so nobody without the key
// can try secrets on it, and with the key each try takes the work of minimal.
func Mark(ctx context.Context, key []byte, act uuid.UUID, secret string) ([]byte, error) {
	mac := hmac.New(sha256.New, key)
	mac.Write([]byte("secret "))
	mac.Write(act[:])
	return derive(ctx, secret, mac.Sum(nil), told, keyBytes)
}

var phc64 = base64.RawStdEncoding.Strict()

func (s sealed) String() string {
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version,
		s.cost.memory, s.cost.passes, s.cost.lanes, phc64.EncodeToString(s.salt), phc64.EncodeToString(s.key))
}

// unseal reads a PHC string as String writes it, and nothing else. What it
// returns can be hashed with: argon2 panics without passes or lanes.
func unseal(phc string) (sealed, error) {
	var s sealed
	refuse := func() (sealed, error) {
		return sealed{}, fmt.Errorf("not a hash of argon2id version %d", argon2.Version)
	}
	parts := strings.Split(phc, "$")
	if len(parts) != 6 {
		return refuse()
	}
	_, err := fmt.Sscanf(parts[3], "m=%d,t=%d,p=%d", &s.cost.memory, &s.cost.passes, &s.cost.lanes)
	if err != nil {
		return refuse()
	}
	if s.salt, err = phc64.DecodeString(parts[4]); err != nil {
		return refuse()
	}
	if s.key, err = phc64.DecodeString(parts[5]); err != nil {
		return refuse()
	}
	if s.String() != phc || s.cost.passes == 0 || s.cost.lanes == 0 || len(s.key) < 16 {
		return refuse()
	}
	return s, nil
}
