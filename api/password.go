package api

import (
	"context"
	"fmt"
	"unicode/utf8"

	"github.com/alexedwards/argon2id"
	"golang.org/x/text/unicode/norm"

	"netreel/media/fault"
)

// passwordCost is the second recommended option of RFC 9106, section 4: 64 MiB
// of memory, three passes, four lanes, a salt of 128 bits and a tag of 256.
var passwordCost = &argon2id.Params{Memory: 64 * 1024, Iterations: 3, Parallelism: 4, SaltLength: 16, KeyLength: 32}

// Passwords may be this many characters long. NIST SP 800-63B asks for a
// length and against rules on what must be in it (figures from memory).
const (
	minPassword = 10
	maxPassword = 200
)

// decoy is the hash of a random password at passwordCost: an account that is
// not there costs as much as one that is.
const decoy = "$argon2id$v=19$m=65536,t=3,p=4$WdI2CruCXDaNhrelAUTYRQ$y5E/p3vljutve+0LrRdGW+2g8YVobHebYjf1z5nPi+g"

// passwords hashes and checks, a few at a time: each needs 64 MiB.
type passwords struct{ turns chan struct{} }

func newPasswords() *passwords { return &passwords{turns: make(chan struct{}, 2)} }

func (p *passwords) take(ctx context.Context) error {
	select {
	case p.turns <- struct{}{}:
		return nil
	case <-ctx.Done():
		return context.Cause(ctx)
	}
}

// hash checks a new password's length and hashes it.
func (p *passwords) hash(ctx context.Context, password string) (string, error) {
	password = norm.NFC.String(password) // the same letters from every keyboard
	if n := utf8.RuneCountInString(password); n < minPassword || n > maxPassword {
		reason := fmt.Sprintf("must be %d to %d characters", minPassword, maxPassword)
		return "", fault.New(fault.Invalid, "api.password", "The password "+reason+". A few words in a row are easy to remember.",
			fault.Field{Name: "password", Reason: reason})
	}
	if err := p.take(ctx); err != nil {
		return "", err
	}
	defer func() { <-p.turns }()
	return argon2id.CreateHash(password, passwordCost)
}

// check says whether a password is the one of a hash. Without a hash it does
// the same work and says no.
func (p *passwords) check(ctx context.Context, password, hash string) (bool, error) {
	if err := p.take(ctx); err != nil {
		return false, err
	}
	defer func() { <-p.turns }()
	known := hash != ""
	if !known {
		hash = decoy
	}
	if len(password) > 4*maxPassword {
		password = "" // no such password can have been set
	}
	right, err := argon2id.ComparePasswordAndHash(norm.NFC.String(password), hash)
	return right && known, err
}
