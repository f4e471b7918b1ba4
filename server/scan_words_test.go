package server_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A language is one file: it says what the English one says, with the same
// values in it, and has forms of its own only for one and for what the server
// says in English.
func TestEveryLanguageSaysTheSame(t *testing.T) {
	english, german := wordsOf(t, "en"), wordsOf(t, "de")
	values := regexp.MustCompile(`\{\w+\}`)
	fields := func(text string) []string {
		found := values.FindAllString(text, -1)
		slices.Sort(found)
		return found
	}
	for key, text := range english {
		if strings.HasSuffix(key, "_one") {
			continue // a language need not tell one from many
		}
		if assert.Contains(t, german, key) {
			assert.Equal(t, fields(text), fields(german[key]), key)
		}
	}
	for key := range german {
		base := strings.TrimSuffix(key, "_one")
		assert.True(t, english[base] != "" || strings.HasPrefix(key, "reason_"), "%s is said in German alone", key)
	}
}

// What a script asks for is in the file, and what is in the file is asked for.
func TestEveryWordOfTheScriptsIsThere(t *testing.T) {
	english := wordsOf(t, "en")
	files, err := filepath.Glob("../static/scan/*.js")
	require.NoError(t, err)
	var scripts strings.Builder
	for _, file := range files {
		data, err := os.ReadFile(file)
		require.NoError(t, err)
		scripts.Write(data)
	}
	for _, m := range regexp.MustCompile(`say\('(\w+)'[,)]`).FindAllStringSubmatch(scripts.String(), -1) {
		assert.Contains(t, english, m[1])
	}
	made := regexp.MustCompile(`^(stands|still|stop|face|hold|did)_|^(part|assembly|ticket|cart)$|_(say|do|one)$`)
	for key := range english {
		assert.True(t, made.MatchString(key) || strings.Contains(scripts.String(), "'"+key+"'"), "nothing says %q", key)
	}
}

func wordsOf(t *testing.T, language string) map[string]string {
	data, err := os.ReadFile("../static/scan/words." + language + ".json")
	require.NoError(t, err)
	var words map[string]string
	require.NoError(t, json.Unmarshal(data, &words))
	return words
}
