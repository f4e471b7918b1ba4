package parts

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Source: ISO/IEC 7064 MOD 37-2. The first value is the worked example of the
// blood-donation number form, the others are the examples of open number
// libraries.
func TestCheckCharacter(t *testing.T) {
	for text, want := range map[string]string{"G123489654321": "Y", "P001": "6", "A123456789": "J"} {
		got, err := CheckCharacter(text)
		require.NoError(t, err)
		assert.Equal(t, want, string(got), text)
	}
	for _, text := range []string{"", "p001", "P-1", "P*", "Ä1"} {
		_, err := CheckCharacter(text)
		assert.Equal(t, "mark-unreadable", CodeOf(err), text)
	}
}

func TestNextMark(t *testing.T) {
	first, next := NextMark(0)
	assert.Equal(t, ID("101S"), first)
	assert.Greater(t, next, FirstSerial)

	seen := make(map[ID]bool, 200_000)
	for serial := FirstSerial; len(seen) < 200_000; {
		var id ID
		before := serial
		id, serial = NextMark(serial)
		require.Greater(t, serial, before)
		require.False(t, seen[id], "%s twice", id)
		seen[id] = true
		require.Empty(t, strings.Trim(string(id), "0123456789ABCDEFGHJKMNPQRSTVWXYZ"), id)
		got, err := ParseMark(string(id))
		require.NoError(t, err)
		require.Equal(t, id, got)
	}
	last, _ := NextMark(math.MaxInt64 - 100)
	assert.Len(t, string(last), longestMark)
}

func TestParseMark(t *testing.T) {
	tests := []struct {
		name string
		text string
		code string // "" when it is read
	}{
		{"as printed", "101S", ""},
		{"lower case", "101s", ""},
		{"hyphen for the eye", "10-1S", ""},
		{"spaces around and between", " 10 1 S ", ""},
		{"O for zero", "1O1S", ""},
		{"L for one", "l01s", ""},
		{"I for one", "I01S", ""},
		{"address", "http://192.168.1.20:8080/P/101S", ""},
		{"address in capitals", "HTTP://192.168.1.20:8080/P/101S", ""},
		{"address in lower case with a slash", "https://shop.example/p/101s/", ""},
		{"address of the second copy", "HTTP://SHOP.EXAMPLE/P/2/101S", ""},
		{"address with a question", "http://shop.example/P/101S?x=/Y", ""},
		{"only the path", "/P/101S", ""},
		{"wrong check", "101T", "mark-mistyped"},
		{"two swapped", "10S1", "mark-mistyped"},
		{"one left out", "1001S", "mark-mistyped"},
		{"nothing", "", "mark-unreadable"},
		{"too short", "10S", "mark-unreadable"},
		{"too long", strings.Repeat("1", 15), "mark-unreadable"},
		{"a letter no mark has", "10US", "mark-unreadable"},
		{"check no mark has", "101*", "mark-unreadable"},
		{"address of something else", "http://shop.example/S/101S", "mark-unreadable"},
		{"copy that is no number", "http://shop.example/P/X/101S", "mark-unreadable"},
		{"address without a mark", "http://shop.example/P/", "mark-unreadable"},
		{"only slashes", "///", "mark-unreadable"},
		{"control characters", "101S\x00", "mark-unreadable"},
		{"Arabic digits", "١٠١S", "mark-unreadable"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := ParseMark(tt.text)
			require.Equal(t, tt.code, CodeOf(err))
			if tt.code == "" {
				assert.Equal(t, ID("101S"), got)
			}
		})
	}
	_, err := ParseMark("101T")
	assert.EqualError(t, err, "There is no mark 101T: a character is wrong or two are swapped. Compare it with the label, character by character, or scan the label.")
}

// ISO/IEC 7064 says of MOD 37-2 that every single substitution and every
// swap of neighbours is found.
func TestEverySlipIsFound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		id, _ := NextMark(rapid.Int64Range(FirstSerial, 1<<40).Draw(t, "serial"))
		for i := range id {
			for _, c := range markAlphabet {
				slip := id[:i] + ID(c) + id[i+1:]
				if _, err := ParseMark(string(slip)); (err == nil) != (slip == id) {
					t.Fatalf("%s for %s: %v", slip, id, err)
				}
			}
			if i == 0 || id[i] == id[i-1] {
				continue
			}
			swap := id[:i-1] + id[i:i+1] + id[i-1:i] + id[i+1:]
			if CodeOf(func() error { _, err := ParseMark(string(swap)); return err }()) != "mark-mistyped" {
				t.Fatalf("%s for %s passes", swap, id)
			}
		}
	})
}

func FuzzParseMark(f *testing.F) {
	for _, s := range []string{"101S", "10-0g", "http://h/P/2/101S", "///", "\xff/P/"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		id, err := ParseMark(s)
		if err != nil {
			require.NotNil(t, AsProblem(err))
			return
		}
		again, err := ParseMark(string(id[:2] + "-" + id[2:]))
		require.NoError(t, err)
		require.Equal(t, id, again)
	})
}
