package server_test

import (
	"io"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
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

// What is put together out of few words is said in the language too.
func TestComposedWordsInGerman(t *testing.T) {
	s, _ := stocked(t)
	for path, wanted := range map[string]string{
		"/steps":                "verleimt endgültig",
		"/steps/frame":          "muss gebucht werden",
		"/defects":              "dann das Loch neu gebohrt; höchstens zweimal",
		"/drying/products":      "Wie viel Mal schneller bei 18 °F mehr",
		"/labels/calibration":   "Druckerprüfung",
		"/steps/new?for=single": "Das erste Stück wird geprüft auf",
	} {
		sep := "?"
		if strings.Contains(path, "?") {
			sep = "&"
		}
		status, page := get(t, s.url+path+sep+"lang=de")
		require.Equal(t, http.StatusOK, status, path)
		assert.Contains(t, page, wanted, path)
	}
	_, err := s.bench.SavePattern(t.Context(), parts.Pattern{Name: "Rail ends", Holes: []parts.Hole{
		{Into: parts.IntoLeftEnd, Along: 3 * parts.Inch / 4, FromFar: true, Diameter: 3 * parts.Inch / 8, Depth: parts.Inch}}})
	require.NoError(t, err)
	_, page := get(t, s.url+"/patterns?lang=de")
	assert.Contains(t, page, "Linkes Ende, Loch 1")
	assert.Contains(t, page, "3/4&#34; von der hinteren Kante, Ø 3/8&#34;, 1&#34; tief")
}
