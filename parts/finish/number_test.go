package finish

import (
	"encoding/json"
	"math/big"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
)

func TestParseDecimal(t *testing.T) {
	tests := []struct {
		text, want, code string
	}{
		{"3", "3", ""},
		{" 2.5 ", "2.5", ""},
		{"2,5", "2.5", ""},
		{".5", "0.5", ""},
		{"0,125", "0.125", ""},
		{"0.000001", "0.000001", ""},
		{"-1", "-1", ""},
		{"007", "7", ""},
		{"999999999", "999999999", ""},
		{"1000000000", "", "number-unreadable"},
		{"1,000", "", "number-unclear"},
		{"0.0000001", "", "number-unreadable"},
		{"", "", "number-unreadable"},
		{"-", "", "number-unreadable"},
		{".", "", "number-unreadable"},
		{"1.2.3", "", "number-unreadable"},
		{"1e3", "", "number-unreadable"},
		{"--1", "", "number-unreadable"},
		{"three", "", "number-unreadable"},
		{strings.Repeat("9", 500), "", "number-unreadable"},
	}
	for _, tt := range tests {
		t.Run(tt.text, func(t *testing.T) {
			d, p := ParseDecimal(tt.text)
			require.Equal(t, tt.code, codeOf(p))
			if p != nil {
				assert.NotEmpty(t, p.Do)
				assert.Less(t, len(p.Error()), 300)
				return
			}
			assert.Equal(t, tt.want, d.String())
		})
	}
}

func TestDecimalsPrintAndReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := Decimal(rapid.Int64Range(-999_999_999_999_999, 999_999_999_999_999).Draw(t, "millionths"))
		back, p := ParseDecimal(d.String())
		require.Nil(t, p)
		assert.Equal(t, d, back)
		value, ok := new(big.Rat).SetString(d.String()) // math/big reads the same number
		require.True(t, ok)
		assert.Zero(t, value.Cmp(d.rat()))

		data, err := json.Marshal(map[string]Decimal{"d": d})
		require.NoError(t, err)
		var stored map[string]Decimal
		require.NoError(t, json.Unmarshal(data, &stored))
		assert.Equal(t, d, stored["d"])
	})
}

func TestRounding(t *testing.T) {
	for text, want := range map[string]string{"1.25": "1.3", "1.24": "1.2", "-1.25": "-1.3", "-1.24": "-1.2", "0.95": "1", "3": "3"} {
		assert.Equal(t, want, number(t, text).Round(1).String(), text)
	}
	assert.Equal(t, "1.234567", number(t, "1.234567").Round(9).String())
	assert.Equal(t, "2", number(t, "1.5").Round(0).String())
}

func TestVolumes(t *testing.T) {
	tests := []struct {
		text, want, code string
		volume           Volume
	}{
		{"250 ml", "250 ml", "", 250 * Millilitre},
		{"1.5 L", "1.5 l", "", 3 * Litre / 2},
		{"8 fl. oz.", "237 ml", "", 8 * FluidOunce},
		{"1qt", "946 ml", "", Quart},
		{"1 gallon", "3.79 l", "", Gallon},
		{"2.5ml", "2.5 ml", "", 5 * Millilitre / 2},
		{"250", "", "volume-unit", 0},
		{"3 buckets", "", "volume-unit", 0},
		{"-1 l", "", "volume-size", 0},
		{"1001 l", "", "volume-size", 0},
		{"999999999 gal", "", "volume-size", 0},
		{"l", "", "number-unreadable", 0},
	}
	for _, tt := range tests {
		t.Run(tt.text, func(t *testing.T) {
			v, p := ParseVolume(tt.text)
			require.Equal(t, tt.code, codeOf(p))
			assert.Equal(t, tt.volume, v)
			if p == nil {
				assert.Equal(t, tt.want, v.Format(parts.Style{Unit: parts.Millimetres}))
			}
		})
	}
	assert.Equal(t, "8 fl oz", (8 * FluidOunce).Format(parts.Style{Unit: parts.Inches}))
	assert.Equal(t, "1.5 qt", (48 * FluidOunce).Format(parts.Style{Unit: parts.Feet}))
}

func FuzzNumbersAndVolumes(f *testing.F) {
	for _, s := range []string{"2.5", "1,000", "250 ml", "1 fl. oz", "-3 qt", "٣ ml", "1..2 l"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if d, p := ParseDecimal(text); p == nil {
			back, again := ParseDecimal(d.String())
			require.Nil(t, again)
			require.Equal(t, d, back)
		}
		if v, p := ParseVolume(text); p == nil {
			require.GreaterOrEqual(t, v, Volume(0))
			require.LessOrEqual(t, v, MostVolume)
		}
	})
}
