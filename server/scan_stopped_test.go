package server_test

import (
	"testing"

	"github.com/mattn/go-sqlite3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/shoptest"
)

// A shop that cannot save answers so: the phone says why, and keeps the scan.
func TestAPhoneKeepsWhatTheShopCannotSave(t *testing.T) {
	shoptest.NeedSQLite(t, "the fault is one of a file")
	s, job := scanShop(t, fortyEight)
	p := scanPhone(t, plain(t, s), 390)
	p.open("/S/crosscut")
	p.startScan("/scan")
	p.press("#hands")
	require.Equal(t, "file-damaged", parts.CodeOf(s.bench.Explain(sqlite3.Error{Code: sqlite3.ErrCorrupt})))
	p.wedge(named(t, s, job.Job.Code, "Stile 1", parts.Single))
	p.await(`!document.getElementById('signal').hidden && document.getElementById('signal').className === 'kept'`)
	assert.Equal(t, "The shop's file is damaged. The scan is on this phone and will be sent.", p.text("#signal-say"))
	p.await(`document.getElementById('waiting').textContent === 'waiting 1'`)
	p.screen("scan-stopped")
	n, _ := recordedOf(t, s, job.Job.Code)
	require.Zero(t, n)
}
