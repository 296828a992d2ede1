package api_test

import (
	"bytes"
	"io"
	"net"
	"net/url"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/tagging"
)

// tunnel is a line to the server that breaks.
type tunnel struct {
	url   string
	sent  atomic.Int64 // bytes towards the server, on all connections
	after atomic.Int64 // so many of them, and the line breaks; then it is as good as new
	broke chan func()  // gets, when the line breaks, what ends the broken connection; until then it is silent
}

// dig opens a tunnel to a server.
func dig(t *testing.T, to string) *tunnel {
	t.Helper()
	u, err := url.Parse(to)
	require.NoError(t, err)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	t.Cleanup(func() { _ = l.Close() })
	n := &tunnel{url: "http://" + l.Addr().String(), broke: make(chan func(), 8)}
	go func() {
		for {
			near, err := l.Accept()
			if err != nil {
				return
			}
			far, err := net.Dial("tcp", u.Host)
			if err != nil {
				_ = near.Close()
				continue
			}
			go n.carry(near, far)
		}
	}()
	return n
}

func (n *tunnel) carry(near, far net.Conn) {
	end := func() {
		_ = near.Close()
		_ = far.Close()
	}
	go func() {
		_, _ = io.Copy(near, far)
		end()
	}()
	some := make([]byte, 16<<10)
	for {
		k, err := near.Read(some)
		if err != nil {
			end()
			return
		}
		sent := n.sent.Add(int64(k))
		if limit := n.after.Load(); limit > 0 && sent > limit {
			n.after.Store(0)
			n.broke <- end
			return
		}
		if _, err := far.Write(some[:k]); err != nil {
			end()
			return
		}
	}
}

// TestIndependentTusClient has tus-js-client, a client of the protocol that is
// not of our making, send a film. It is killed on the way; another one, started
// with what the first had written down, goes on over a line that breaks. The
// film has arrived once, and no part of it was sent twice.
func TestIndependentTusClient(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	dir := t.TempDir()
	content := bytes.Repeat([]byte("from the far end of the nets "), 30_000)
	file := filepath.Join(dir, "nets.mp4")
	require.NoError(t, os.WriteFile(file, content, 0o600))
	u, err := url.Parse(w.http.URL)
	require.NoError(t, err)
	var cookies []string
	for _, c := range w.coach.client.Jar.Cookies(u) {
		cookies = append(cookies, c.String())
	}
	line := dig(t, w.http.URL)
	sender := func() *exec.Cmd {
		frontend := filepath.Join("..", "frontend")
		require.DirExists(t, filepath.Join(frontend, "node_modules", "tus-js-client"), "run `npm ci` in frontend/ first")
		cmd := exec.CommandContext(t.Context(), "node", filepath.Join(frontend, "checks", "tus.mjs"),
			line.url+"/api/uploads/", file, strconv.FormatInt(w.ids.session, 10), filepath.Join(dir, "remembered.json"))
		cmd.Env = append(os.Environ(), "COOKIE="+strings.Join(cookies, "; "))
		cmd.Stderr = t.Output()
		return cmd
	}
	before := len(w.uploadRows())

	start := func(cmd *exec.Cmd, breaksAfter int64) (hangUp func(), ended chan error) {
		line.after.Store(breaksAfter)
		require.NoError(t, cmd.Start())
		ended = make(chan error, 1)
		go func() { ended <- cmd.Wait() }()
		select {
		case hangUp = <-line.broke:
		case err := <-ended:
			require.FailNow(t, "it ended before the line broke", "%v", err)
		}
		return hangUp, ended
	}

	first := sender()
	hangUp, ended := start(first, 300_000)
	require.NoError(t, first.Process.Kill())
	require.Error(t, <-ended)
	hangUp()

	second := sender()
	var said bytes.Buffer
	second.Stdout = &said
	hangUp, ended = start(second, 600_000)
	hangUp()
	require.NoError(t, <-ended)

	rows := w.uploadRows()
	require.Len(t, rows, before+1, "it was gone on with, not begun anew")
	sent := rows[len(rows)-1]
	assert.Equal(t, tagging.UploadLanded, sent.State)
	assert.Equal(t, sent.TusID, path.Base(strings.TrimSpace(said.String())))
	got, err := os.ReadFile(filepath.Join(w.uploads, sent.TusID))
	require.NoError(t, err)
	assert.True(t, bytes.Equal(content, got))
	assert.Less(t, line.sent.Load(), int64(len(content)+200_000), "what had arrived was not sent again")
}

func (w *world) uploadRows() []tagging.Upload {
	w.t.Helper()
	list, err := w.store.Uploads(w.t.Context(), w.staff(), w.ids.session)
	require.NoError(w.t, err)
	return list
}
