package bench

import (
	"context"
	"fmt"
	"io"
	"testing"
)

// speaking is a command that asks, and says what it was told.
func speaking(_ context.Context, args []string, in io.Reader, out, talk io.Writer) int {
	fmt.Fprintln(talk, "JOINED: put both inputs on one node.")
	answer := make([]byte, 8)
	n, _ := in.Read(answer)
	fmt.Fprintf(out, "told %q and answered %q <b>plain</b>\n", args[3:], answer[:n])
	return 4
}

// Ten parts are sorted one after the other; each verdict fills the page.
func TestBrowserSortTenParts(t *testing.T) {
	t.Parallel()
	p := openTab(t, 1280, 800, "light")
	s := ready(t, Options{})
	s.calibrateBySelf("~1k")
	s.ok("tray/part", `{"name": "open"}`)
	p.open(s.url + "/sort")
	p.value("#expect", "1k/1%")
	p.click("#go")
	p.shows("#go", "Stop")
	for i, name := range []string{"load", "pull-up", "load", "soil-probe", "load", "timing-film", "load", "valve-coil", "load", "valve-snubber"} {
		p.choose("#tray-part", name)
		p.wait("it is counted")(fmt.Sprintf(`document.querySelectorAll("#lot tbody tr").length == %d`, i+1))
		want := "✗ fail"
		if name == "load" {
			want = "✓ pass"
		}
		p.shows("#lot tbody tr:first-child", want)
		if i < 2 {
			p.shows("#outcome", want)
			p.wait("it is large")(`document.querySelector("#outcome").getBoundingClientRect().height > 150`)
		}
	}
	p.shows("#n-pass", "5")
	p.shows("#n-fail", "5")
	p.quiet()
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
	p.shows("#task-text", `told ["--load=1k/0.1%" "--load=100/0.1%"] and answered "s\n" <b>plain</b>`)
	p.shows("#task-verdict", "There is something to mend")
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
	p.wait("it is a report")(`window.report?.includes("What the uncertainty is made of") && window.report.includes("</html>")`)
	p.quiet()
}
