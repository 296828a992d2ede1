package main

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// TestPagesThatAreLeftLetGo loads a page anew more often than a browser opens
// connections to one server (six, by HTTP/1.1; common practice of browsers).
// A page that is left may be kept by the browser, but not its event stream: the
// next page would fetch nothing until that is given up.
func TestPagesThatAreLeftLetGo(t *testing.T) {
	coach, _ := signedIn(t, running(t))
	for range 9 {
		coach.open("/plans")
		coach.until(`document.querySelector('h1')`)
		require.True(t, eval[bool](coach, `fetch('/api/me', {signal: AbortSignal.timeout(20000)}).then(r => r.ok, () => false)`))
	}
}
