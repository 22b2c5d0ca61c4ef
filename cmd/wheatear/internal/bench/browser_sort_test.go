package bench

import (
	"fmt"
	"testing"
)

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
