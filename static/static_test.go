package static

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"io/fs"
	"regexp"
	"strings"
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

// Each language says everything, with the same values in each sentence.
func TestTheWordsAreTheSameInEachLanguage(t *testing.T) {
	read := func(lang string) map[string]string {
		data, err := Files.ReadFile("scan/words." + lang + ".json")
		require.NoError(t, err)
		var words map[string]string
		require.NoError(t, json.Unmarshal(data, &words))
		return words
	}
	value := regexp.MustCompile(`\{\w+\}`)
	english, german := read("en"), read("de")
	for key, text := range english {
		assert.NotEmpty(t, german[key], key)
		assert.ElementsMatch(t, value.FindAllString(text, -1), value.FindAllString(german[key], -1), key)
	}
	for key := range german {
		if base, one := strings.CutSuffix(key, "_one"); one {
			key = base // a form for one that English does without
		}
		assert.NotEmpty(t, english[key], key)
	}
}

// What the script says is in the table.
func TestEveryWordOfTheScriptIsInTheTable(t *testing.T) {
	data, err := Files.ReadFile("scan/words.en.json")
	require.NoError(t, err)
	var words map[string]string
	require.NoError(t, json.Unmarshal(data, &words))
	called := regexp.MustCompile(`say\('(\w+)'[,)]`)
	names, err := fs.Glob(Files, "scan/*.js")
	require.NoError(t, err)
	found := 0
	for _, name := range names {
		script, err := Files.ReadFile(name)
		require.NoError(t, err)
		for _, call := range called.FindAllSubmatch(script, -1) {
			found++
			assert.NotEmpty(t, words[string(call[1])], "%s says %s", name, call[1])
		}
	}
	assert.Greater(t, found, 40)
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
