package browsertest_test

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"damperdesk/web/browsertest"
)

// axeVersion is the release of axe-core, the reference checker of the Web
// Content Accessibility Guidelines, that pages are held against.
const axeVersion = "4.14.1"

// axeRules are WCAG 2.2 at level AA with all that came before it, and what the
// checker's makers advise beyond.
const axeRules = `{ type: "tag", values: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] }`

// axeColours are the rules among them that another theme can break.
const axeColours = `{ type: "rule", values: ["color-contrast", "link-in-text-block"] }`

// axe is the checker's script, or the reason why there is none.
var axe = sync.OnceValues(func() (string, error) {
	cache, err := os.UserCacheDir()
	if err != nil {
		return "", err
	}
	dir := filepath.Join(cache, "damperdesk-test", "axe-core-"+axeVersion)
	script := filepath.Join(dir, "node_modules", "axe-core", "axe.min.js")
	if _, err := os.Stat(script); err != nil {
		if err := installAxe(dir); err != nil {
			return "", err
		}
	}
	source, err := os.ReadFile(script)
	return string(source), err
})

// installAxe makes dir whole or not at all, whoever else is at it.
func installAxe(dir string) error {
	npm, err := exec.LookPath("npm")
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(dir), 0o755); err != nil {
		return err
	}
	work, err := os.MkdirTemp(filepath.Dir(dir), "installing-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(work)
	ctx, stop := context.WithTimeout(context.Background(), 2*time.Minute)
	defer stop()
	out, err := exec.CommandContext(ctx, npm, "install", "--ignore-scripts", "--no-audit", "--no-fund",
		"--prefix", work, "axe-core@"+axeVersion).CombinedOutput()
	if err != nil {
		return fmt.Errorf("install axe-core: %w\n%s", err, out)
	}
	if err := os.Rename(work, dir); err != nil && !os.IsExist(err) {
		return err
	}
	return nil
}

// checker is axe-core in a world of its own beside a page's, which the content
// security policy does not reach.
type checker struct {
	h     hand
	world runtime.ExecutionContextID
}

func (h hand) checker() checker {
	h.t.Helper()
	source, err := axe()
	h.must(err, "get axe-core")
	c := checker{h: h}
	h.must(h.Do(func(ctx context.Context, _ *chromedp.Target) (chromedp.Void, error) {
		tree, err := chromedp.Call(ctx, page.GetFrameTree, cdp.Empty{})
		if err != nil {
			return chromedp.Void{}, err
		}
		made, err := chromedp.Call(ctx, page.CreateIsolatedWorld, page.CreateIsolatedWorldParams{
			FrameID: tree.FrameTree.Frame.ID, WorldName: "checker",
		})
		c.world = made.ExecutionContextID
		return chromedp.Void{}, err
	}), "make a world for axe-core")
	_, err = browsertest.Eval[bool](h.Tab, source+"; true", c.inWorld)
	h.must(err, "load axe-core")
	return c
}

func (c checker) inWorld(p *runtime.EvaluateParams) { p.ContextID = c.world }

// violations are a line for each of the rules that is broken, with where.
func (c checker) violations(rules string) []string {
	c.h.t.Helper()
	broken, err := browsertest.Eval[[]string](c.h.Tab, `axe.run(document, {
		runOnly: `+rules+`, resultTypes: ["violations"], preload: false,
	}).then(({ violations }) => violations.map((v) => v.id + ": " + v.help + "\n" + v.nodes.slice(0, 4).map((n) =>
		"    " + n.target.join(" ") + "  " + n.html.slice(0, 160) + "\n      " +
		[...n.any, ...n.all, ...n.none].map((c) => c.message).join("; ")).join("\n") +
		(v.nodes.length > 4 ? "\n    and " + (v.nodes.length - 4) + " more" : "")))`, c.inWorld)
	c.h.must(err, "run axe-core")
	return broken
}
