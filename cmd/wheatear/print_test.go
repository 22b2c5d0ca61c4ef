package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"example.org/wheatear/cmd/wheatear/internal/clitest"
)

var sheets = flag.String("sheets", "", "keep the reports and their prints in this `directory`")

const printedJig = `name = "kitchen-table jig"
channels = ["total", "part"]
reference = "1k"
reference_tolerance = "0.1%"
full_scale = "1.2V"
mains = 50
[card]
backend = "virtual"
rate = 48000
seconds = 0.4
[virtual]
tray = "tray.toml"
`

const printedTray = `[[part]]
name = "coil"
circuit = "(R 33 + L 92m) // C 1.1n // R 220k"
[[part]]
name = "rail"
circuit = "(R 0.12 + C 96u) // R 150"
[[part]]
name = "class2"
[[part.ceramic]]
capacitance = "220n"
volt = "3"
[faults]
noise = ["4u", "4u"]
bits = 24
`

// printed are the reports, and the commands that write them. All are of one style: the
// first four go on both papers, the others on one of them in turn, and on both with -soak.
var printed = []struct{ name, line string }{
	{"reading", "measure --jig jig.toml --calibration cal.json --at 1k --part coil --report reading.html"},
	{"readings", "measure --jig jig.toml --calibration cal.json --at 100,1k,10k --part coil --expect 92mH/5% --report readings.html"},
	{"sweep", "sweep --jig jig.toml --calibration cal.json --at 20..20k/61 --together --part coil --touchstone coil.s1p --report sweep.html"},
	{"verify", "verify --jig jig.toml --load 1k/0.1% --seconds 3 --report verify.html"},
	{"fit", "fit --jig jig.toml --calibration cal.json --part coil --circuit inductor --circuit air-coil --report fit.html"},
	{"fit-file", "fit --touchstone coil.s1p --circuit air-coil --report fit-file.html"},
	{"identify", "identify --thorough --jig jig.toml --calibration cal.json --part coil --report identify.html"},
	{"incircuit", "incircuit --jig jig.toml --calibration cal.json --expect 100u --rated 25V --part rail --report incircuit.html"},
	{"level", "level --jig jig.toml --calibration cal.json --at 300 --part class2 --steps 4 --report level.html"},
	{"sort", "sort --jig jig.toml --calibration cal.json --at 1k --expect 92mH/5% --bins 1%,2%,5% --csv lot.csv --report sort.html --part coil --part coil --part rail"},
	{"compare", "compare --jig jig.toml --calibration cal.json --at 100,1k,10k --good-part coil --part class2 --report compare.html"},
	{"plan", "plan --jig jig.toml --expect 22uH --want 1% --report plan.html"},
}

// Every report prints on both papers: nothing beyond the right edge, no row of a table
// and no figure on two sheets, the heads of tables on each sheet that they go on to,
// sheets counted, nothing that only a background or a colour shows, and nothing loaded
// from elsewhere.
func TestReportsPrint(t *testing.T) {
	tab := clitest.Browser(t)
	pdftotext := clitest.Program(t, "pdftotext", "poppler-utils")
	dir := t.TempDir()
	if *sheets != "" {
		dir = *sheets
	}
	t.Chdir(dir)
	for name, text := range map[string]string{"jig.toml": printedJig, "tray.toml": printedTray} {
		if err := os.WriteFile(name, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	if status, _, talk := command(strings.Fields("calibrate --jig jig.toml --at 20..20k/31 --load 1k/0.1% --out cal.json")...); status != 0 {
		t.Fatal(talk)
	}
	for i, r := range printed {
		if status, _, talk := command(strings.Fields(r.line)...); status == 1 || status == 2 {
			t.Fatalf("%s: status %d: %s", r.line, status, talk)
		}
		file, err := filepath.Abs(r.name + ".html")
		if err != nil {
			t.Fatal(err)
		}
		for k, paper := range []string{"A4", "Letter"} {
			if i >= 4 && i%2 != k && !*soak {
				continue
			}
			size := map[string]chromedp.PaperSize{"A4": chromedp.PaperA4, "Letter": chromedp.PaperLetter}[paper]
			p := &printout{t: t, name: r.name + " on " + paper, tab: tab}
			p.open(file, size)
			p.look()
			pdf := r.name + "-" + paper + ".pdf"
			p.print(pdf, size)
			p.read(pdftotext, pdf)
			p.check()
		}
	}
}

// printout is a report on paper.
type printout struct {
	t     *testing.T
	name  string
	tab   context.Context
	pages []string // the text of each
	seen  shown
}

// shown is what a page holds, as the browser has it.
type shown struct {
	Right    float64 // how far anything goes beyond the right edge, CSS pixels
	Worst    string  // what goes there
	Loaded   []string
	Elements []string // that could load something
	Pale     []string // texts that can hardly be read on white paper
	Tables   []struct {
		Head []string
		Rows [][]string
	}
	Figures [][]string // the words of each
}

// margins of the sheets, as in the style of reports.
const marginInches = 16 / 25.4

// open opens the report as it is laid out for the paper.
func (p *printout) open(file string, size chromedp.PaperSize) {
	p.t.Helper()
	const perInch = 96
	media := emulation.SetEmulatedMediaParams{Media: "print"}
	if _, err := chromedp.Call(p.tab, emulation.SetEmulatedMedia, media); err != nil {
		p.t.Fatal(err)
	}
	wide := int64((size.Width - 2*marginInches) * perInch)
	ctx, cancel := context.WithTimeout(p.tab, time.Minute)
	defer cancel()
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(wide, 1000), chromedp.Navigate("file://"+file)); err != nil {
		p.t.Fatal(err)
	}
}

// look asks the browser what there is.
func (p *printout) look() {
	p.t.Helper()
	const script = `(() => {
	const words = n => n.textContent.trim().split(/\s+/).filter(w => w);
	const out = {Right: -1e9, Worst: "", Loaded: performance.getEntriesByType("resource").map(e => e.name),
		Elements: [...document.querySelectorAll("script, link, img, iframe, object, embed, video, audio, image, use, [src], [href], [srcset]")].map(n => n.outerHTML.slice(0, 80)),
		Pale: [], Tables: [], Figures: []};
	const light = c => { c = c / 255; return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4; };
	for (const n of document.body.querySelectorAll("*")) {
		const right = n.getBoundingClientRect().right - document.documentElement.clientWidth;
		if (right > out.Right) { out.Right = right; out.Worst = n.outerHTML.slice(0, 80); }
		const own = [...n.childNodes].some(x => x.nodeType === 3 && x.textContent.trim());
		const style = getComputedStyle(n), ink = n instanceof SVGElement ? style.fill : style.color;
		const [r, g, b] = (ink.match(/[\d.]+/g) ?? [0, 0, 0]).map(Number);
		const contrast = 1.05 / (0.2126 * light(r) + 0.7152 * light(g) + 0.0722 * light(b) + 0.05);
		if (own && contrast < 4.5) out.Pale.push(n.textContent.trim() + " " + ink);
	}
	for (const t of document.querySelectorAll("table"))
		out.Tables.push({Head: [...t.querySelectorAll("thead th")].flatMap(words), Rows: [...t.querySelectorAll("tbody tr")].map(r => [...r.children].flatMap(words))});
	for (const f of document.querySelectorAll("figure")) out.Figures.push([...f.querySelectorAll("text, figcaption")].flatMap(words));
	return out;
	})()`
	ctx, cancel := context.WithTimeout(p.tab, time.Minute)
	defer cancel()
	var err error
	if p.seen, err = chromedp.Run(ctx, chromedp.Evaluate[shown](script)); err != nil {
		p.t.Fatal(err)
	}
}

// print prints it into a file.
func (p *printout) print(file string, size chromedp.PaperSize) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.tab, time.Minute)
	defer cancel()
	pdf, err := chromedp.Run(ctx, chromedp.PrintToPDF(chromedp.PDFPaper(size)))
	if err == nil {
		err = os.WriteFile(file, pdf, 0o666)
	}
	if err != nil {
		p.t.Fatal(err)
	}
}

