// Package frontend carries the built page inside the binary. It holds no logic
// and must know nothing of routes, sessions or data.
package frontend

import (
	"embed"
	"io/fs"
)

//go:embed all:dist
var dist embed.FS

// Files is the built page, rooted where index.html lies. It is false in a
// binary that was built before the page was (`make build` builds both).
func Files() (fs.FS, bool) {
	files, err := fs.Sub(dist, "dist")
	if err != nil {
		return nil, false
	}
	if _, err := fs.Stat(files, "index.html"); err != nil {
		return nil, false
	}
	return files, true
}
