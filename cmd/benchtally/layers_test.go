package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// mayImport is the plan of the building: which of our rooms each room may
// import. Adding a word here is a design decision: say why in the commit.
var mayImport = map[string][]string{
	"cmd/benchtally": {"labels", "parts", "parts/access", "parts/bench", "parts/cutlist", "parts/finish", "parts/routing", "server", "server/authority", "server/localname", "static"}, // the demo names ready-made steps, and mixes; static has the notices
	// The server shows what bench gives it, so it knows the types of the rooms
	// that bench's answers are made of. It opens no store by itself.
	"server": {"labels", "parts", "parts/access", "parts/air", "parts/bench", "parts/bore", "parts/cutlist", "parts/drying", "parts/finish", "parts/floor", "parts/jsontext", "parts/place", "parts/routing", "parts/safe", "parts/setup", "parts/store", "static", "templates"},
	// Keys and sockets: what the command wires up and no page reads.
	"server/authority": {"parts"},
	"server/localname": {"parts"},
	"templates":        {},
	"static":           {},
	"labels":           {"parts"},
	"parts":            {"parts/jsontext"},
	"parts/access":     {"parts"},
	"parts/air":        {"parts"},
	"parts/bore":       {"parts"},
	"parts/cutlist":    {"parts"},
	"parts/routing":    {"parts"},
	"parts/rework":     {"parts"},
	"parts/finish":     {"parts"},
	"parts/drying":     {"parts"}, // the deficit of the air is passed in
	"parts/floor":      {"parts"},
	"parts/place":      {"parts"},
	"parts/photo":      {"parts"}, // its own room: it is all that opens a file which a stranger may have made
	"parts/safe":       {"parts"},
	"parts/setup":      {"parts"},
	"parts/jsontext":   {},                                                                                 // how states, requests and answers are written; knows none of them
	"parts/store":      {"parts", "parts/access", "parts/finish", "parts/jsontext", "parts/store/pagesum"}, // its rows of phones and tokens, mixes, batches and samples are those rooms' words
	// Bytes of a file and C: what store opens its file with, and nobody else.
	"parts/store/pagesum": {},
	// The content of a print order is kept with the log, so one room composes it.
	"parts/bench":    {"labels", "parts", "parts/access", "parts/air", "parts/bore", "parts/cutlist", "parts/drying", "parts/finish", "parts/floor", "parts/jsontext", "parts/photo", "parts/place", "parts/rework", "parts/routing", "parts/safe", "parts/setup", "parts/store"},
	"parts/shoptest": {"parts", "parts/bench", "parts/cutlist", "parts/jsontext"},
}

// onlyIn lists the outside packages that must not spread, and the rooms they
// may be in. A name that ends in a slash stands for everything below it.
var onlyIn = map[string][]string{
	"gorm.io/":                      {"parts/store"},
	"database/sql":                  {"parts/store", "parts/shoptest"},
	"github.com/mattn/go-sqlite3":   {"parts/store", "parts/store/pagesum"},
	"github.com/jackc/":             {"parts/store"},
	"github.com/pressly/goose/":     {"parts/store"},
	"github.com/gofrs/flock":        {"parts/store"},
	"github.com/gin-gonic/":         {"server"},
	"net/http":                      {"server", "cmd/benchtally"},
	"flag":                          {"cmd/benchtally", "parts/shoptest"},
	"github.com/xuri/":              {"parts/cutlist"},
	"golang.org/x/":                 {"cmd/benchtally", "parts/access", "parts/cutlist", "parts/bench", "parts/photo", "server", "server/localname"},
	"github.com/pion/":              {"server/localname"},
	"crypto/x509":                   {"server/authority"},
	"github.com/jung-kurt/gofpdf":   {"labels"},
	"github.com/skip2/go-qrcode":    {"labels"},
	"github.com/arran4/":            {"server"},
	"github.com/prometheus/":        {"server"},
	"image/jpeg":                    {"parts/photo"},
	"os/exec":                       {}, // nothing that anybody sends becomes a command
	"github.com/google/uuid":        {"server", "cmd/benchtally", "parts/shoptest"},
	"github.com/stretchr/":          {"parts/shoptest"},
	"html/template":                 {"server", "templates"},
	"benchtally/parts/shoptest":     {},
	"github.com/santhosh-tekuri/":   {}, // tests only
	"github.com/chromedp/":          {},
	"github.com/makiuchi-d/gozxing": {},
	"pgregory.net/rapid":            {"parts/shoptest"},
	"github.com/anishathalye/":      {},
}

// room is a package as the go command lists it. Tests may import more.
type room struct {
	ImportPath string
	Imports    []string
}

func TestThePlanOfTheBuilding(t *testing.T) {
	rooms := listRooms(t)
	for _, r := range rooms {
		name := strings.TrimPrefix(r.ImportPath, "benchtally/")
		may, planned := mayImport[name]
		assert.True(t, planned, "%s is not in the plan: put it there, with the rooms it may import, and say why in the commit", name)
		for _, imported := range r.Imports {
			if ours, ok := strings.CutPrefix(imported, "benchtally/"); ok && ours != "parts/shoptest" {
				assert.Contains(t, may, ours, "%s must not import %s: move the shared word to parts, or bring the two together in parts/bench", name, ours)
			}
			checkOutside(t, name, imported)
		}
	}
	for name := range mayImport {
		found := slices.ContainsFunc(rooms, func(r room) bool { return r.ImportPath == "benchtally/"+name })
		assert.True(t, found, "%s is in the plan and not in the building: take it out of the plan", name)
	}
}

// parts is the vocabulary: the standard library and how it is written, and of
// the first nothing which reaches outside the program.
func TestPartsImportsTheStandardLibraryOnly(t *testing.T) {
	for _, r := range listRooms(t) {
		if r.ImportPath != "benchtally/parts" {
			continue
		}
		for _, imported := range r.Imports {
			first, _, _ := strings.Cut(imported, "/")
			assert.NotContains(t, first, ".", "parts must not import %s: a room below it may", imported)
			assert.NotContains(t, []string{"os", "net", "net/http", "database/sql"}, imported, "parts must not import %s: rules never open a file or a socket", imported)
		}
		return
	}
	t.Fatal("there is no package parts")
}

func checkOutside(t *testing.T, name, imported string) {
	t.Helper()
	for outside, rooms := range onlyIn {
		if imported == outside || strings.HasSuffix(outside, "/") && strings.HasPrefix(imported, outside) || strings.HasPrefix(imported, outside+"/") {
			assert.Contains(t, rooms, name, "%s must not import %s: ask a room that may (%s)", name, imported, strings.Join(rooms, ", "))
		}
	}
}

func listRooms(t *testing.T) []room {
	t.Helper()
	cmd := exec.Command("go", "list", "-json=ImportPath,Imports", "benchtally/...")
	cmd.Stderr = t.Output()
	out, err := cmd.Output()
	require.NoError(t, err, "the go command lists the packages")
	var rooms []room
	for d := json.NewDecoder(bytes.NewReader(out)); ; {
		var r room
		if err := d.Decode(&r); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		rooms = append(rooms, r)
	}
	require.NotEmpty(t, rooms)
	return rooms
}
