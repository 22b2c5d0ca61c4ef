package page

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"example.org/wheatear/cmd/wheatear/internal/demo"
)

// press goes to an element with the tabulator and presses a key there.
func (p *tabPage) press(css, key string) {
	p.t.Helper()
	p.wait("it can be reached: " + css)(`(n => n && !n.disabled && n.getClientRects().length > 0)(document.querySelector(` + quoted(css) + `))`)
	p.tabTo(css)
	p.key(key)
}

// fill goes to a field and types in place of what is there.
func (p *tabPage) fill(css, text string) {
	p.t.Helper()
	p.tabTo(css)
	p.do(chromedp.Clear(chromedp.CSS(css)))
	p.key(text)
}

// Ten parts are sorted by the keyboard alone: each verdict fills the page, with its shape
// and its bin; what does not belong is named; the last part is taken back. The program is
// killed in the middle, and the lot goes on.
func TestBrowserSortTenParts(t *testing.T) {
	t.Parallel()
	p := openTab(t, 1280, 800, "light")
	b := &process{t: t, folder: t.TempDir(), address: free(t)}
	hasten(t, b.folder)
	resistors := ""
	for _, ohm := range []string{"1005", "994", "1030", "1002"} {
		resistors += fmt.Sprintf("[[part]]\nname = \"r%s\"\ncircuit = \"R %s\"\n\n", ohm, ohm)
	}
	tray := strings.Replace(string(demo.Tray), "# What the jig really is.", resistors, 1)
	if err := os.WriteFile(filepath.Join(b.folder, simulatedKey, "tray.toml"), []byte(tray), 0o666); err != nil {
		t.Fatal(err)
	}
	b.start()
	defer func() { b.kill() }()
	s := &served{t: t, url: "http://" + b.address}
	s.ok("cautions", `{}`)
	s.ok("jig", `{"key": "simulated"}`)
	s.ok("calibration", `{"at": "~1k", "loads": ["1k/0.1%"], "auto": true}`)
	p.open(s.url + "/calibrate")
	p.shows("#calibration-now", "with open, short, load")
	s.ok("tray/part", `{"name": "open"}`)

	p.open(s.url + "/sort")
	p.settledForm()
	p.fill("#expect", "1k/1%")
	p.fill("#bins", "0.1%,1%,5%")
	p.fill("#lot-name", "drawer 3")
	p.key(kb.Enter)
	p.shows("#go", "Stop")
	p.shows("#cue", "Put in part 1.")
	names := []string{"load", "r1005", "load", "r994", "pull-up", "load", "r1030", "load", "r1002", "load"}
	bins := map[string]string{"load": "0.1%", "r1005": "1%", "r994": "1%", "r1030": "5%", "r1002": "1%", "pull-up": "outside"}
	for i, name := range names {
		if i == 6 { // amid the run
			b.kill()
			p.shows("#owner", "no answer")
			b.start()
			p.wait("six parts are there still")(`document.querySelectorAll("#lot tbody tr").length == 6 && document.querySelector("#go").textContent == "Sort"`)
			s.ok("tray/part", `{"name": "open"}`)
			p.press("#go", kb.Enter)
			p.shows("#cue", "Put in part 7.")
		}
		s.ok("tray/part", `{"name": "`+name+`"}`)
		p.wait("it is counted")(fmt.Sprintf(`document.querySelectorAll("#lot tbody tr").length == %d && document.querySelector("#cue").dataset.stage == "counted"`, i+1))
		want := "pass"
		if name == "pull-up" || name == "r1030" {
			want = "fail"
		}
		p.shows("#word", want)
		p.shows("#bin", bins[name])
		p.shows("#lot tbody tr:first-child .ruled", want)
		if i == 0 || i == 4 {
			p.wait("it is large, with a shape of its own")(`document.querySelector("#outcome").getBoundingClientRect().height > 150 && document.querySelector("#sign .field").tagName == ` + quoted(map[string]string{"pass": "circle", "fail": "rect"}[want]))
			p.picture("sorting-" + want + "-1280-light")
		}
	}
	p.shows("#n-pass", "8")
	p.shows("#n-fail", "2")
	p.wait("what does not belong is marked, with the rule")(`document.querySelectorAll("#spread .cross").length >= 2 && document.querySelector("#left-out").textContent.includes("part 5: far from the others")`)
	p.wait("limits, mean and columns are drawn")(`document.querySelectorAll("#spread .boundary").length == 2 && document.querySelector("#spread .mean") && document.querySelectorAll("#spread .column").length > 1`)
	p.shows("#lot-lines", "standard deviation")
	p.shows("#bins-table tbody", "0.1%5")
	p.press("#back", kb.Enter)
	p.wait("the last is taken back")(`document.querySelectorAll("#lot tbody tr").length == 9 && document.querySelector("#n-pass").textContent == "7"`)
	p.downloads(9)
	p.picture("sorted-1280-light")
	p.press("#clear", kb.Enter)
	p.shows("#sure-text", "all 9 parts of drawer 3")
	p.key(kb.Enter) // it is asked first, and the answer that changes nothing is at hand
	p.wait("nothing is lost")(`!document.querySelector("#sure").open && document.querySelector("#n-parts").textContent == "9"`)
	p.press("#clear", kb.Enter)
	p.press("#sure-yes", kb.Enter)
	p.wait("the lot is empty")(`document.querySelectorAll("#lot tbody tr").length == 0 && document.querySelector("#n-parts").textContent == "0"`)
	p.press("#go", kb.Enter)
	p.shows("#owner", "card free")
	p.quiet("ERR_", "EventSource")
}

