// Package browsertest drives the pages in a real Chromium, for the walks of the
// tests and for looking at every page. Pages are opened under a name that is
// not loopback, because plain HTTP on a shop's network lacks what loopback has.
package browsertest

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"strings"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// Host is the name pages are opened under.
const Host = "desk.test"

// ErrNoBrowser says that there is no Chromium to drive.
var ErrNoBrowser = errors.New("no Chromium found; install the chromium package")

// Browser is one running Chromium.
type Browser struct {
	root  context.Context
	close []func()
}

// Start runs Chromium in a profile of its own until Close.
func Start(ctx context.Context) (*Browser, error) {
	path, err := find()
	if err != nil {
		return nil, err
	}
	profile, err := os.MkdirTemp("", "damperdesk-browser-")
	if err != nil {
		return nil, err
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.UserDataDir(profile),
		chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("host-resolver-rules", "MAP "+Host+" 127.0.0.1"))
	alloc, stop := chromedp.NewExecAllocator(ctx, opts...)
	root, cancel := chromedp.NewContext(alloc)
	b := &Browser{root: root, close: []func(){func() { os.RemoveAll(profile) }, stop, cancel}}
	if err := chromedp.Do(root); err != nil {
		b.Close()
		return nil, fmt.Errorf("start Chromium: %w", err)
	}
	return b, nil
}

func find() (string, error) {
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path, nil
		}
	}
	return "", ErrNoBrowser
}

// Close ends Chromium and removes its profile.
func (b *Browser) Close() {
	for i := len(b.close) - 1; i >= 0; i-- {
		b.close[i]()
	}
}

// Tab is a page with cookies of its own, as another person's device has.
type Tab struct {
	ctx  context.Context
	Base string // address of the server, under Host
}

// patience is how long an act in a tab may take on a busy machine.
const patience = 40 * time.Second

// Open makes a tab of the size, in CSS pixels, onto the server at address.
func (b *Browser) Open(address string, width, height int) (*Tab, func(), error) {
	u, err := url.Parse(address)
	if err != nil {
		return nil, nil, err
	}
	u.Host = Host + ":" + u.Port()
	ctx, end := chromedp.NewContext(b.root, chromedp.WithNewBrowserContext())
	t := &Tab{ctx: ctx, Base: u.String()}
	// The first act opens the tab, which lives as long as the context of that act.
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(int64(width), int64(height))); err != nil {
		end()
		return nil, nil, err
	}
	return t, end, nil
}

// Resize gives the tab another size, in CSS pixels.
func (t *Tab) Resize(width, height int) error {
	return t.Do(chromedp.EmulateViewport(int64(width), int64(height)))
}

