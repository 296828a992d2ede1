package api

import (
	"io/fs"
	"net/http"
	"path"
	"strings"

	"github.com/labstack/echo/v4"

	"netreel/media/fault"
)

// pagePolicy allows the page what it brings itself and nothing else. Style
// attributes are allowed, for widths and positions that are computed.
const pagePolicy = "default-src 'none'; script-src 'self'; style-src 'self'; style-src-attr 'unsafe-inline'; " +
	"img-src 'self' data: blob:; media-src 'self' blob:; font-src 'self' data:; connect-src 'self'; worker-src 'self'; " +
	"frame-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// poseFrame is the document in which the page's pose model runs, and
// posePolicy what it may: the model is WebAssembly, and stands in the page.
const (
	poseFrame  = "pose.html"
	posePolicy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; connect-src 'self'; img-src 'self' blob:; " +
		"base-uri 'none'; form-action 'none'; frame-ancestors 'self'"
)

// notBuilt is what stands in the page's place when it was not built in.
const notBuilt = "The page is not built into this server. Run \"make page build\" and start it again.\n"

// page serves the built page: its assets, which never change, by name; and
// index.html for every other address that a browser opens, since the page does
// its own routing.
func (s *Server) page(c echo.Context) error {
	name := strings.TrimPrefix(path.Clean("/"+c.Request().URL.Path), "/")
	if name == "api" || strings.HasPrefix(name, "api/") {
		return echo.ErrNotFound
	}
	policy := pagePolicy
	if name == poseFrame {
		policy = posePolicy
	}
	c.Response().Header().Set("Content-Security-Policy", policy)
	if s.pageFiles == nil {
		return c.String(http.StatusServiceUnavailable, notBuilt)
	}
	if served, err := s.pageFile(c, name); served || err != nil {
		return err
	}
	wantsPage := strings.Contains(c.Request().Header.Get(echo.HeaderAccept), echo.MIMETextHTML)
	if !wantsPage || strings.HasPrefix(name, "assets/") {
		return echo.ErrNotFound
	}
	if served, err := s.pageFile(c, "index.html"); served || err != nil {
		return err
	}
	return c.String(http.StatusServiceUnavailable, notBuilt)
}

// pageFile serves one file of the page, if there is such a one.
func (s *Server) pageFile(c echo.Context, name string) (bool, error) {
	if !fs.ValidPath(name) || strings.HasPrefix(path.Base(name), ".") {
		return false, nil
	}
	if info, err := fs.Stat(s.pageFiles, name); err != nil || !info.Mode().IsRegular() {
		return false, nil
	}
	cache := "no-cache"
	if strings.HasPrefix(name, "assets/") {
		cache = "public, max-age=31536000, immutable" // the build puts a hash of the content into the name
	}
	b, err := fs.ReadFile(s.pageFiles, name)
	if err != nil {
		return false, fault.Wrap(err, fault.Internal, "api.page", "")
	}
	c.Response().Header().Set(echo.HeaderCacheControl, cache)
	return true, c.Blob(http.StatusOK, typeOfPage(name), b)
}

// typeOfPage is the media type of a file of the page. The table is ours: what
// the system's own says differs from machine to machine.
func typeOfPage(name string) string {
	switch path.Ext(name) {
	case ".html":
		return echo.MIMETextHTMLCharsetUTF8
	case ".js", ".mjs":
		return "text/javascript; charset=utf-8"
	case ".css":
		return "text/css; charset=utf-8"
	case ".json", ".map":
		return echo.MIMEApplicationJSON
	case ".webmanifest":
		return "application/manifest+json"
	case ".svg":
		return "image/svg+xml"
	case ".png":
		return "image/png"
	case ".ico":
		return "image/x-icon"
	case ".woff2":
		return "font/woff2"
	case ".wasm":
		return "application/wasm"
	case ".txt":
		return echo.MIMETextPlainCharsetUTF8
	}
	return echo.MIMEOctetStream
}
