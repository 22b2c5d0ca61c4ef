package page

import (
	"testing"

	"github.com/chromedp/chromedp"
)

// A page that nobody sees stops listening; when it is looked at again it shows the
// present at once, without being loaded anew.
func TestBrowserPageAsleep(t *testing.T) {
	t.Parallel()
	p := openTab(t, 1280, 800, "light")
	s := ready(t, Options{})
	p.open(s.url + "/")
	p.click("#go")
	p.wait("it reads")(`document.querySelector("#figure .digits").textContent !== ""`)
	hide := func(hidden string) {
		p.eval(`(Object.defineProperty(document, "hidden", {configurable: true, get: () => ` + hidden + `}), document.dispatchEvent(new Event("visibilitychange")))`)
	}
	hide("true")
	s.until("nobody listens", func(*State) bool { return s.hub.count() == 0 })
	s.ok("tray/part", `{"name": "pull-up"}`)
	s.until("the other part is read", func(*State) bool {
		s.mu.Lock()
		defer s.mu.Unlock()
		return s.live.last != nil && s.live.last.Part == "pull-up"
	})
	if got := p.text("#part-name"); got == "pull-up" {
		t.Error("a page that is asleep was told")
	}
	hide("false")
	p.shows("#part-name", "pull-up")
	p.shows("#figure .digits", "kΩ")
	p.click("#go")
	p.shows("#past", "Not live")
	p.quiet()
}

// A refused reading shows no number where the value stands, and says why; so do an
// open and a reading that nothing was connected for.
func TestBrowserStatesOfAReading(t *testing.T) {
	t.Parallel()
	p := openTab(t, 1280, 800, "light")
	s := ready(t, Options{})
	s.calibrateBySelf("~1k")
	s.ok("live", `{"at": "~1k"}`)
	p.open(s.url + "/")
	for _, c := range []struct{ part, fault, figure, name string }{
		{"pull-up", "", "kΩ", "resistor: resistance"},
		{"open", "", ">", ""},
		{"valve-snubber", `"mono"`, "no value", "refused: mono"},
		{"valve-snubber", `"clipped"`, "no value", "refused: clipped"},
		{"valve-snubber", "", "nF", "capacitor: capacitance"},
	} {
		s.ok("tray/part", `{"name": "`+c.part+`"}`)
		s.ok("tray/faults", `{"on": [`+c.fault+`]}`)
		p.shows("#sentence .name", c.name)
		p.shows("#figure .digits", c.figure)
		bare, err := chromedp.Run(p.ctx, chromedp.Evaluate[bool](`/[0-9]/.test(document.querySelector("#figure .digits").textContent) && !/^[<>]/.test(document.querySelector("#figure .digits").textContent) && document.querySelector("#figure .half").textContent === ""`))
		if err != nil {
			t.Fatal(err)
		}
		if bare {
			t.Errorf("%s %s: a number stands there without its uncertainty", c.part, c.fault)
		}
	}
	// Read from two metres: a letter is 1/200 of the distance at least, 10 mm or 38
	// pixels of 1/96 inch (common practice, no source); capitals are 0.72 of the size.
	size := `(n => 0.72 * parseFloat(getComputedStyle(n).fontSize))(document.querySelector("#figure .digits"))`
	if !p.holds(size + ` >= 38`) {
		t.Error("the value is too small for two metres")
	}
	p.quiet()
}