// WithoutScripts opens every further page as a browser does that runs none.
func (t *Tab) WithoutScripts() error {
	_, err := chromedp.Call(t.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
	return err
}

// Forget drops every cookie of the tab.
func (t *Tab) Forget() error {
	_, err := chromedp.Call(t.ctx, network.ClearBrowserCookies, cdp.Empty{})
	return err
}

// Block lets no address of these patterns be reached from now on; without any,
// all are again.
func (t *Tab) Block(patterns ...string) error {
	blocked := network.SetBlockedURLsParams{}
	for _, p := range patterns {
		blocked.URLPatterns = append(blocked.URLPatterns, &network.BlockPattern{URLPattern: p, Block: true})
	}
	_, err := chromedp.Call(t.ctx, network.Enable, network.EnableParams{})
	if err == nil {
		_, err = chromedp.Call(t.ctx, network.SetBlockedURLs, blocked)
	}
	return err
}

// Do runs actions in the tab.
func (t *Tab) Do(steps ...chromedp.Action[chromedp.Void]) error {
	_, err := run(t, chromedp.Steps(steps...))
	return err
}

func run[T any](t *Tab, act chromedp.Action[T]) (T, error) {
	ctx, stop := context.WithTimeout(t.ctx, patience)
	defer stop()
	return chromedp.Run(ctx, act)
}

// Go opens a path of the server.
func (t *Tab) Go(path string) error {
	return t.Do(chromedp.Navigate(t.Base+path), chromedp.WaitReady(chromedp.CSS("body")))
}

// Press clicks what the selector finds and waits until another page is there.
func (t *Tab) Press(selector string) error {
	if err := t.Follow(chromedp.Click(chromedp.CSS(selector), chromedp.NodeVisible)); err != nil {
		return fmt.Errorf("press %s: %w", selector, err)
	}
	return nil
}

// Follow does something that leads to another page, and waits until it is there.
func (t *Tab) Follow(act chromedp.Action[chromedp.Void]) error {
	ctx, stop := context.WithTimeout(t.ctx, patience)
	defer stop()
	resp, err := chromedp.RunResponse(ctx, act)
	if err != nil {
		return err
	}
	if resp != nil && resp.Status >= 500 {
		return fmt.Errorf("the server answered %d", resp.Status)
	}
	return t.Do(chromedp.WaitReady(chromedp.CSS("body")))
}

// Fill sets the value of a field, as if it had been typed at once.
func (t *Tab) Fill(selector, value string) error {
	return t.Do(chromedp.SetValue(chromedp.CSS(selector), value))
}

// Type sends key by key.
func (t *Tab) Type(selector, keys string) error {
	// A part of the page that is drawn anew just then takes away what was found,
	// before any key has reached it.
	for tries := 1; ; tries++ {
		err := t.Do(chromedp.SendKeys(chromedp.CSS(selector), keys))
		if err == nil || tries == 5 || !strings.Contains(err.Error(), "Could not find node") {
			return err
		}
	}
}

// Burst sends keys to whatever has the focus as a scanner does: each is stamped
// a few milliseconds after the one before, however busy the machine is.
func (t *Tab) Burst(keys string) error {
	at := time.Now()
	return t.Do(chromedp.KeyEvent(keys, func(p *input.DispatchKeyEventParams) {
		at = at.Add(2 * time.Millisecond)
		p.Timestamp = input.TimeSinceEpoch(float64(at.UnixMicro()) / 1e6)
	}))
}

// Focus goes to what the selector finds.
func (t *Tab) Focus(selector string) error {
	return t.Do(chromedp.Focus(chromedp.CSS(selector)))
}

// Ready waits for the page.
func (t *Tab) Ready() error { return t.Do(chromedp.WaitReady(chromedp.CSS("body"))) }

// Text is the text of the first element the selector finds.
func (t *Tab) Text(selector string) (string, error) {
	return run(t, chromedp.Text(chromedp.CSS(selector)))
}

// Path is where the tab is.
func (t *Tab) Path() (string, error) {
	at, err := run(t, chromedp.Location())
	if err != nil {
		return "", err
	}
	u, err := url.Parse(at)
	if err != nil {
		return "", err
	}
	return u.RequestURI(), nil
}

// Eval gives the value of a script, or what its promise comes to.
func Eval[T any](t *Tab, script string, opts ...chromedp.EvaluateOption) (T, error) {
	return run(t, chromedp.Evaluate[T](script, append(opts, chromedp.EvalAwaitPromise)...))
}

// SignIn signs in by the form.
func (t *Tab) SignIn(name, passphrase string) error {
	err := errors.Join(t.Go("/sign-in"),
		t.Fill(`input[name="name"]`, name),
		t.Fill(`input[name="passphrase"]`, passphrase),
		t.Press("main form button.main"))
	if err != nil {
		return err
	}
	path, err := t.Path()
	if err == nil && strings.HasPrefix(path, "/sign-in") {
		return fmt.Errorf("%s was not signed in", name)
	}
	return err
}

// Look is how a page is looked at.
type Look string

const (
	Light Look = "light"
	Dark  Look = "dark" // the night theme
	Grey  Look = "grey" // by day, by somebody who sees no colours
)

// Put makes the tab look so from now on.
func (t *Tab) Put(look Look) error {
	media := emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: "light"}}}
	vision := emulation.SetEmulatedVisionDeficiencyParams{Type: emulation.SetEmulatedVisionDeficiencyTypeNone}
	switch look {
	case Light:
	case Dark:
		media.Features[0].Value = "dark"
	case Grey:
		vision.Type = emulation.SetEmulatedVisionDeficiencyTypeAchromatopsia
	default:
		return fmt.Errorf("%q is no way to look at a page", look)
	}
	_, err := run(t, func(ctx context.Context, _ *chromedp.Target) (struct{}, error) {
		if _, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, media); err != nil {
			return struct{}{}, err
		}
		_, err := chromedp.Call(ctx, emulation.SetEmulatedVisionDeficiency, vision)
		return struct{}{}, err
	})
	return err
}

// Picture is the whole page as PNG.
func (t *Tab) Picture() ([]byte, error) {
	return run(t, chromedp.FullScreenshot(100))
}

// Print is the page as PDF on A4, or on the paper that its style asks for.
func (t *Tab) Print() ([]byte, error) {
	const inch = 25.4 // mm
	own := true
	a4 := page.PrintToPDFParams{PaperWidth: 210 / inch, PaperHeight: 297 / inch, PreferCSSPageSize: &own}
	return run(t, func(ctx context.Context, _ *chromedp.Target) ([]byte, error) {
		printed, err := chromedp.Call(ctx, page.PrintToPDF, a4)
		return printed.Data, err
	})
}
