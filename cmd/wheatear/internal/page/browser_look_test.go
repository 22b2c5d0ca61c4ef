package page

import (
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	pageproto "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"example.org/wheatear/cmd/wheatear/internal/clitest"
)

// shown is a bench on which every page has something to show.
func shown(t *testing.T) *served {
	t.Helper()
	file := filepath.Join(t.TempDir(), "n.db")
	s := ready(t, Options{Command: documented, Commands: []string{"plan", "incircuit", "verify", "identify", "level", "compare"}, Notebook: file, Enter: entering(t, file)})
	s.ok("tasks/plan", `{"expect": "47u"}`)
	s.idle()
	s.calibrateBySelf("20..20k/31")
	s.ok("tasks/verify", `{}`)
	s.idle()
	for task, asks := range map[string]string{"incircuit": `{"expect": "100n"}`, "identify": `{}`, "level": `{"at": "~1k"}`, "compare": `{"at": "~1k", "good": "pull-up"}`} {
		s.ok("tasks/"+task, asks)
		s.idle()
	}
	s.ok("tray/part", `{"name": "valve-coil"}`)
	s.ok("sweep", `{"at": "20..20k/31", "together": true}`)
	s.idle()
	for _, name := range []string{"timing-film", "rain-contact", "open", "valve-snubber"} {
		s.ok("tray/part", `{"name": "`+name+`"}`)
		s.ok("readings", `{"at": "~1k"}`)
	}
	s.ok("live", `{"at": "~1k"}`)
	return s
}

// settled waits until a page shows what it has.
func (p *tabPage) settled() {
	p.t.Helper()
	p.wait("it has heard from the program")(`document.querySelector("#owner").textContent !== "connecting"`)
	p.wait("what moves is there")(`!document.querySelector("#phasor") || document.querySelector("#calibration-now") || document.querySelector("#figure .digits").textContent !== ""`)
	time.Sleep(50 * time.Millisecond) // for the picture
}

// Every page at the sizes of a desk, a pocket, and in the dark: nothing wider than
// the screen, no complaint, no serious obstacle for anybody. Contrast is among what
// is checked (WCAG 2.1, 1.4.3, AA).
func TestBrowserEveryPage(t *testing.T) {
	t.Parallel()
	clitest.NeedBrowser(t)
	axe := readAxe(t)
	s := shown(t)
	for _, size := range []struct {
		name       string
		wide, high int64
		look       string
	}{{"1280-light", 1280, 800, "light"}, {"390-light", 390, 844, "light"}, {"1280-dark", 1280, 800, "dark"}} {
		p := openTab(t, size.wide, size.high, size.look)
		p.load(axe)
		for _, pg := range s.pages() {
			p.open(s.url + pg.Link())
			p.settled()
			p.picture(pg.Name + "-" + size.name)
			name := pg.Name + " at " + size.name
			if p.holds(`document.documentElement.scrollWidth > innerWidth`) {
				t.Errorf("%s is wider than the screen", name)
			}
			if size.wide > 1000 { // the small one has the same elements
				p.accessible(name)
			}
		}
		p.quiet()
	}
}

// axeSource is the checker, had once.
var axeSource = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "wheatear-axe-")
	if err != nil {
		return "", err
	}
	defer os.RemoveAll(dir)
	cmd := exec.Command("npm", "install", "--prefix", dir, "--ignore-scripts", "--no-audit", "--no-fund", "--no-save", "--prefer-offline", "axe-core@4")
	if out, err := cmd.CombinedOutput(); err != nil {
		return "", fmt.Errorf("npm: %w: %s", err, out)
	}
	text, err := os.ReadFile(filepath.Join(dir, "node_modules", "axe-core", "axe.min.js"))
	return string(text), err
})

// readAxe gets the checker of obstacles from its registry, at the time of the test.
func readAxe(t *testing.T) string {
	t.Helper()
	if _, err := exec.LookPath("npm"); err != nil {
		clitest.Lacking(t, "npm", "npm")
	}
	text, err := axeSource()
	if err != nil {
		say := t.Skipf
		if os.Getenv(clitest.CI) != "" {
			say = t.Fatalf
		}
		say("no axe-core: %v", err)
	}
	return text
}

