package store_test

import (
	"encoding/json"
	"errors"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestFormatsAreKept(t *testing.T) {
	s := openShop(t)
	none, err := s.Formats(ctx)
	require.NoError(t, err)
	assert.Empty(t, none)

	give := func(content string) func(json.RawMessage) (json.RawMessage, error) {
		return func(was json.RawMessage) (json.RawMessage, error) {
			assert.Empty(t, was)
			return json.RawMessage(content), nil
		}
	}
	require.NoError(t, s.SaveFormat(ctx, "roll-38x18", give(`{"a":1}`)))
	require.NoError(t, s.SaveFormat(ctx, "own-ash", give(`{"b":2}`)))
	refused := errors.New("no")
	assert.ErrorIs(t, s.SaveFormat(ctx, "own-ash", func(was json.RawMessage) (json.RawMessage, error) {
		assert.JSONEq(t, `{"b":2}`, string(was))
		return json.RawMessage(`{}`), refused
	}), refused)
	kept, err := s.Formats(ctx)
	require.NoError(t, err)
	assert.Equal(t, map[string]json.RawMessage{"roll-38x18": json.RawMessage(`{"a":1}`), "own-ash": json.RawMessage(`{"b":2}`)}, kept)
}

// Two pages may change one format at once, and neither loses what the other did.
func TestAFormatIsChangedByOneAtATime(t *testing.T) {
	s := openShop(t)
	var all sync.WaitGroup
	for range 20 {
		all.Go(func() {
			assert.NoError(t, s.SaveFormat(ctx, "own-ash", func(was json.RawMessage) (json.RawMessage, error) {
				var said string
				if len(was) > 0 {
					if err := json.Unmarshal(was, &said); err != nil {
						return nil, err
					}
				}
				return json.Marshal(said + "x")
			}))
		})
	}
	all.Wait()
	kept, err := s.Formats(ctx)
	require.NoError(t, err)
	assert.Equal(t, `"`+strings.Repeat("x", 20)+`"`, string(kept["own-ash"]))
}
