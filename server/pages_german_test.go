package server_test

import (
	"io"
	"net/http"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestAPageInGerman: the browser's language is taken until a person chooses
// one, which is then remembered, and a refusal is said in it.
func TestAPageInGerman(t *testing.T) {
	s, _ := stocked(t)
	ask := func(path, language string) (string, *http.Response) {
		req, err := http.NewRequestWithContext(t.Context(), http.MethodGet, s.url+path, nil)
		require.NoError(t, err)
		req.Header.Set("Accept-Language", language)
		resp, err := http.DefaultClient.Do(req)
		require.NoError(t, err)
		defer resp.Body.Close()
		page, err := io.ReadAll(resp.Body)
		require.NoError(t, err)
		return string(page), resp
	}
	page, _ := ask("/P/ZZZZ", "de-CH,de;q=0.9,en;q=0.8")
	assert.Contains(t, page, `<html lang="de">`)
	assert.NotContains(t, page, "Not done")
	page, _ = ask("/P/ZZZZ", "fr,en;q=0.8")
	assert.Contains(t, page, `<html lang="en">`, "a language that nobody wrote")
	page, resp := ask("/labels?lang=de", "en")
	assert.Contains(t, page, "Etiketten")
	require.NotEmpty(t, resp.Cookies())
	assert.Equal(t, "de", resp.Cookies()[0].Value)
}