// load has a script run on every page before its own; it is ours, so that the page's
// rules do not count for it.
func (p *tabPage) load(script string) {
	p.t.Helper()
	add := pageproto.AddScriptToEvaluateOnNewDocumentParams{Source: script}
	if _, err := chromedp.Call(p.ctx, pageproto.AddScriptToEvaluateOnNewDocument, add); err != nil {
		p.t.Fatal(err)
	}
}

// accessible fails for serious obstacles.
func (p *tabPage) accessible(name string) {
	p.t.Helper()
	p.eval(`axe.run(document, {resultTypes: ["violations"]}).then(r => { window.axeFound = JSON.stringify(r.violations.map(v => ({id: v.id, impact: v.impact, at: v.nodes.map(n => n.target.join(" ") + ": " + (n.any[0]?.message ?? ""))}))) })`)
	p.wait("the page has been checked")(`window.axeFound`)
	text, err := chromedp.Run(p.ctx, chromedp.Evaluate[string](`window.axeFound`))
	if err != nil {
		p.t.Fatal(err)
	}
	var found []struct {
		ID, Impact string
		At         []string
	}
	if err := json.Unmarshal([]byte(text), &found); err != nil {
		p.t.Fatal(err)
	}
	for _, f := range found {
		if f.Impact == "serious" || f.Impact == "critical" {
			p.t.Errorf("%s: %s (%s): %s", name, f.ID, f.Impact, strings.Join(f.At, "; "))
		} else {
			p.t.Logf("%s: %s (%s): %s", name, f.ID, f.Impact, strings.Join(f.At, "; "))
		}
	}
}

// key presses keys.
func (p *tabPage) key(keys string) { p.t.Helper(); p.do(chromedp.KeyEvent(keys)) }

// tabTo goes to an element with the tabulator alone, and sees that it is marked.
func (p *tabPage) tabTo(id string) {
	p.t.Helper()
	for range 60 {
		p.key(kb.Tab)
		if p.holds(`document.activeElement.matches(` + quoted(id) + `)`) {
			if !p.holds(`getComputedStyle(document.activeElement).outlineStyle !== "none"`) {
				p.t.Errorf("%s is not marked where it has the focus", id)
			}
			return
		}
	}
	p.t.Fatalf("the tabulator does not lead to %s", id)
}

// From the first visit to a reading that is kept, and a sweep, by keyboard alone.
func TestBrowserKeyboardAlone(t *testing.T) {
	t.Parallel()
	p := openTab(t, 1280, 800, "light")
	s := serve(t, Options{Folder: t.TempDir()})
	p.open(s.url + "/")
	p.settled()
	p.tabTo("#confirm")
	p.key(kb.Enter)
	p.shows("#confirmed", "confirmed")
	p.tabTo(`[data-jig="simulated"]`)
	p.key(" ")
	p.shows("#jig-name", "Simulated jig")
	p.tabTo(`#onward a[href="/calibrate"]`)
	p.key(kb.Enter)
	p.at("/calibrate")
	p.settled()
	p.wait("it may be done by itself")(`!document.querySelector("#auto").hidden`)
	p.tabTo("#auto")
	p.key(kb.Enter)
	p.shows("#calibration-now", "with open, short, load")
	p.tabTo(`nav a[href="/"]`)
	p.key(kb.Enter)
	p.at("/")
	p.settledForm()
	p.tabTo("#tray-part")
	p.key("valve-sn") // letters choose from the list
	p.shows("#tray-note", "across the valve")
	p.tabTo("#go")
	p.key(kb.Enter)
	p.shows("#part-name", "valve-snubber")
	p.tabTo("#keep")
	p.key(kb.Enter)
	p.shows("#notice", "Saved as no. 1")
	p.quiet()
}

func (p *tabPage) settledForm() {
	p.t.Helper()
	p.wait("the tray is there")(`document.querySelector("#tray-part")?.options.length > 3`)
}
