package page

import (
	"context"
	"flag"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"example.org/wheatear/cmd/wheatear/internal/clitest"
)

var shots = flag.String("shots", "", "write pictures of the pages into this `directory`")

func TestMain(m *testing.M) {
	if serveAlone() {
		return
	}
	status := m.Run()
	clitest.CloseBrowser()
	os.Exit(status)
}

// tabPage is a page in a tab of its own.
type tabPage struct {
	t      *testing.T
	ctx    context.Context
	mu     sync.Mutex
	errors []string // that the page has complained of
}

// openTab opens a tab.
func openTab(t *testing.T, wide, high int64, look string) *tabPage {
	t.Helper()
	ctx := clitest.Browser(t)
	p := &tabPage{t: t, ctx: ctx}
	p.do(chromedp.EmulateViewport(wide, high))
	media := emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: look}}}
	if _, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, media); err != nil {
		t.Fatal(err)
	}
	said := chromedp.Console(ctx)
	go func() {
		for m, err := range said {
			if err != nil {
				return
			}
			if m.Type == chromedp.ConsoleError || m.Type == chromedp.ConsoleException {
				p.mu.Lock()
				p.errors = append(p.errors, m.Text)
				p.mu.Unlock()
			}
		}
	}()
	return p
}

// do runs steps that must not fail.
func (p *tabPage) do(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	if err := chromedp.Do(ctx, steps...); err != nil {
		p.t.Fatal(err)
	}
}

// patience is far more than anything takes, on a busy computer too.
const patience = 90 * time.Second

func (p *tabPage) open(url string) { p.t.Helper(); p.do(chromedp.Navigate(url)) }

func (p *tabPage) click(css string) {
	p.t.Helper()
	p.wait("there is " + css)(`(n => n && !n.disabled && n.getClientRects().length > 0)(document.querySelector(` + quoted(css) + `))`)
	p.do(chromedp.Click(chromedp.CSS(css)))
}

// value types a value in place of what is there.
func (p *tabPage) value(css, text string) {
	p.t.Helper()
	p.do(chromedp.Clear(chromedp.CSS(css)), chromedp.SendKeys(chromedp.CSS(css), text))
}

// choose chooses from a list, as a person does.
func (p *tabPage) choose(css, text string) {
	p.t.Helper()
	p.wait("it can be chosen")(`[...document.querySelector(` + quoted(css) + `).options].some(o => o.value === ` + quoted(text) + `)`)
	p.eval(`(n => { n.value = ` + quoted(text) + `; n.dispatchEvent(new Event("change", {bubbles: true})) })(document.querySelector(` + quoted(css) + `))`)
}

// eval runs a script; what it gives is dropped.
func (p *tabPage) eval(script string) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	if _, err := chromedp.Run(ctx, chromedp.Evaluate[any]("void ("+script+")")); err != nil {
		p.t.Fatal(err)
	}
}

func (p *tabPage) text(css string) string {
	p.t.Helper()
	text, err := chromedp.Run(p.ctx, chromedp.Evaluate[string](`document.querySelector(`+quoted(css)+`)?.textContent ?? ""`))
	if err != nil {
		p.t.Fatal(err)
	}
	return text
}

// holds tells whether something is so on the page at this moment.
func (p *tabPage) holds(script string) bool {
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	now, err := chromedp.Run(ctx, chromedp.Evaluate[bool]("!!("+script+")"))
	return err == nil && now // while a page is being left there is nothing to ask
}

// wait waits until something is so on the page.
func (p *tabPage) wait(what string) func(script string) {
	return func(script string) {
		p.t.Helper()
		for began := time.Now(); time.Since(began) < patience; time.Sleep(20 * time.Millisecond) {
			if p.holds(script) {
				return
			}
		}
		p.picture("failed")
		p.t.Fatalf("waited in vain until %s; the page at %s says %q", what, p.address(), p.text("#notice"))
	}
}

// shows waits for a text in a part of the page.
func (p *tabPage) shows(css, text string) {
	p.t.Helper()
	p.wait(css + " shows " + text)(`document.querySelector(` + quoted(css) + `)?.textContent.replaceAll("\u00a0", " ").includes(` + quoted(text) + `)`)
}

// at waits for a page.
func (p *tabPage) at(path string) {
	p.t.Helper()
	p.wait("it is at " + path)(`location.pathname === ` + quoted(path) + ` && document.readyState === "complete"`)
}

func (p *tabPage) address() string {
	at, _ := chromedp.Run(p.ctx, chromedp.Location())
	return at
}

// quiet fails where the page has complained of anything but what is expected.
func (p *tabPage) quiet(but ...string) {
	p.t.Helper()
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, e := range p.errors {
		known := false
		for _, b := range but {
			known = known || strings.Contains(e, b)
		}
		if !known {
			p.t.Errorf("the page complains: %s", e)
		}
	}
}

// picture writes a picture of the whole page, where pictures are wanted.
func (p *tabPage) picture(name string) {
	p.t.Helper()
	if *shots == "" {
		return
	}
	png, err := chromedp.Run(p.ctx, chromedp.FullScreenshot(100))
	if err == nil {
		err = os.WriteFile(*shots+"/"+name+".png", png, 0o666)
	}
	if err != nil {
		p.t.Error(err)
	}
}

// quoted is a text as a script writes it.
func quoted(text string) string {
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", `\n`).Replace(text) + `"`
}
