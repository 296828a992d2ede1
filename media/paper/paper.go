// Package paper prints a page as PDF with the headless Chromium that is
// installed on the machine. Each print has a browser of its own, with an empty
// profile, which is gone when the print is.
//
// It must not know what is printed, who may see it or how they are signed in:
// it is handed an address and the headers to ask with.
package paper

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"os/exec"
	"strings"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"

	"netreel/media/fault"
)

// Printer prints one page at a time. It is safe for use by many goroutines.
type Printer struct {
	browser string // "" when none is installed
	log     *slog.Logger
	free    chan struct{} // holds a value while nobody prints
	caged   bool          // the browser runs in a sandbox of its own; only to be read by who prints
}

// Limits of one print. A browser wants some hundred megabytes, and half of a
// small machine for seconds.
const (
	patience = 90 * time.Second // from the first step to the last
	queue    = 30 * time.Second // how long to wait for a print before this one
	farewell = 10 * time.Second // how long a browser may take to be gone
)

// browsers are the programs that can print, by the names that Debian, Ubuntu
// and the browsers' makers give them; the first that there is, is taken.
var browsers = []string{
	"headless_shell", "headless-shell", "chromium", "chromium-browser", "google-chrome", "google-chrome-stable",
}

// Find looks for a browser on the PATH. Where there is none, only printing
// does not work, and says so.
func Find(log *slog.Logger) *Printer {
	p := &Printer{log: log, free: make(chan struct{}, 1), caged: os.Geteuid() != 0} // root's browser can't have one
	p.free <- struct{}{}
	for _, name := range browsers {
		if path, err := exec.LookPath(name); err == nil {
			p.browser = path
			break
		}
	}
	return p
}

// Print returns the page at an address as a PDF of A4 sheets. The headers are
// sent with everything that the page asks for; its links that begin with a
// stroke lead to home, which has none at its end. The page says that it shows
// all it has by an element with the attribute data-whole, and that it can't by
// one with role=alert.
//
// It returns fault.Unavailable when no browser is installed, when others are
// being printed for too long, or when the page does not get ready in time.
func (p *Printer) Print(ctx context.Context, address string, headers map[string]string, home string) ([]byte, error) {
	const op = "paper.Print"
	if p.browser == "" {
		return nil, fault.New(fault.Unavailable, op,
			"No Chromium is installed on the server, which a PDF is made with. Install it, or print the page from your own browser.")
	}
	wait, stop := context.WithTimeout(ctx, queue)
	defer stop()
	select {
	case <-p.free:
		defer func() { p.free <- struct{}{} }()
	case <-wait.Done():
		return nil, fault.Wrap(wait.Err(), fault.Unavailable, op, "Another report is being printed. Try again in a minute.")
	}
	ctx, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	pdf, err := p.print(ctx, address, headers, home)
	if p.caged && err != nil && strings.Contains(err.Error(), "sandbox") {
		// A container or a service may not make one. It is a second wall at most: the browser sees pages of this
		// server alone, whose policy lets nothing foreign in.
		p.log.WarnContext(ctx, "the browser that prints runs without a sandbox of its own: the system does not allow one")
		p.caged = false
		pdf, err = p.print(ctx, address, headers, home)
	}
	if err != nil {
		if fault.Message(err) != "" {
			return nil, fault.At(op, err)
		}
		return nil, fault.Wrap(err, fault.Unavailable, op, "The page could not be printed. Try again, or print it from your own browser.")
	}
	return pdf, nil
}

func (p *Printer) print(ctx context.Context, address string, headers map[string]string, home string) (pdf []byte, err error) {
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(p.browser), chromedp.DisableGPU, chromedp.Flag("disable-component-update", true),
		chromedp.Flag("no-sandbox", !p.caged))
	alloc, stop := chromedp.NewExecAllocator(ctx, options...)
	defer stop()
	tab, end := chromedp.NewContext(alloc, chromedp.WithErrorf(func(format string, args ...any) {
		p.log.DebugContext(ctx, "browser", "said", fmt.Sprintf(format, args...))
	}))
	defer func() {
		gone := make(chan error, 1)
		go func() {
			failed := chromedp.Cancel(tab) // waits until the browser and its folder are gone
			end()
			gone <- failed
		}()
		select {
		case failed := <-gone:
			err = errors.Join(err, ignoreEnd(failed))
		case <-time.After(farewell):
			// chromedp waits for ever for a browser that was called off while it started, though it has killed it.
			err = cmp.Or(err, context.Cause(ctx))
		}
	}()
	extra := network.Headers{}
	for name, value := range headers {
		extra[name] = value
	}
	if err := chromedp.Do(tab,
		command(network.Enable, network.EnableParams{}),
		command(network.SetExtraHTTPHeaders, network.SetExtraHTTPHeadersParams{Headers: extra}),
		command(emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"}),
		chromedp.EmulateViewport(1000, 1400), // as wide as a sheet in the eyes of a style sheet
		chromedp.Navigate(address),
	); err != nil {
		return nil, err
	}
	if _, err := chromedp.Run(tab, chromedp.Poll[bool](`!!document.querySelector('[data-whole], [role=alert]')`,
		chromedp.WithPollingMutation(), chromedp.WithPollingTimeout(patience))); err != nil {
		return nil, err
	}
	trouble, err := chromedp.Run(tab, chromedp.Evaluate[string](`document.querySelector('[data-whole]') ? '' : document.querySelector('[role=alert]').innerText`))
	if err != nil {
		return nil, err
	}
	if trouble != "" {
		return nil, fault.New(fault.Unavailable, "", "The page could not be printed: "+strings.Join(strings.Fields(trouble), " "))
	}
	if _, err := chromedp.Run(tab, chromedp.Evaluate[bool](fmt.Sprintf(settle, home), chromedp.EvalAwaitPromise)); err != nil {
		return nil, err
	}
	return chromedp.Run(tab, chromedp.PrintToPDF(
		chromedp.PDFPaper(chromedp.PaperA4), chromedp.PDFMargins(0.5, 0.5, 0.6, 0.5),
		chromedp.PDFScale(0.8), // a sheet is as wide as a small laptop's window then
		chromedp.PDFPrintBackground(), chromedp.PDFOutlineAndTagged(), chromedp.PDFHeaderTemplate(`<span></span>`), chromedp.PDFFooterTemplate(footer),
	))
}

// settle waits for the type and the pictures, broken
// ones too, and lets links lead to where readers of the PDF reach them.
const settle = `(async () => {
	const home = %q
	for (const a of document.querySelectorAll('a[href^="/"]')) a.setAttribute('href', home + a.getAttribute('href'))
	for (const i of document.images) i.loading = 'eager'
	await document.fonts.ready
	await Promise.all([...document.images].map((i) => i.decode().catch(() => {})))
	return true
})()`

const footer = `<div style="width:100%;padding:0 0.5in;font:8px sans-serif;color:#444;display:flex;justify-content:space-between">
	<span class="title"></span><span><span class="pageNumber"></span> / <span class="totalPages"></span></span></div>`

// command is a command of the browser's protocol as a step.
func command[P, R any](c cdp.Command[P, R], params P) chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, c, params)
		return err
	})
}

// ignoreEnd drops what a browser says that ends because our time is up: the
// print itself has told that.
func ignoreEnd(err error) error {
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return nil
	}
	return err
}