// downloads gets CSV and report by the links of the page.
func (p *tabPage) downloads(parts int) {
	p.t.Helper()
	p.eval(`Promise.all(["#to-csv", "#to-html"].map(l => fetch(document.querySelector(l).href).then(r => r.text()))).then(t => { window.files = t })`)
	p.wait("both are there")(`window.files?.length == 2`)
	text, err := chromedp.Run(p.ctx, chromedp.Evaluate[[]string](`window.files`))
	if err != nil {
		p.t.Fatal(err)
	}
	rows, err := csv.NewReader(strings.NewReader(text[0])).ReadAll()
	if err != nil || len(rows) != parts+1 || rows[0][0] != "number" || rows[5][10] != "fail" {
		p.t.Errorf("%v: %s", err, text[0])
	}
	for _, word := range []string{"9 parts for 1k/1%", "7 passed, 2 failed", "pull-up", "</html>"} {
		if !strings.Contains(text[1], word) {
			p.t.Errorf("the report does not say %q", word)
		}
	}
}

// What a person is asked and told while sorting fits a pocket, and the dark.
func TestBrowserSortInAPocket(t *testing.T) {
	t.Parallel()
	p := openTab(t, 390, 844, "dark")
	folder := t.TempDir()
	hasten(t, folder)
	bigLot(t, folder, 300)
	s := ready(t, Options{Folder: folder})
	s.ok("tray/part", `{"name": "open"}`)
	p.open(s.url + "/sort")
	p.wait("what was asked for before is filled in")(`document.querySelector("#expect").value == "1k/1%"`)
	p.click("#go")
	p.shows("#cue", "Put in part 301.")
	s.ok("tray/part", `{"name": "load"}`)
	p.shows("#cue", "Take it out, and put in part 302.")
	p.wait("the verdict is whole on the screen")(`(r => r.left >= 0 && r.right <= innerWidth)(document.querySelector("#word").getBoundingClientRect()) && document.documentElement.scrollWidth <= innerWidth`)
	p.picture("sorting-390-dark")
	p.wait("the buttons are large enough for a finger")(`[...document.querySelectorAll("main button, main .row a")].filter(n => n.getClientRects().length).every(n => n.getBoundingClientRect().height >= 44)`)
	s.ok("stop", `{}`)
	p.quiet()
}

// A lot of thousands is listed a page at a time.
func TestBrowserSortThousands(t *testing.T) {
	t.Parallel()
	p := openTab(t, 390, 844, "dark")
	folder := t.TempDir()
	hasten(t, folder)
	bigLot(t, folder, 3000)
	s := ready(t, Options{Folder: folder})
	p.open(s.url + "/sort")
	p.shows("#n-parts", "3000")
	p.shows("#paged", "parts 2951 to 3000 of 3000")
	p.click("#older")
	p.shows("#paged", "parts 2901 to 2950 of 3000")
	p.wait("fifty rows are there")(`document.querySelectorAll("#lot tbody tr").length == 50`)
	p.click("#newer")
	p.shows("#paged", "parts 2951 to 3000 of 3000")
	p.picture("sorted-390-dark")
	if p.holds(`document.documentElement.scrollWidth > innerWidth`) {
		t.Error("wider than the screen")
	}
	p.quiet()
}

// A report is downloaded from the page.
func TestBrowserReport(t *testing.T) {
	p := openTab(t, 1280, 800, "light")
	s := ready(t, Options{})
	s.ok("tray/part", `{"name": "valve-snubber"}`)
	s.ok("readings", `{"at": "~1k"}`)
	p.open(s.url + "/readings")
	p.wait("there is a report to be had")(`document.querySelector('#readings a[href$="/report"]')`)
	p.eval(`fetch(document.querySelector('#readings a[href$="/report"]').href).then(r => r.text()).then(t => { window.report = t })`)
	p.wait("it is a report")(`window.report?.includes("Uncertainty budget at") && window.report.includes("</html>")`)
	p.quiet()
}