// read reads the text of each sheet.
func (p *printout) read(pdftotext, file string) {
	p.t.Helper()
	text, err := exec.Command(pdftotext, "-layout", file, "-").Output()
	if err != nil {
		p.t.Fatal(err)
	}
	p.pages = strings.Split(strings.TrimSuffix(string(text), "\f"), "\f")
}

// check judges it.
func (p *printout) check() {
	if p.seen.Right > 0.5 {
		p.t.Errorf("%s: %.0f pixels beyond the right edge: %s", p.name, p.seen.Right, p.seen.Worst)
	}
	if len(p.seen.Loaded)+len(p.seen.Elements) > 0 {
		p.t.Errorf("%s: it is not alone: %q %q", p.name, p.seen.Loaded, p.seen.Elements)
	}
	if len(p.seen.Pale) > 0 {
		p.t.Errorf("%s: pale on white paper: %q", p.name, p.seen.Pale)
	}
	if len(p.seen.Tables) == 0 || len(p.seen.Figures) == 0 && !strings.HasPrefix(p.name, "compare") {
		p.t.Errorf("%s: %d tables, %d figures", p.name, len(p.seen.Tables), len(p.seen.Figures))
	}
	for i, text := range p.pages {
		if !regexp.MustCompile(fmt.Sprintf(`\b%d ?/ ?%d\s*$`, i+1, len(p.pages))).MatchString(text) {
			p.t.Errorf("%s: sheet %d of %d is not counted", p.name, i+1, len(p.pages))
		}
		if used := len(strings.Fields(text)); used < 6 {
			p.t.Errorf("%s: sheet %d holds %d words only", p.name, i+1, used)
		}
	}
	for _, f := range p.seen.Figures {
		p.on("the figure", f)
	}
	for _, table := range p.seen.Tables {
		first, last := len(p.pages), -1
		for _, row := range table.Rows {
			if at := p.on("the row", row); len(at) == 1 { // else its words are elsewhere too
				first, last = min(first, at[0]), max(last, at[0])
			}
		}
		for i := first; i <= last; i++ {
			if !holds(p.pages[i], table.Head) {
				p.t.Errorf("%s: a table on sheet %d has lost its head %q", p.name, i+1, table.Head)
			}
		}
	}
}

// on are the sheets that hold all words of something, counted from 0.
func (p *printout) on(what string, words []string) []int {
	p.t.Helper()
	var at []int
	for i, text := range p.pages {
		if holds(text, words) {
			at = append(at, i)
		}
	}
	if len(at) == 0 {
		p.t.Errorf("%s: no sheet holds %s %q as a whole", p.name, what, words)
	}
	return at
}

// holds reports whether all words are in a text. Spaces do not count: whether there is
// one the reader of PDF files guesses from distances.
func holds(text string, words []string) bool {
	text = strings.Join(strings.Fields(text), "")
	return !slices.ContainsFunc(words, func(w string) bool { return !strings.Contains(text, w) })
}
