package api_test

import (
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"netreel/api"
)

func TestPage(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	html := []string{"Accept", "text/html,application/xhtml+xml"}
	for _, at := range []string{"/", "/sessions/12", "/join/secret", "/find?shot=pull", "/index.html"} {
		a := w.nobody.get(at, html...).is(200)
		assert.Equal(t, "no-cache", a.header.Get("Cache-Control"), at)
		assert.Contains(t, string(a.body), "<title>netreel</title>")
		assert.Equal(t, "text/html; charset=UTF-8", a.header.Get("Content-Type"))
		policy := a.header.Get("Content-Security-Policy")
		for _, part := range []string{"default-src 'none'", "script-src 'self';", "frame-ancestors 'none'", "base-uri 'none'"} {
			assert.Contains(t, policy, part)
		}
		assert.NotContains(t, policy, "unsafe-eval")
		assert.Equal(t, "nosniff", a.header.Get("X-Content-Type-Options"))
		assert.Equal(t, "no-referrer", a.header.Get("Referrer-Policy"))
	}
	asset := w.nobody.get("/assets/app-1a.js").is(200)
	assert.Equal(t, "public, max-age=31536000, immutable", asset.header.Get("Cache-Control"))
	assert.Equal(t, "text/javascript; charset=utf-8", asset.header.Get("Content-Type"))
	assert.Equal(t, "image/svg+xml", w.nobody.get("/icon.svg").is(200).header.Get("Content-Type"))
	w.nobody.do(http.MethodHead, "/", nil, html...).is(200)
}

// The document of the pose model alone may run WebAssembly, and alone may stand
// in a page: in ours.
func TestPoseFrame(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	policy := w.nobody.get("/pose.html", "Accept", "text/html").is(200).header.Get("Content-Security-Policy")
	for _, part := range []string{"default-src 'none'", "script-src 'self' 'wasm-unsafe-eval';", "frame-ancestors 'self'", "connect-src 'self'"} {
		assert.Contains(t, policy, part)
	}
}

func TestPageIsOnlyForPages(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	html := []string{"Accept", "text/html"}
	w.nobody.get("/api/nothing", html...).problem(404)
	w.nobody.get("/api", html...).problem(404)
	w.nobody.get("/assets/gone.js", html...).problem(404) // an old page asks for an asset of before: not with a page
	w.nobody.get("/assets", "Accept", "*/*").problem(404)
	w.nobody.get("/sessions/12", "Accept", "application/json").problem(404)
	w.nobody.get("/.gitkeep", "Accept", "*/*").problem(404)
	w.nobody.get("/assets/.secret", "Accept", "*/*").problem(404)
	w.nobody.get("/..%2f..%2fetc/passwd", "Accept", "*/*").problem(404)
	w.nobody.post("/sessions/12", `{}`).problem(405)
}

func TestPageThatIsNotBuilt(t *testing.T) {
	t.Parallel()
	w := newWorld(t, func(c *api.Config) { c.Page = nil })
	a := w.nobody.get("/", "Accept", "text/html").is(503)
	assert.Equal(t, api.NotBuilt, string(a.body))
	assert.Equal(t, 1, strings.Count(string(a.body), "\n"))
	w.coach.get("/api/me").is(200)
}
