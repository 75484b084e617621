package store

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
)

// Tokens open a project: whoever holds Edit may change it, whoever holds View may look.
type Tokens struct {
	Edit string
	View string
}

// tokenBytes is the length of a token before encoding: 192 bits, 32 characters.
const tokenBytes = 24

// newTokens draws an edit token from the system's random source.
func newTokens() Tokens {
	raw := make([]byte, tokenBytes)
	rand.Read(raw) // never fails, by its documentation
	edit := base64.RawURLEncoding.EncodeToString(raw)
	return Tokens{Edit: edit, View: ViewToken(edit)}
}

// ViewToken gives the view token that belongs to an edit token: the first 24 bytes of the SHA-256 of a label and the edit token,
// in base64url. So an editor can always be shown the view link, and the view link leads nowhere but to the view.
func ViewToken(edit string) string {
	sum := sha256.Sum256([]byte("pinwright view token 1\x00" + edit))
	return base64.RawURLEncoding.EncodeToString(sum[:tokenBytes])
}

// digest is what the database holds in place of a token, so that a stolen database opens nothing.
func digest(token string) []byte {
	sum := sha256.Sum256([]byte(token))
	return sum[:]
}
