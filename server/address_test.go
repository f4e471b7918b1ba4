package server_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"benchtally/parts"
)

// An address that no phone can open is never praised for every phone.
func TestAnAddressThatNoPhoneOpens(t *testing.T) {
	r := reachable(t)
	for _, address := range []string{"http://127.0.0.1:8080", "http://localhost:8080"} {
		r.settings(t, func(set *parts.Settings) { set.Address, set.Guessed = address, true })
		r.where.Numbers, r.where.Name = nil, ""
		_, page := get(t, r.url+"/settings/address")
		assert.Contains(t, page, address)
		assert.Contains(t, page, "Only this computer can open it", address)
		assert.NotContains(t, page, "Works on every phone", address)
		assert.NotContains(t, page, "may not find a name", address)
	}
	r.settings(t, func(set *parts.Settings) { set.Address = "http://192.168.1.20:8080" })
	_, page := get(t, r.url+"/settings/address")
	assert.Contains(t, page, "Works on every phone")
	assert.NotContains(t, page, "Only this computer")
}
