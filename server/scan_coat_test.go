package server_test

import (
	"net/http"
	"net/url"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/shoptest"
)

// What stands against a coat is on the card before the brush is wet.
func TestTheCardWarnsBeforeTheBrush(t *testing.T) {
	s := mixedShop(t)
	job := shoptest.ListJob(t, s.bench, "Tern Point lockers", shoptest.FramesList, map[string]int{"Locker front": 2})
	shelf := named(t, s, job.Job.Code, "Shelf", parts.Single)
	status, _ := post(t, s.url+"/P/"+shelf+"/skip", url.Values{"id": {shoptest.NewID().String()}, "step": {"9"}, "reason": {"bought ready"}})
	require.Equal(t, http.StatusOK, status)
	p := scanPhone(t, s.url, 390)
	p.open("/S/stain")
	p.startScan("/scan")
	p.wedge(shelf)
	p.await(`document.body.textContent.includes('Nobody has approved the colour')`)
	assert.Contains(t, p.text("#card"), "Not yet")
}
