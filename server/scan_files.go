package server

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"fmt"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"regexp"
	"strings"
	"sync"

	"github.com/gin-gonic/gin"

	"benchtally/static"
)

// scanFiles are what the scanning page fetches. They lie below one address
// that changes with any of them: scripts that call each other by name then
// always fit together, and a phone may keep them for good.
type scanFiles struct {
	version string
	names   []string // below static/scan
	small   sync.Map // by name: compressed once, for all who ask
}

func newScanFiles() (*scanFiles, error) {
	f := &scanFiles{}
	var err error
	if f.version, err = static.Version("scan", "scan.css", "sw.js", "bench.webmanifest", "icon.svg"); err != nil {
		return f, err
	}
	f.names = append(f.names, styleName)
	return f, fs.WalkDir(static.Files, "scan", func(name string, entry fs.DirEntry, err error) error {
		if err == nil && !entry.IsDir() && !strings.HasSuffix(name, ".txt") {
			f.names = append(f.names, strings.TrimPrefix(name, "scan/"))
		}
		return err
	})
}

// styleName is what the page's style sheet is called among its files: here it
// is sent compressed, like the scripts.
const styleName = "page.css"

// file reads one of the files.
func (f *scanFiles) file(name string) ([]byte, error) {
	if name == styleName {
		return static.Files.ReadFile("scan.css")
	}
	data, err := static.Files.ReadFile("scan/" + name)
	if path.Ext(name) == ".js" && !strings.Contains(name, "/") {
		data = comments.ReplaceAll(data, nil)
	}
	return data, err
}

// comments are for those who read our scripts in the repository: they stay
// there. The lines that they leave keep the numbers of the others.
var comments = regexp.MustCompile(`(?m)^[ \t]*//.*$`)

// base is the address below which the files lie.
func (f *scanFiles) base() string { return "/scan/files/" + f.version + "/" }

// modules are the addresses of the page's own scripts.
func (f *scanFiles) modules() []string {
	var out []string
	for _, name := range f.names {
		if path.Ext(name) == ".js" && !strings.Contains(name, "/") {
			out = append(out, f.base()+name)
		}
	}
	return out
}

// serve sends one of the files. Only the address of the present version may
// be kept: a page of before gets what there is.
func (f *scanFiles) serve(c *gin.Context) {
	name := strings.TrimPrefix(path.Clean(c.Param("file")), "/")
	data, err := f.file(name)
	if err != nil {
		c.Status(http.StatusNotFound)
		return
	}
	keep := "public, max-age=31536000, immutable"
	if c.Param("version") != f.version {
		keep = "no-store"
	}
	c.Header("Cache-Control", keep)
	f.send(c, name, data)
}

// send writes a file, compressed for those who can read that: over a weak
// network a second counts.
func (f *scanFiles) send(c *gin.Context, name string, data []byte) {
	c.Header("Vary", "Accept-Encoding")
	kind := mime.TypeByExtension(path.Ext(name))
	if strings.Contains(c.GetHeader("Accept-Encoding"), "gzip") {
		pack, _ := f.small.LoadOrStore(name, sync.OnceValue(func() []byte { return squeezed(data) }))
		data = pack.(func() []byte)()
		c.Header("Content-Encoding", "gzip")
	}
	c.Data(http.StatusOK, kind, data)
}

func squeezed(data []byte) []byte {
	var out bytes.Buffer
	w, _ := gzip.NewWriterLevel(&out, gzip.BestCompression) // the level is a valid one
	w.Write(data)                                           // into memory
	w.Close()
	return out.Bytes()
}

// worker is the script that opens the page without a network. It begins with
// what it has to keep, so that it is another script with each new version.
func (f *scanFiles) worker(c *gin.Context) {
	script, err := static.Files.ReadFile("sw.js")
	if err != nil {
		c.Status(http.StatusNotFound)
		return
	}
	keep := []string{static.Address("icon.svg")}
	for _, name := range f.names {
		keep = append(keep, f.base()+name)
	}
	list, err := json.Marshal(keep)
	if err != nil {
		c.Status(http.StatusInternalServerError)
		return
	}
	c.Header("Cache-Control", "no-cache")
	c.Data(http.StatusOK, "text/javascript; charset=utf-8", fmt.Appendf(nil, "const version = %q;\nconst keep = %s;\n%s", f.version, list, script))
}

// manifest lets a phone put the page on its first screen.
func (f *scanFiles) manifest(c *gin.Context) {
	data, err := static.Files.ReadFile("bench.webmanifest")
	if err != nil {
		c.Status(http.StatusNotFound)
		return
	}
	c.Header("Cache-Control", "no-cache")
	c.Data(http.StatusOK, "application/manifest+json", data)
}
