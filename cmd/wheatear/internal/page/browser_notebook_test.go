package page

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// drifting are values of a part that falls, with a scatter of a tenth of a per cent.
func drifting(n int) []float64 {
	random := rand.New(rand.NewPCG(7, 7))
	var values []float64
	for i := range n {
		values = append(values, 97.8e-9*(1-2e-4*float64(i))*(1+1e-3*math.Max(-2, math.Min(2, random.NormFloat64()))))
	}
	return values
}

// remembered is a notebook of some weeks: readings of one part, a calibration, a sweep,
// and a part whose name is a script.
func remembered(t *testing.T) *served {
	t.Helper()
	s, file := noted(t)
	s.calibrateBySelf("~1k")
	k := s.reading("valve-snubber", "C7", "as it came out of the bag")
	repeated(t, file, k.Measure, "C7", drifting(24), 36*time.Hour)
	s.reading("pull-up", scriptLabel, "")
	s.ok("tray/part", `{"name": "valve-coil"}`)
	s.ok("sweep", `{"at": "100..10k/5", "together": true}`)
	s.idle()
	s.reading("rain-contact", "contact 2", "wet")
	return s
}

const scriptLabel = `<img src=x onerror="document.title='owned'"><script>document.title='owned'</script>`

// A part is looked up and opened, its history is drawn, its note is changed, and back
// leads to where one came from.
func TestBrowserNotebook(t *testing.T) {
	t.Parallel()
	p := openTab(t, 1280, 800, "light")
	s := remembered(t)
	p.open(s.url + "/")
	p.click(`nav a[href="/notebook"]`)
	p.at("/notebook")
	p.shows("#count", "29 entries")
	p.wait("months are headings, and kinds are there to be chosen")(`document.querySelectorAll("#entries .month").length > 1 && [...document.querySelectorAll("#kind option")].map(o => o.value).join() === ",calibration,reading,sweep"`)
	p.wait("the label that is a script is a text")(`[...document.querySelectorAll("#entries b")].some(b => b.textContent === ` + quoted(scriptLabel) + `)`)

	p.value("#text", "bag")
	p.click("#find")
	p.shows("#count", "1 entry found")
	p.click("#entries .line")
	p.wait("the entry is unfolded, with its history")(`location.search.includes("entry=") && document.querySelectorAll(".entry .past-reading").length == 25 && document.querySelectorAll(".entry .error-bar").length == 25 && document.querySelector(".entry .trend-line") && document.querySelector(".entry .band")`)
	p.shows(".entry-value", " nF")
	p.shows(".past-words", "falls")
	p.shows(".entry", "calibration: calibration.json")
	p.wait("the report and the recording are to be had")(`document.querySelector('.entry a[href$="/report"]') && document.querySelector('.entry a[href^="/api/recordings/"]')`)

	p.click("#entry-note")
	p.key(" after the heat test")
	s.reading("pull-up", "another bag", "") // which the list shows at once
	p.shows("#count", "2 entries found")
	p.wait("who types is not disturbed")(`document.activeElement.id === "entry-note" && document.activeElement.value.endsWith("after the heat test")`)
	p.click("#describe-go")
	p.shows("#describe [role=status]", "Saved.")
	p.shows("#entries li:last-child .line .note", "after the heat test")
	p.eval(`history.back()`)
	p.wait("it is folded")(`!document.querySelector(".entry") && !location.search.includes("entry=")`)
	p.eval(`history.back()`)
	p.shows("#count", "30 entries")
	p.shows("#entries", "after the heat test")
	if p.holds(`document.title.includes("owned") || document.querySelector("#entries img")`) {
		t.Error("a label has become markup")
	}

	p.open(s.url + "/notebook?label=C7&since=10d")
	p.wait("the history of the label stands above the list")(`!document.querySelector("#past").hidden && document.querySelectorAll("#past .past-reading").length == 7`)
	p.shows("#count", "7 entries found")
	p.open(s.url + "/notebook?kind=sweep&entry=2")
	p.shows("#count", "1 entry found")
	p.shows(".elsewhere", "Close entry 2") // it is not among those that were looked for
	p.quiet()
}

// An entry is found and opened, and its note kept, by keyboard alone.
func TestBrowserNotebookByKeyboard(t *testing.T) {
	t.Parallel()
	p := openTab(t, 1280, 800, "light")
	s, file := noted(t)
	measure, _ := sample(t)
	repeated(t, file, measure, "C7", []float64{1e-7}, time.Second)
	repeated(t, file, measure, "R3", []float64{2e-7}, time.Second)
	p.open(s.url + "/notebook")
	p.shows("#count", "2 entries")
	p.tabTo("#text")
	p.key("C7" + kb.Enter)
	p.shows("#count", "1 entry found")
	p.tabTo("#entries .line")
	p.key(kb.Enter)
	p.shows(".entry-value", "nF")
	p.tabTo("#entry-note")
	p.key("by hand")
	p.tabTo("#describe-go")
	p.key(kb.Enter)
	p.shows("#describe [role=status]", "Saved.")
	p.shows("#entries .line .note", "by hand")
	p.quiet()
}

// Trouble with the notebook is told where one looks things up, with the readings of the
// folder, and is over when it is over.
func TestBrowserNotebookTrouble(t *testing.T) {
	t.Parallel()
	p := openTab(t, 1280, 800, "dark")
	s, file := noted(t)
	s.reading("valve-snubber", "C7", "")
	mend := replaced(t, file, []byte("this is no notebook, whatever its name says"))
	p.open(s.url + "/notebook")
	p.shows("#trouble-text", "move it elsewhere")
	p.wait("the readings of the folder are there")(`document.querySelector("#kept").open && document.querySelectorAll("#readings tbody tr").length == 1`)
	p.picture("notebook-trouble-1280-dark")
	mend()
	p.click("#retry")
	p.shows("#count", "1 entry")
	p.wait("the trouble is over")(`document.querySelector("#trouble").hidden`)
	p.quiet("503")
}

