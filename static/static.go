// Package static holds what browsers fetch beside the pages: style sheets,
// scripts, the icon, and the reader of codes. It owns nothing else.
package static

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"io/fs"
)

// Files are the files by their names.
//
//go:embed *.css *.js *.svg *.webmanifest scan uplot
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

// Version is a short name of what the given files and folders hold. It
// changes with any of them: files that call each other by name are kept
// together under it.
func Version(names ...string) (string, error) {
	h := sha256.New()
	for _, name := range names {
		err := fs.WalkDir(Files, name, func(path string, entry fs.DirEntry, err error) error {
			if err != nil || entry.IsDir() {
				return err
			}
			data, err := Files.ReadFile(path)
			h.Write([]byte(path + "\x00"))
			h.Write(data)
			return err
		})
		if err != nil {
			return "", err
		}
	}
	return hex.EncodeToString(h.Sum(nil)[:6]), nil
}
