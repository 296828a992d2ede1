package api_test

import (
	"context"
	"fmt"
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/api"
	"netreel/media/fault"
)

func TestReportIsPrintedInTheReadersName(t *testing.T) {
	t.Parallel()
	w := newWorld(t, func(cfg *api.Config) { cfg.SelfURL = "http://127.0.0.1:8044" }).fill()
	path := fmt.Sprintf("/api/sessions/%d/report.pdf", w.ids.session)
	a := w.analyst.get(path + "?player=3&coder=1").is(200)
	assert.Equal(t, "application/pdf", a.header.Get("Content-Type"))
	assert.Contains(t, a.header.Get("Content-Disposition"), "Winter nets 2026-01-17.pdf")
	assert.Contains(t, string(a.body), `"name":"Noor"`)
	assert.Contains(t, string(a.body), fmt.Sprintf("http://127.0.0.1:8044/sessions/%d/look-back?coder=1&player=3 http://netreel.example", w.ids.session))

	ticket := *w.ticket.Load()
	w.nobody.get("/api/me", "X-Netreel-Ticket", ticket).is(http.StatusUnauthorized) // no longer
}

// A ticket holds while its print lasts, and only for reading.
func TestTicketIsForReading(t *testing.T) {
	t.Parallel()
	var w *world
	seen := map[string]int{}
	printer := printFunc(func(ctx context.Context, _ string, headers map[string]string, _ string) ([]byte, error) {
		header := []string{"X-Netreel-Ticket", headers["X-Netreel-Ticket"]}
		seen["reads"] = w.nobody.get("/api/sessions", header...).status
		seen["reads what coaches read"] = w.nobody.get("/api/accounts", header...).status
		seen["writes"] = w.nobody.do(http.MethodPost, "/api/sign-out", nil, header...).status
		seen["deletes"] = w.nobody.do(http.MethodDelete, fmt.Sprintf("/api/reels/%d", w.ids.reel), nil, header...).status
		seen["by another"] = w.nobody.get("/api/sessions", "X-Netreel-Ticket", "guessed").status
		_, err := w.store.Pool().Exec(ctx, `UPDATE account SET disabled_at = now() WHERE role = 'analyst'`)
		seen["of somebody disabled"] = w.nobody.get("/api/sessions", header...).status
		return []byte("%PDF"), err
	})
	w = newWorld(t, func(cfg *api.Config) { cfg.Printer = printer }).fill()
	w.analyst.get(fmt.Sprintf("/api/sessions/%d/report.pdf", w.ids.session)).is(200)
	assert.Equal(t, map[string]int{"reads": 200, "reads what coaches read": 403, "writes": 401, "deletes": 401, "by another": 401,
		"of somebody disabled": 401}, seen)
}

// The page that is printed hears events, as it does in any browser, until the
// print is over.
func TestTicketHearsEventsWhileItHolds(t *testing.T) {
	t.Parallel()
	var w *world
	var heard stream
	printer := printFunc(func(_ context.Context, _ string, headers map[string]string, _ string) ([]byte, error) {
		heard = w.nobody.listen("X-Netreel-Ticket", headers["X-Netreel-Ticket"])
		for beats := 0; beats < 3 && heard.lines.Scan(); {
			if heard.lines.Text() == "event: here" {
				beats++
			}
		}
		w.tell("recording", 7)
		e, alive := heard.next()
		assert.True(t, alive, "after several signs of life")
		assert.Equal(t, "recording", e.Topic)
		return []byte("%PDF"), nil
	})
	w = newWorld(t, func(cfg *api.Config) { cfg.Printer = printer }).fill()
	w.server.SetHeartbeat(5 * time.Millisecond)
	w.analyst.get(fmt.Sprintf("/api/sessions/%d/report.pdf", w.ids.session)).is(200)
	_, alive := heard.next()
	assert.False(t, alive)
}

func TestReportSaysWhyThereIsNone(t *testing.T) {
	t.Parallel()
	printer := printFunc(func(context.Context, string, map[string]string, string) ([]byte, error) {
		return nil, fault.New(fault.Unavailable, "paper", "No Chromium is installed.")
	})
	w := newWorld(t, func(cfg *api.Config) { cfg.Printer = printer }).fill()
	require.Equal(t, "No Chromium is installed.", w.coach.get(fmt.Sprintf("/api/sessions/%d/report.pdf", w.ids.session)).problem(503))
}

type printFunc func(ctx context.Context, address string, headers map[string]string, home string) ([]byte, error)

func (f printFunc) Print(ctx context.Context, address string, headers map[string]string, home string) ([]byte, error) {
	return f(ctx, address, headers, home)
}
