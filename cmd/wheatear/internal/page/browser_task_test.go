package page

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"testing"

	"github.com/chromedp/chromedp/kb"
)

// speaking is a command that asks, and then gives what the real one printed of a jig
// with a name that looks like markup, and of the answer.
func speaking(_ context.Context, e Errand) int {
	fmt.Fprintln(e.Talk, "JOINED: put both inputs on one node.")
	answer := make([]byte, 8)
	n, _ := e.In.Read(answer)
	text, err := os.ReadFile("testdata/verify.json")
	if err != nil {
		return 1
	}
	jig := fmt.Sprintf("<b>plain</b>, told %q and answered %q", e.Args[3:], answer[:n])
	name, _ := json.Marshal(jig)
	text = bytes.Replace(text, []byte(`"demo jig"`), name, 1)
	e.Out.Write(bytes.Replace(text, []byte(`"verdict": "pass"`), []byte(`"verdict": "fail"`), 1))
	return 4
}

// documented is a command that gives what the real one printed, where that is kept in
// testdata, and else asks as speaking does.
func documented(ctx context.Context, e Errand) int {
	text, err := os.ReadFile("testdata/" + e.Args[0] + ".json")
	if err != nil {
		return speaking(ctx, e)
	}
	e.Out.Write(text)
	return 0
}

// What a task asks is shown and answered on its page; its result is text, never markup.
func TestBrowserTask(t *testing.T) {
	p := openTab(t, 390, 844, "dark")
	s := ready(t, Options{Command: speaking, Commands: []string{"verify"}})
	p.open(s.url + "/verify")
	p.value("#loads", "1k/0.1%, 100/0.1%")
	p.click("#task .main")
	p.shows("#talk", "JOINED: put both inputs on one node.")
	p.click(`[data-answer="s"]`)
	p.shows("#jig-told", "Faults found")
	p.shows("#jig-about", `<b>plain</b>, told ["--load=1k/0.1%" "--load=100/0.1%"`)
	p.shows("#jig-about", `answered "s\n"`)
	p.quiet()
}

// A spot in a board: what is told of it stands large, with what it rests on; asking is
// done by keyboard alone.
func TestBrowserInCircuit(t *testing.T) {
	t.Parallel()
	p := openTab(t, 1280, 800, "light")
	s := ready(t, Options{Command: documented, Commands: []string{"incircuit"}})
	p.open(s.url + "/incircuit")
	p.settledForm()
	p.tabTo("#expect")
	p.key("100n" + kb.Enter)
	p.shows("#spot-told", "Within: 98.08 ± 0.12 nF")
	p.wait("it is large")(`parseFloat(getComputedStyle(document.querySelector("#spot-told")).fontSize) > 40`)
	p.wait("each surroundings that agrees is drawn")(`document.querySelectorAll("#spot-leaves .span").length === 3`)
	p.wait("readings are drawn")(`(document.querySelector("#spot-curves .chart-svg .trace")?.getAttribute("d").split("L").length ?? 0) >= 30`)
	p.shows("#spot-facts", "What a single reading would have shown")
	p.quiet()
}

// Results that are told stand with their answer in its place; what is asked of each is
// filled in on its page.
func TestBrowserTold(t *testing.T) {
	t.Parallel()
	p := openTab(t, 390, 844, "light")
	s := ready(t, Options{Command: documented, Commands: []string{"identify", "level", "compare"}})
	for name, says := range map[string]string{"identify": "network", "level": "97.265 ± 0.094 nF", "compare": "differs"} {
		p.open(s.url + "/" + name)
		p.settledForm()
		p.click("#task .main")
		p.shows("#telling-head", says)
		p.shows("#telling-facts", "Findings")
	}
	p.open(s.url + "/compare")
	p.wait("the good part is chosen from the tray")(`document.querySelector("#good").options.length > 3`)
	if p.holds(`document.documentElement.scrollWidth > innerWidth`) {
		t.Error("wider than the screen")
	}
	p.quiet()
}
