package server_test

import (
	"net/http"
	"net/url"
	"path"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Nobody has to tap for it: the code on the one phone gives way to the name of
// the other.
func TestTheCodeGivesWayToTheNameOfWhoJoined(t *testing.T) {
	s := serve(t)
	p := openPhone(t, s.url, 390)
	p.open("/phones")
	p.tap("form[action='/phones/joins'] button")
	code := path.Base(p.text("[data-joins] figcaption"))
	resp, err := http.PostForm(s.url+"/join/"+code, url.Values{"phone": {"Phone by the drill"}})
	require.NoError(t, err)
	resp.Body.Close()
	require.Eventually(t, func() bool { return p.text("[data-joins] h2") == "Phone by the drill has joined" }, 30*time.Second, 100*time.Millisecond)
	p.fits()
}
