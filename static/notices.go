package static

import (
	_ "embed" // the page of notices
	"io/fs"
	"path"
	"strings"
)

//go:embed THIRD_PARTY.md
var thirdParty string

// ThirdParty lists the work of others in the program, with its licences.
func ThirdParty() string { return thirdParty }

// Licences gives the texts of the licences that lie beside the files here, by
// their names.
func Licences() (map[string]string, error) {
	out := map[string]string{}
	return out, fs.WalkDir(Files, ".", func(name string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() || !strings.HasPrefix(path.Base(name), "LICENSE") {
			return err
		}
		text, err := Files.ReadFile(name)
		out[name] = string(text)
		return err
	})
}
