package parts_test

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
)

func TestParseCommandID(t *testing.T) {
	// The example of a version 7 UUID in RFC 9562, appendix A.6.
	const example = "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"
	tests := []struct {
		name, text string
		ok         bool
	}{
		{"as the standard writes it", "017F22E2-79B0-7CC3-98C4-DC0C0C07398F", true},
		{"lower case", example, true},
		{"without hyphens", "017f22e279b07cc398c4dc0c0c07398f", true},
		{"nothing", "", false},
		{"a digit short", example[:35], false},
		{"a digit long", example + "0", false},
		{"a letter that is none", "g" + example[1:], false},
		{"spaces around it", " " + example, false},
		{"far too long", strings.Repeat("ä", 1000), false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			id, err := parts.ParseCommandID(tt.text)
			if !tt.ok {
				require.Equal(t, "id-unreadable", parts.CodeOf(err))
				require.Less(t, len(err.Error()), 300)
				return
			}
			require.NoError(t, err)
			assert.Equal(t, example, id.String())
		})
	}
}

func TestCommandIDAgreesWithAnotherReader(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var id parts.CommandID
		copy(id[:], rapid.SliceOfN(rapid.Byte(), 16, 16).Draw(t, "id"))
		other, err := uuid.Parse(id.String()) // github.com/google/uuid
		require.NoError(t, err)
		assert.Equal(t, id, parts.CommandID(other))
		assert.Equal(t, other.String(), id.String())
		data, err := json.Marshal(map[string]parts.CommandID{"id": id})
		require.NoError(t, err)
		var back map[string]parts.CommandID
		require.NoError(t, json.Unmarshal(data, &back))
		assert.Equal(t, id, back["id"])
	})
}

func TestStepNumbers(t *testing.T) {
	tests := []struct {
		name   string
		index  int
		repair bool
		number int
	}{
		{"the first step", 0, false, 1},
		{"the fortieth step", 39, false, 40},
		{"the first repair step", 0, true, 1001},
		{"the third step of a second plug", 5, true, 1006},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.number, parts.StepNumber(tt.index, tt.repair))
			index, repair := parts.StepIndex(tt.number)
			assert.Equal(t, []any{tt.index, tt.repair}, []any{index, repair})
		})
	}
}
