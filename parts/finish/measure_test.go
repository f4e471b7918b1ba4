package finish

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestHandy(t *testing.T) {
	tests := []struct {
		size string
		want string
	}{
		{"50 ml", "syringe"}, {"480 ml", "syringe"}, {"481 ml", "cup"}, {"3 l", "cup"}, {"3.3 l", "jug"}, {"100 l", "jug"},
	}
	for _, tt := range tests {
		v, p := ParseVolume(tt.size)
		require.Nil(t, p)
		require.Equal(t, tt.want, Handy(UsualMeasures(), v).Key, tt.size)
	}
	require.Equal(t, "scale", Handy([]Measure{balance()}, Litre).Key, "where there is nothing else")
	require.Zero(t, Handy(nil, Litre))
}
