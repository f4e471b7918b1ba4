package access

import (
	"encoding/base64"
	"encoding/hex"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
)

var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

func TestRoles(t *testing.T) {
	want := map[Role]string{Nobody: "n", Viewer: "nv", Maker: "nvm", Owner: "nvmo"}
	for role, may := range want {
		got := ""
		for letter, asked := range map[string]Role{"n": Nobody, "v": Viewer, "m": Maker, "o": Owner} {
			if role.May(asked) {
				got += letter
			}
		}
		assert.ElementsMatch(t, []rune(may), []rune(got), "%q", role)
	}
	assert.False(t, Role("boss").May(Viewer), "a word that is no role may nothing")
}

func TestAPhonesRole(t *testing.T) {
	d := Device{Role: Maker, Used: noon, OwnerUntil: noon.Add(time.Hour)}
	assert.Equal(t, Owner, d.RoleAt(noon))
	assert.Equal(t, Maker, d.RoleAt(noon.Add(time.Hour)), "an owner's rights end on the second")
	assert.Equal(t, Maker, d.RoleAt(noon.Add(IdleFor-1)))
	assert.Equal(t, Nobody, d.RoleAt(noon.Add(IdleFor)), "a phone nobody used")
	d.Ended = noon
	assert.Equal(t, Nobody, d.RoleAt(noon), "a phone that was taken out")
	wall := Device{Role: Viewer, Used: noon, OwnerUntil: noon.Add(time.Hour)}
	assert.Equal(t, Viewer, wall.RoleAt(noon), "a screen is never an owner's")
}

func TestInvites(t *testing.T) {
	i := Invite{Until: noon}
	assert.True(t, i.Open(noon.Add(-1)))
	assert.False(t, i.Open(noon))
	assert.True(t, Invite{}.Open(noon), "a wall's link has no end of its own")
	assert.False(t, Invite{Ended: noon}.Open(noon.Add(-time.Hour)))
}

func TestScopes(t *testing.T) {
	got, err := ParseScopes("scan, read,scan")
	require.NoError(t, err)
	assert.Equal(t, []Scope{Scan, Read}, got)
	for _, text := range []string{"", "read,", "all", "READ", "read scan"} {
		_, err := ParseScopes(text)
		assert.Equal(t, "scope-unknown", parts.CodeOf(err), text)
	}
	token := Token{Scopes: []Scope{Gauge}}
	assert.True(t, token.May(Gauge))
	assert.False(t, token.May(Read))
	token.Ended = noon
	assert.False(t, token.May(Gauge))
}

// The hash is that of the reference implementation's own tests: password
// "password", salt "somesalt", 64 MiB, two passes, one lane, version 19
// (phc-winner-argon2, src/test.c; the value is from memory).
func TestHashIsThatOfTheReference(t *testing.T) {
	got := hashed("password", []byte("somesalt"), 1<<16, 2, 1)
	sum, err := hex.DecodeString("09316115d5cf24ed5a15a31a3ba326e5cf32edc24702987c02b6566f61913cf7")
	require.NoError(t, err)
	assert.Equal(t, "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$"+base64.RawStdEncoding.EncodeToString(sum), got)
	assert.True(t, Matches(got, "password"))
}

func TestHashes(t *testing.T) {
	salt := []byte("0123456789abcdef")
	h := Hash("white oak, quarter sawn", salt)
	assert.True(t, Matches(h, "white oak, quarter sawn"))
	for _, wrong := range []string{"", "white oak, quarter sawn ", "White oak, quarter sawn"} {
		assert.False(t, Matches(h, wrong), wrong)
	}
	assert.NotEqual(t, h, Hash("white oak, quarter sawn", []byte("fedcba9876543210")))
	for _, broken := range []string{"", "x", "$argon2id$v=19$m=0,t=0,p=0$$", "$argon2id$v=18" + h[13:], "$argon2i" + h[9:], h[:len(h)-1],
		"$argon2id$v=19$m=4294967295,t=2,p=1$c29tZXNhbHQ$x", "$argon2id$v=19$m=19456,t=2,p=1$*$x"} {
		assert.False(t, Matches(broken, "white oak, quarter sawn"), broken)
	}
}

func TestAnythingIsNoHash(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		Matches(rapid.StringMatching(`\$argon2id\$v=19\$m=\d{1,3},t=\d,p=\d\$[A-Za-z0-9+/]{0,8}\$[A-Za-z]{0,4}`).Draw(t, "hash"), "x")
	})
}

func TestPasswords(t *testing.T) {
	for _, fine := range []string{"three oak pegs", "äöü äöü äöü!", "            and more than twelve"} {
		assert.NoError(t, CheckPassword(fine), fine)
	}
	for password, code := range map[string]string{"": "password-short", "elevenchars": "password-short", "oak         a": "password-short",
		"aaaaaaaaaaaaaa": "password-same", "three\x00oak pegs long": "password-text", string(make([]byte, 0, 1)) + "\xff three oak pegs": "password-text"} {
		assert.Equal(t, code, parts.CodeOf(CheckPassword(password)), "%q", password)
	}
	long := ""
	for range 129 {
		long += "ab"[len(long)%2 : len(long)%2+1]
	}
	assert.Equal(t, "password-long", parts.CodeOf(CheckPassword(long)))
	assert.NoError(t, CheckPassword(long[:128]))
}

func TestPINs(t *testing.T) {
	for _, fine := range []string{"2580", "19283746", "0912"} {
		assert.NoError(t, CheckPIN(fine), fine)
	}
	for pin, code := range map[string]string{"": "pin-form", "123": "pin-form", "123456789": "pin-form", "12a4": "pin-form", "１２３４": "pin-form",
		"1234": "pin-plain", "9876": "pin-plain", "0000": "pin-plain"} {
		assert.Equal(t, code, parts.CodeOf(CheckPIN(pin)), pin)
	}
}

func TestNames(t *testing.T) {
	name, err := Name("  Rosa   from the\tbench ")
	require.NoError(t, err)
	assert.Equal(t, "Rosa from the bench", name)
	for _, bad := range []string{"", "  ", "a\x00b", "\xff", "01234567890123456789012345678901234567890"} {
		_, err := Name(bad)
		assert.Equal(t, "name-form", parts.CodeOf(err), "%q", bad)
	}
}
