package paper_test

import (
	"bytes"
	"context"
	"image"
	"image/png"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media/fault"
	"netreel/media/paper"
)

func logger(t *testing.T) *slog.Logger { return slog.New(slog.NewTextHandler(t.Output(), nil)) }

var ticket = map[string]string{"X-Ticket": "let me in"}

// site serves a page that asks for its content as ours do: by a script, with
// the header that signs it in, and with a picture far down.
func site(t *testing.T, body string) *httptest.Server {
	t.Helper()
	var picture bytes.Buffer
	require.NoError(t, png.Encode(&picture, image.NewRGBA(image.Rect(0, 0, 40, 40))))
	mux := http.NewServeMux()
	mux.HandleFunc("GET /", func(w http.ResponseWriter, _ *http.Request) {
		_, _ = w.Write([]byte(`<!doctype html><title>A look back</title><script type="module">
			const r = await fetch('/content'); document.body.innerHTML = await r.text()</script><body>`))
	})
	signed := func(r *http.Request) bool { return r.Header.Get("X-Ticket") == "let me in" }
	mux.HandleFunc("GET /content", func(w http.ResponseWriter, r *http.Request) {
		if !signed(r) {
			_, _ = w.Write([]byte(`<p role="alert">Who   are you?</p>`))
			return
		}
		_, _ = w.Write([]byte(body))
	})
	mux.HandleFunc("GET /picture.png", func(w http.ResponseWriter, r *http.Request) {
		if !signed(r) {
			http.Error(w, "no", http.StatusUnauthorized)
			return
		}
		_, _ = w.Write(picture.Bytes())
	})
	server := httptest.NewServer(mux)
	t.Cleanup(server.Close)
	return server
}

// leftovers are the profiles of browsers that chromedp makes.
func leftovers(t *testing.T, dir string) []string {
	t.Helper()
	list, err := filepath.Glob(filepath.Join(dir, "chromedp-runner*"))
	require.NoError(t, err)
	return list
}

func TestPrint(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("TMPDIR", dir)
	server := site(t, `<main data-whole><h1>Look-back</h1><a href="/find?ball=1">1 ball</a><div style="height:3000px"></div>
		<img src="/picture.png" loading="lazy"><img src="/gone.png" loading="lazy"></main>`)
	pdf, err := paper.Find(logger(t)).Print(t.Context(), server.URL+"/", ticket, "https://nets.example")
	require.NoError(t, err)
	require.True(t, bytes.HasPrefix(pdf, []byte("%PDF-")))
	require.True(t, bytes.HasSuffix(bytes.TrimSpace(pdf), []byte("%%EOF")))
	assert.Contains(t, string(pdf), "(https://nets.example/find?ball=1)", "a link leads to where readers reach it")
	assert.GreaterOrEqual(t, len(regexp.MustCompile(`/Type /Page\b`).FindAll(pdf, -1)), 3, "sheets")
	assert.Contains(t, string(pdf), "/Subtype /Image", "the picture far down is in it")
	assert.Contains(t, string(pdf), "/StructTreeRoot", "tagged, for those who hear it (ISO 32000-1, section 14.8)")
	assert.Empty(t, leftovers(t, dir), "the browser's profile is gone")
}

func TestPrintSaysWhatThePageSays(t *testing.T) {
	t.Parallel()
	server := site(t, "")
	_, err := paper.Find(logger(t)).Print(t.Context(), server.URL+"/", nil, "")
	require.Error(t, err)
	assert.Equal(t, fault.Unavailable, fault.KindOf(err))
	assert.Equal(t, "The page could not be printed: Who are you?", fault.Message(err))
}

func TestPrintEndsWithItsCaller(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(t.Context())
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		_, _ = w.Write([]byte(`<!doctype html><p>never whole`))
		cancel()
	}))
	t.Cleanup(server.Close)
	p := paper.Find(logger(t))
	_, err := p.Print(ctx, server.URL, nil, "")
	require.Error(t, err)
	assert.Equal(t, fault.Unavailable, fault.KindOf(err))

	again := site(t, `<main data-whole>fine</main>`)
	_, err = p.Print(t.Context(), again.URL, ticket, "")
	require.NoError(t, err, "the next one is not held up")
}

func TestPrintWithoutABrowser(t *testing.T) {
	t.Setenv("PATH", t.TempDir())
	_, err := paper.Find(logger(t)).Print(t.Context(), "http://127.0.0.1:1", nil, "")
	require.Error(t, err)
	assert.Equal(t, fault.Unavailable, fault.KindOf(err))
	assert.Contains(t, fault.Message(err), "No Chromium is installed")
}

// TestPrintWhereNoSandboxIsAllowed has a browser that refuses to run in one, as
// Chromium does in a container.
func TestPrintWhereNoSandboxIsAllowed(t *testing.T) {
	browser, err := exec.LookPath("chromium")
	if err != nil {
		browser, err = exec.LookPath("google-chrome")
	}
	require.NoError(t, err, "a browser to print with")
	bin := t.TempDir()
	script := "#!/bin/sh\ncase \"$*\" in *--no-sandbox*) exec " + browser + " \"$@\" ;; esac\necho 'FATAL: No usable sandbox!' >&2\nexit 1\n"
	require.NoError(t, os.WriteFile(filepath.Join(bin, "headless_shell"), []byte(script), 0o700))
	t.Setenv("PATH", bin+":"+os.Getenv("PATH"))
	p := paper.Find(logger(t))
	p.Cage()
	server := site(t, `<main data-whole>fine</main>`)
	pdf, err := p.Print(t.Context(), server.URL, ticket, "")
	require.NoError(t, err)
	assert.True(t, bytes.HasPrefix(pdf, []byte("%PDF-")))
}

// TestPrintDoesNotRunBesideAnother has a browser that tells when it is started
// and hangs: the second print waits for the first, and says so when its caller
// has waited enough.
func TestPrintDoesNotRunBesideAnother(t *testing.T) {
	bin := t.TempDir()
	started := filepath.Join(bin, "started")
	require.NoError(t, exec.CommandContext(t.Context(), "mkfifo", started).Run())
	script := "#!/bin/sh\necho started > " + started + "\nexec tail -f /dev/null\n"
	require.NoError(t, os.WriteFile(filepath.Join(bin, "headless_shell"), []byte(script), 0o700))
	t.Setenv("PATH", bin+":"+os.Getenv("PATH"))
	p := paper.Find(logger(t))
	ctx, cancel := context.WithCancel(t.Context())
	first := make(chan error, 1)
	go func() {
		_, err := p.Print(ctx, "http://127.0.0.1:1", nil, "")
		first <- err
	}()
	said, err := os.ReadFile(started) // returns once the browser runs
	require.NoError(t, err)
	require.Equal(t, "started", strings.TrimSpace(string(said)))
	late, stop := context.WithCancel(t.Context())
	stop()
	_, err = p.Print(late, "http://127.0.0.1:1", nil, "")
	assert.Equal(t, "Another report is being printed. Try again in a minute.", fault.Message(err))
	cancel()
	assert.Error(t, <-first)
}
