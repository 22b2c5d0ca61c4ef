package clitest

import (
	"context"
	"errors"
	"os"
	"os/exec"
	"sync"
	"testing"

	"github.com/chromedp/chromedp"
)

// CI is the environment variable with which a missing program fails the test.
const CI = "WHEATEAR_CI"

// Lacking ends a test for want of a program: where everything must be there, it fails.
func Lacking(t testing.TB, what, in string) {
	t.Helper()
	say := t.Skipf
	if os.Getenv(CI) != "" {
		say = t.Fatalf
	}
	say("no %s here (Debian: apt install %s)", what, in)
}

// Program is the path of a program that a test needs.
func Program(t testing.TB, name, in string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		Lacking(t, name, in)
	}
	return path
}

// browser is started once for all tests of a package, by the first that needs it.
var browser struct {
	once sync.Once
	ctx  context.Context
	end  func()
	err  error
}

// NeedBrowser starts the browser; the test is skipped where there is none, and in short
// runs.
func NeedBrowser(t testing.TB) {
	t.Helper()
	if testing.Short() {
		t.Skip("a browser is not started in short runs")
	}
	browser.once.Do(startBrowser)
	if errors.Is(browser.err, exec.ErrNotFound) {
		Lacking(t, "chromium", "chromium")
	}
	if browser.err != nil {
		t.Fatal(browser.err)
	}
}

// Browser opens a tab, whose context it returns; see NeedBrowser.
func Browser(t testing.TB) context.Context {
	t.Helper()
	NeedBrowser(t)
	ctx, cancel := chromedp.NewContext(browser.ctx, chromedp.WithNewBrowserContext())
	t.Cleanup(cancel)
	if err := chromedp.Do(ctx); err != nil { // which opens it, for as long as ctx lasts
		t.Fatal(err)
	}
	return ctx
}

func startBrowser() {
	path, err := exec.LookPath("chromium")
	if err != nil {
		browser.err = err
		return
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path))
	if os.Geteuid() == 0 {
		options = append(options, chromedp.NoSandbox) // it does not run as root otherwise
	}
	all, end := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, cancel := chromedp.NewContext(all)
	browser.ctx, browser.end = ctx, func() { cancel(); end() }
	browser.err = chromedp.Do(ctx)
}

// CloseBrowser ends the browser, if one was started: call it after all tests.
func CloseBrowser() {
	if browser.end != nil {
		browser.end()
	}
}
