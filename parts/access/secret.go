package access

import (
	"crypto/subtle"
	"encoding/base64"
	"fmt"
	"strings"
	"unicode/utf8"

	"golang.org/x/crypto/argon2"

	"benchtally/parts"
)

// The cost of a hash: 19 MiB, two passes, one lane, which OWASP's password
// storage advice gives for Argon2id (from memory).
const (
	hashMemory = 19 * 1024 // KiB
	hashPasses = 2
	hashLanes  = 1
	hashLength = 32
	// SaltLength is how many random bytes Hash wants (RFC 9106, section 3.1).
	SaltLength = 16
)

// Hash is what is kept of a password or a PIN: Argon2id (RFC 9106) in the
// usual text form, $argon2id$v=19$m=...,t=...,p=...$salt$hash.
func Hash(secret string, salt []byte) string {
	return hashed(secret, salt, hashMemory, hashPasses, hashLanes)
}

func hashed(secret string, salt []byte, memory, passes uint32, lanes uint8) string {
	sum := argon2.IDKey([]byte(secret), salt, passes, memory, lanes, hashLength)
	b64 := base64.RawStdEncoding
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, memory, passes, lanes, b64.EncodeToString(salt), b64.EncodeToString(sum))
}

// Matches reports whether a hash is of a secret. A hash that cannot be read is
// of none.
func Matches(hash, secret string) bool {
	var version int
	var memory, passes uint32
	var lanes uint8
	fields := strings.Split(hash, "$")
	if len(fields) != 6 || fields[1] != "argon2id" {
		return false
	}
	if _, err := fmt.Sscanf(fields[2]+" "+fields[3], "v=%d m=%d,t=%d,p=%d", &version, &memory, &passes, &lanes); err != nil || version != argon2.Version {
		return false
	}
	if passes == 0 || lanes == 0 || memory > 1<<20 || passes > 64 {
		return false // a row somebody else wrote must not stop the server
	}
	salt, err := base64.RawStdEncoding.DecodeString(fields[4])
	if err != nil {
		return false
	}
	return subtle.ConstantTimeCompare([]byte(hash), []byte(hashed(secret, salt, memory, passes, lanes))) == 1
}

// Lengths of passwords and PINs, in characters.
const (
	shortestPassword = 12
	longestPassword  = 128
	shortestPIN      = 4
	longestPIN       = 8
)

// CheckPassword says what is wrong with a password that somebody chose.
// Length is what counts (OWASP ASVS 4.0.3, 2.1.1 and 2.1.2); any character
// may be in it.
func CheckPassword(password string) error {
	n := utf8.RuneCountInString(strings.Join(strings.Fields(password), " "))
	switch {
	case !utf8.ValidString(password) || strings.ContainsRune(password, 0):
		return parts.Problemf(parts.Invalid, "password-text", "That password cannot be written down.").Next("Use letters, digits and spaces.")
	case n < shortestPassword:
		return parts.Problemf(parts.Invalid, "password-short", "That password has fewer than %d characters.", shortestPassword).
			Next("Three or four words that do not belong together are easy to remember.")
	case utf8.RuneCountInString(password) > longestPassword:
		return parts.Problemf(parts.Invalid, "password-long", "That password has more than %d characters.", longestPassword).Next("Write a shorter one.")
	case strings.Count(password, password[:1]) == len(password):
		return parts.Problemf(parts.Invalid, "password-same", "That password is one character again and again.").
			Next("Three or four words that do not belong together are easy to remember.")
	}
	return nil
}

// CheckPIN says what is wrong with a PIN that somebody chose.
func CheckPIN(pin string) error {
	if len(pin) < shortestPIN || len(pin) > longestPIN || strings.Trim(pin, "0123456789") != "" {
		return parts.Problemf(parts.Invalid, "pin-form", "A PIN has %d to %d digits.", shortestPIN, longestPIN).Next("Write digits only.")
	}
	for _, step := range []int{0, 1, -1} {
		if isRow(pin, step) {
			return parts.Problemf(parts.Invalid, "pin-plain", "The PIN %s is the first that anybody tries.", pin).Next("Choose another one.")
		}
	}
	return nil
}

// isRow reports whether each digit follows the one before by a step.
func isRow(pin string, step int) bool {
	for i := 1; i < len(pin); i++ {
		if int(pin[i])-int(pin[i-1]) != step {
			return false
		}
	}
	return true
}

// Name makes a name of what somebody wrote: of a person, a phone or a token.
func Name(text string) (string, error) {
	name := strings.Join(strings.Fields(text), " ")
	if name == "" || utf8.RuneCountInString(name) > 40 || !utf8.ValidString(name) || strings.ContainsRune(name, 0) {
		return "", parts.Problemf(parts.Invalid, "name-form", "A name has 1 to 40 characters.").Next("Write the name people call it by.")
	}
	return name, nil
}
