// Package static holds what browsers fetch beside the pages: the style sheet,
// the script and the icon. It owns nothing else.
package static

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
)

// Files are the files by their names.
//
//go:embed *.css *.js *.svg
var Files embed.FS

// Address is the address of a file. It changes with the file, so that a
// browser may keep what it has for as long as it likes.
func Address(name string) string {
	data, err := Files.ReadFile(name)
	if err != nil {
		return "/static/" + name
	}
	sum := sha256.Sum256(data)
	return "/static/" + name + "?v=" + hex.EncodeToString(sum[:4])
}
