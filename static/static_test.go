package static

import (
	"crypto/sha256"
	"encoding/hex"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The reader of codes is embedded as its makers published it. Source of the
// first sum: it is written in reader.js itself, as published (zxing-wasm 3.1.4
// in the npm registry); of the second: computed from that package.
func TestTheReaderIsTheOnePublished(t *testing.T) {
	sum := func(name string) string {
		data, err := Files.ReadFile(name)
		require.NoError(t, err)
		s := sha256.Sum256(data)
		return hex.EncodeToString(s[:])
	}
	script, err := Files.ReadFile("scan/zxing/reader.js")
	require.NoError(t, err)
	published := regexp.MustCompile("ZXING_WASM_SHA256=`([0-9a-f]{64})`").FindSubmatch(script)
	require.Len(t, published, 2)
	assert.Equal(t, string(published[1]), sum("scan/zxing/zxing_reader.wasm"))
	assert.Equal(t, "d33d09ce132a692faffbed0dce656c36cb2573b4b843885a6e036390d1071d95", sum("scan/zxing/reader.js"))
	for name, words := range map[string]string{"LICENSE.txt": "MIT License", "LICENSE-core.txt": "Apache License"} {
		notice, err := Files.ReadFile("scan/zxing/" + name)
		require.NoError(t, err)
		assert.Contains(t, string(notice), words)
	}
}

func TestAVersionFollowsItsFiles(t *testing.T) {
	scan, err := Version("scan")
	require.NoError(t, err)
	more, err := Version("scan", "bench.css")
	require.NoError(t, err)
	assert.NotEqual(t, scan, more)
	_, err = Version("none")
	assert.Error(t, err)
}
