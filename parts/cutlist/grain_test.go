package cutlist

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

func TestGrain(t *testing.T) {
	ways := map[string]parts.Grain{"along length": parts.GrainLong, "Längs": parts.GrainLong, "lengthwise": parts.GrainLong,
		"along width": parts.GrainAcross, "Quer": parts.GrainAcross, "cross-wise": parts.GrainAcross, "none": parts.GrainNone, "keine": parts.GrainNone,
		"": "", "–": ""}
	for way, want := range ways {
		list := Read(tableOf(t, []byte(strings.Join([]string{"qty;part;length;Grain", "2;shelf;23;" + way}, "\n"))), Choices{})
		require.Empty(t, sayings(list), way)
		assert.Equal(t, want, list.Lines[0].Grain, "%q", way)
	}
}
