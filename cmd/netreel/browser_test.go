package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"
)

// browserPatience is how long a page may take to show what it should. It is a
// bound for a broken page, not a measure: a page that is right passes at once.
const browserPatience = 4 * time.Minute

// chromium starts one headless browser for a test.
func chromium(t testing.TB, flags ...chromedp.ExecAllocatorOption) context.Context {
	t.Helper()
	dir, err := os.MkdirTemp("", "netreel-browser-")
	require.NoError(t, err)
	opts := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.NoSandbox, chromedp.DisableGPU, chromedp.UserDataDir(dir),
		chromedp.Flag("disable-component-update", true),
		chromedp.Flag("autoplay-policy", "no-user-gesture-required"),
		chromedp.WindowSize(1440, 900),
	)
	alloc, stop := chromedp.NewExecAllocator(context.Background(), append(opts, flags...)...)
	ctx, end := chromedp.NewContext(alloc)
	t.Cleanup(func() {
		_ = chromedp.Cancel(ctx) // the browser goes before its folder does
		end()
		stop()
		require.NoError(t, os.RemoveAll(dir))
	})
	require.NoError(t, chromedp.Do(ctx)) // starts the browser
	return ctx
}

// tab is one person's page: its own cookies, its own size.
type tab struct {
	t    testing.TB
	ctx  context.Context
	name string
	base string

	width, height int64

	mu     sync.Mutex
	errors []string // what the page wrote to the console as an error
}

// person opens a page of its own in a browser.
func person(t testing.TB, browser context.Context, name, base string, width, height int64) *tab {
	t.Helper()
	ctx, end := chromedp.NewContext(browser, chromedp.WithNewBrowserContext())
	return newTab(t, ctx, end, &tab{name: name, base: base, width: width, height: height})
}

// another opens one more tab of the same browser.
func (p *tab) another(name string) *tab {
	p.t.Helper()
	ctx, end := chromedp.NewContext(p.ctx)
	return newTab(p.t, ctx, end, &tab{name: name, base: p.base, width: p.width, height: p.height})
}

func newTab(t testing.TB, ctx context.Context, end context.CancelFunc, p *tab) *tab {
	t.Helper()
	p.t, p.ctx = t, ctx
	size := []chromedp.EmulateViewportOption{}
	if p.width < 600 {
		size = append(size, chromedp.EmulateMobile, chromedp.EmulateTouch)
	}
	require.NoError(t, chromedp.Do(ctx, chromedp.EmulateViewport(p.width, p.height, size...)))
	messages := chromedp.Console(ctx)
	go func() {
		for m, err := range messages {
			if err != nil {
				return
			}
			// Asking who is signed in is answered 401 when nobody is; browsers note that as an error.
			if (m.Type == chromedp.ConsoleError || m.IsException()) && !strings.Contains(m.String(), "401 (Unauthorized)") {
				p.mu.Lock()
				p.errors = append(p.errors, m.String())
				p.mu.Unlock()
			}
		}
	}()
	t.Cleanup(func() {
		if t.Failed() {
			p.shot("failed")
		}
		end()
	})
	return p
}

func (p *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, browserPatience)
	defer cancel()
	require.NoError(p.t, chromedp.Do(ctx, steps...), "%s", p.name)
}

// open goes to a path of the site.
func (p *tab) open(path string) {
	p.t.Helper()
	p.do(chromedp.Navigate(p.base + path))
}

// until waits until a JavaScript expression, or what it promises, is truthy.
func (p *tab) until(expression string) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, browserPatience)
	defer cancel()
	_, err := chromedp.Run(ctx, chromedp.Poll[bool]("(async () => !!(await ("+expression+")))()", chromedp.WithPollingInterval(50*time.Millisecond), chromedp.WithPollingTimeout(browserPatience)))
	require.NoError(p.t, err, "%s waits for %s\nthe page says: %.1500s", p.name, expression, p.says())
}

// says is the text that the page shows.
func (p *tab) says() string {
	ctx, cancel := context.WithTimeout(p.ctx, 5*time.Second)
	defer cancel()
	text, err := chromedp.Run(ctx, chromedp.Evaluate[string]("document.body.innerText"))
	if err != nil {
		return err.Error()
	}
	return text
}

// sees waits until the page shows a text.
func (p *tab) sees(text string) {
	p.t.Helper()
	p.until("document.body.innerText.includes(" + strconv.Quote(text) + ")")
}

// click clicks the first visible element of a selector whose text or label
// has the words; "" takes any.
func (p *tab) click(selector, words string) {
	p.t.Helper()
	p.until(fmt.Sprintf(`(() => {
		const say = e => (e.getAttribute('aria-label') ?? '') + ' ' + e.innerText;
		const e = [...document.querySelectorAll(%s)].find(e => e.checkVisibility() && !e.disabled && say(e).includes(%s));
		if (!e) return false;
		e.scrollIntoView({block: 'nearest'});
		e.click();
		return true;
	})()`, strconv.Quote(selector), strconv.Quote(words)))
}

// fill types into the field of a label.
func (p *tab) fill(label, text string) {
	p.t.Helper()
	p.until(fmt.Sprintf(`(() => {
		const l = [...document.querySelectorAll('label')].find(l => l.innerText.includes(%s));
		const f = l && (l.control ?? l.querySelector('input, textarea, select'));
		if (!f) return false;
		f.focus();
		if (f.select) f.select();
		return true;
	})()`, strconv.Quote(label)))
	p.press(text)
}

// press types keys, with modifiers if given.
func (p *tab) press(keys string, modifiers ...chromedp.KeyOption) {
	p.t.Helper()
	p.do(chromedp.KeyEvent(keys, modifiers...))
}

// enter presses Enter.
func (p *tab) enter() {
	p.t.Helper()
	p.press(kb.Enter)
}

func eval[T any](p *tab, expression string) T {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, browserPatience)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	require.NoError(p.t, err, "%s: %s", p.name, expression)
	return v
}

// shot keeps a picture of the page, in the folder that NETREEL_SHOTS names, or
// after a failure in the system's temporary folder.
func (p *tab) shot(what string) {
	dir := os.Getenv("NETREEL_SHOTS")
	if dir == "" {
		if !p.t.Failed() {
			return
		}
		dir = os.TempDir()
	}
	ctx, cancel := context.WithTimeout(p.ctx, 20*time.Second)
	defer cancel()
	png, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
	if err != nil {
		p.t.Logf("no picture of %s: %v", what, err)
		return
	}
	name := filepath.Join(dir, strings.ReplaceAll(p.name+"-"+what, " ", "-")+".png")
	if err := os.WriteFile(name, png, 0o600); err != nil {
		p.t.Logf("no picture of %s: %v", what, err)
		return
	}
	p.t.Logf("picture: %s", name)
}

// refused takes what browsers note of requests that the server refused out of
// what quiet looks at: they were meant.
func (p *tab) refused() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.errors = slices.DeleteFunc(p.errors, func(e string) bool { return strings.Contains(e, "status of 400") })
}

// quiet fails the test if the page wrote errors to the console.
func (p *tab) quiet() {
	p.t.Helper()
	p.mu.Lock()
	defer p.mu.Unlock()
	require.Empty(p.t, p.errors, "%s: the console", p.name)
}
