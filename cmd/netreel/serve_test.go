package main

import (
	"bufio"
	"fmt"
	"net"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestLinksLeadHere: wherever the system has put the server (port 0), links
// that the page shows and links that a command prints beside it lead there.
func TestLinksLeadHere(t *testing.T) {
	t.Parallel()
	app := running(t)
	secret, err := app.unclaimedLink(t.Context())
	require.NoError(t, err)
	coach, err := signIn(t.Context(), app.URL(), secret)
	require.NoError(t, err)
	var invited struct {
		Account struct{ ID int64 }
		Link    string
	}
	require.NoError(t, coach.post(t.Context(), "/api/accounts", map[string]any{"name": "Noor Ashdale", "role": "analyst"}, &invited))
	here := app.URL() + "/join/"
	assert.True(t, strings.HasPrefix(invited.Link, here), invited.Link)

	var said strings.Builder
	args := []string{"link", fmt.Sprint(invited.Account.ID), "--data", app.cfg.Data, "--listen", "127.0.0.1:0"}
	require.Zero(t, run(t.Context(), args, func(string) string { return "" }, &said, t.Output()))
	assert.Contains(t, said.String(), "Noor Ashdale")
	words := strings.Fields(said.String())
	link := words[len(words)-1]
	assert.True(t, strings.HasPrefix(link, here), link)
	_, err = signIn(t.Context(), app.URL(), secretOf(link))
	assert.NoError(t, err)
}

// TestStopsWhileSomebodySends: an upload that would take an hour more does not
// make the end of the program a failure.
func TestStopsWhileSomebodySends(t *testing.T) {
	t.Parallel()
	app := running(t, func(a *App) { a.patience = time.Millisecond })
	conn, err := net.Dial("tcp", app.listener.Addr().String())
	require.NoError(t, err)
	t.Cleanup(func() { _ = conn.Close() })
	_, err = fmt.Fprint(conn, "POST /api/sign-in HTTP/1.1\r\nHost: nets.example\r\nContent-Type: application/json\r\n"+
		"Content-Length: 100\r\nExpect: 100-continue\r\n\r\n")
	require.NoError(t, err)
	answer, err := bufio.NewReader(conn).ReadString('\n')
	require.NoError(t, err)
	assert.Contains(t, answer, "100 Continue", "the server waits for the rest") // RFC 9110, section 10.1.1
}
