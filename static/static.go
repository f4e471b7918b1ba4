// Package static holds what browsers fetch beside the pages: the style sheet,
// the script and the icon. It owns nothing else.
package static

import "embed"

// Files are the files by their names.
//
//go:embed *.css *.js *.svg
var Files embed.FS
