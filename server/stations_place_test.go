package server

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

func TestPlaced(t *testing.T) {
	all := []parts.StationRow{{Key: "saw", Place: 1}, {Key: "plane", Place: 2}, {Key: "glue", Place: 3}}
	tests := []struct {
		name       string
		key, after parts.Station
		want       map[parts.Station]int // what is saved, with its new place
	}{
		{"a new one at the end", "wrap", "glue", map[parts.Station]int{"wrap": 4}},
		{"a new one in between", "joint", "saw", map[parts.Station]int{"joint": 2, "plane": 3, "glue": 4}},
		{"a new one in front", "rack", "", map[parts.Station]int{"rack": 1, "saw": 2, "plane": 3, "glue": 4}},
		{"one that stays", "plane", "saw", map[parts.Station]int{"plane": 2}},
		{"the last one to the front", "glue", "", map[parts.Station]int{"glue": 1, "saw": 2, "plane": 3}},
		{"the first one to the end", "saw", "glue", map[parts.Station]int{"saw": 3, "plane": 1, "glue": 2}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			moved, err := placed(all, parts.StationRow{Key: tt.key}, tt.after)
			require.NoError(t, err)
			require.Equal(t, tt.key, moved[0].Key, "a station that cannot be kept must not move others first")
			got := map[parts.Station]int{}
			for _, st := range moved {
				got[st.Key] = st.Place
			}
			assert.Equal(t, tt.want, got)
		})
	}
	for _, after := range []parts.Station{"lathe", "saw"} {
		_, err := placed(all, parts.StationRow{Key: "saw"}, after)
		assert.Equal(t, "station-place", parts.CodeOf(err), "after %s", after)
	}
	assert.Equal(t, []parts.StationRow{{Key: "saw", Place: 1}, {Key: "plane", Place: 2}, {Key: "glue", Place: 3}}, all, "the list that was given is left as it is")
}