// An opened entry at the sizes of a desk and a pocket, and in the dark: nothing wider
// than the screen, nothing too small for a finger, no serious obstacle.
func TestBrowserNotebookLook(t *testing.T) {
	t.Parallel()
	axe := readAxe(t)
	s := remembered(t)
	for _, size := range []struct {
		name       string
		wide, high int64
		look       string
	}{{"1280-light", 1280, 800, "light"}, {"390-light", 390, 844, "light"}, {"1280-dark", 1280, 800, "dark"}} {
		p := openTab(t, size.wide, size.high, size.look)
		p.load(axe)
		pages := []struct{ name, query, drawn string }{
			{"reading", "?entry=2", ".entry .past-picture .trend-line"}, {"sweep", "?kind=sweep&entry=28", ".entry tbody tr"}, {"label", "?label=C7", "#past .past-picture .trend-line"},
		}
		if size.look == "dark" && *shots == "" {
			pages = pages[:1] // what differs are colours
		}
		for _, page := range pages {
			p.open(s.url + "/notebook" + page.query)
			p.wait("it is there")(`document.querySelector(` + quoted(page.drawn) + `)`)
			what := "notebook-" + page.name + "-" + size.name
			p.picture(what)
			if p.holds(`document.documentElement.scrollWidth > innerWidth`) {
				t.Errorf("%s is wider than the screen", what)
			}
			if small := p.tells(`[...document.querySelectorAll("main a, main button, main input, main select, main textarea, main summary")].filter(n => n.getClientRects().length && n.getBoundingClientRect().height < (innerWidth > 768 ? 29.5 : 43.5)).map(n => n.outerHTML.slice(0, 80)).join("; ")`); small != "" {
				t.Errorf("%s: too low to be hit: %.200s", what, small)
			}
			if size.wide > 1000 && page.name == "reading" { // the others have the same elements
				p.accessible(what)
			}
		}
		p.quiet()
	}
}

// Whoever prints an opened entry gets that one, without what is for the screen.
func TestBrowserNotebookPrinted(t *testing.T) {
	t.Parallel()
	p := openTab(t, 800, 1100, "light")
	s, file := noted(t)
	measure, _ := sample(t)
	repeated(t, file, measure, "C7", []float64{1e-7}, time.Second)
	repeated(t, file, measure, "R3", []float64{2e-7}, time.Second)
	p.open(s.url + "/notebook?entry=1")
	p.shows(".entry-value", "nF")
	if _, err := chromedp.Call(p.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"}); err != nil {
		t.Fatal(err)
	}
	p.picture("notebook-printed")
	if got := p.tells(`[...document.querySelectorAll("#entries > li[data-id]")].filter(n => n.getClientRects().length).map(n => n.dataset.id).join()`); got != "1" {
		t.Errorf("printed are the entries %s", got)
	}
	if got := p.tells(`[...document.querySelectorAll("form, nav, button, summary")].filter(n => n.getClientRects().length).map(n => n.outerHTML.slice(0, 60)).join()`); got != "" {
		t.Errorf("printed are %s", got)
	}
	p.quiet()
}

// tells is what a script on the page gives.
func (p *tabPage) tells(script string) string {
	p.t.Helper()
	text, err := chromedp.Run(p.ctx, chromedp.Evaluate[string](script))
	if err != nil {
		p.t.Fatal(err)
	}
	return text
}

// An entry is deleted, missed, and put back; what is listed and what is open can be had
// as files; a sweep opens with its curve.
func TestBrowserNotebookDelete(t *testing.T) {
	t.Parallel()
	p := openTab(t, 390, 844, "light")
	s, _ := noted(t)
	s.calibrateBySelf("20..20k/7")
	s.reading("valve-snubber", "C7", "")
	s.ok("tray/part", `{"name": "valve-coil"}`)
	s.ok("sweep", `{"at": "100..10k/5", "together": true}`)
	s.idle()
	p.open(s.url + "/notebook")
	p.shows("#count", "3 entries")
	p.eval(`Promise.all(["csv", "json"].map(f => fetch(document.querySelector("#export-" + f).href).then(r => r.text()))).then(t => { window.files = t.map(x => x.trim().split("\n").length) })`)
	p.wait("the list is to be had as files")(`window.files?.[0] === 7 && window.files[1] >= 3`)
	p.click("#entries li[data-id] .line")
	p.wait("a sweep has its curve")(`document.querySelector(".entry-curve .chart-svg .trace")`)
	p.eval(`fetch(document.querySelector('.entry a[href$="/report"]').href).then(r => r.text()).then(t => { window.report = t })`)
	p.wait("it has a report")(`window.report?.includes("valve-coil")`)
	p.click("#delete")
	p.shows("#notice", "is deleted")
	p.shows("#count", "2 entries")
	p.click("#notice button")
	p.shows("#count", "3 entries")
	p.wait("it is open again")(`document.querySelector(".entry-curve .chart-svg .trace")`)
	p.quiet()
	s.ok("notebook/1/remove", `{}`)
	for path, want := range map[string]int{"notebook/1/remove": 404, "notebook/9/restore": 404, "notebook/x/remove": 404} {
		if status, text := s.call("POST", "/api/"+path, `{}`); status != want {
			t.Errorf("%s: %d %s, want %d", path, status, text, want)
		}
	}
	for _, path := range []string{"export/pdf", "export/csv?entries=1,x"} {
		if status, _ := s.call("GET", "/api/notebook-"+path, ""); status != 404 && status != 400 {
			t.Errorf("%s: %d", path, status)
		}
	}
}
