package page

import (
	"fmt"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"os"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"example.org/wheatear/cmd/wheatear/internal/clitest"
)

// charts opens a page that holds nothing but a chart of two invented coils, under the
// page's own rules for scripts.
func charts(t *testing.T, wide, high int64, look string) *tabPage {
	t.Helper()
	clitest.NeedBrowser(t)
	web, err := fs.Sub(webFiles, "web")
	if err != nil {
		t.Fatal(err)
	}
	cases, err := os.ReadFile("../plot/testdata/ticks.json")
	if err != nil {
		t.Fatal(err)
	}
	mux := http.NewServeMux()
	mux.Handle("/web/", http.StripPrefix("/web/", http.FileServerFS(web)))
	mux.Handle("/try/", http.StripPrefix("/try/", http.FileServer(http.Dir("testdata/chart"))))
	mux.HandleFunc("/try/ticks.json", func(w http.ResponseWriter, _ *http.Request) { w.Write(cases) })
	srv := httptest.NewServer(headers(mux))
	t.Cleanup(srv.Close)
	p := openTab(t, wide, high, look)
	p.open(srv.URL + "/try/chart.html")
	p.wait("the chart is drawn")(`window.chart && document.querySelector(".chart-svg .tick")`)
	return p
}

// Whatever is zoomed to, three labels or more, all within, no two alike.
func TestBrowserTicks(t *testing.T) {
	t.Parallel()
	p := charts(t, 1000, 800, "light")
	p.wait("all cases have been compared")(`window.comparedTicks !== undefined`)
	if text := p.text("#cases"); text != "" {
		t.Error(text)
	}
	count := 20_000
	if *soak {
		count = 200_000
	}
	p.eval(fmt.Sprintf(`window.tried = manyTicks(%d)`, count))
	p.wait("they have been tried")(`window.tried`)
	if p.holds(`tried.bad.length`) {
		t.Errorf("of %s ranges these are wrong: %s", p.textOf(`String(tried.count)`), p.textOf(`tried.bad.slice(0, 5).join("; ")`))
	}
	p.quiet()
}

// textOf is what a script gives, as text.
func (p *tabPage) textOf(script string) string {
	p.t.Helper()
	text, err := chromedp.Run(p.ctx, chromedp.Evaluate[string](script))
	if err != nil {
		p.t.Fatal(err)
	}
	return text
}

// mouse sends a movement of the mouse, with or without its button.
func (p *tabPage) mouse(kind input.DispatchMouseEventType, x, y float64, held bool) {
	p.t.Helper()
	e := input.DispatchMouseEventParams{Type: kind, X: x, Y: y, Button: input.MouseButtonNone}
	if held {
		e.Button, e.Buttons, e.ClickCount = input.MouseButtonLeft, 1, 1
	}
	if _, err := chromedp.Call(p.ctx, input.DispatchMouseEvent, e); err != nil {
		p.t.Fatal(err)
	}
}

func (p *tabPage) touch(kind input.DispatchTouchEventType, points ...*input.TouchPoint) {
	p.t.Helper()
	if points == nil {
		points = []*input.TouchPoint{}
	}
	if _, err := chromedp.Call(p.ctx, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: kind, TouchPoints: points}); err != nil {
		p.t.Fatal(err)
	}
}

// By mouse, by keys and by a screen reader's slider: to read, to hold, to zoom, to return.
func TestBrowserChart(t *testing.T) {
	t.Parallel()
	p := charts(t, 1000, 900, "light")
	p.picture("chart-light")
	p.mouse(input.DispatchMouseEventTypeMouseMoved, 400, 300, false)
	p.wait("the cursor is on a measured point")(`measured(chart.cursor)`)
	p.shows(".chart-read", "valve coil 3")
	p.shows(".chart-read .difference", "%")
	p.mouse(input.DispatchMouseEventTypeMouseMoved, 700, 300, false)
	p.wait("it follows")(`chart.cursor > 1000`)
	p.mouse(input.DispatchMouseEventTypeMousePressed, 700, 300, true)
	p.mouse(input.DispatchMouseEventTypeMouseReleased, 700, 300, true)
	p.eval(`window.kept = chart.cursor`)
	p.mouse(input.DispatchMouseEventTypeMouseMoved, 300, 300, false)
	p.wait("a click holds it")(`chart.cursor === kept && document.querySelector(".pin")`)
	p.key(kb.ArrowRight)
	p.wait("arrows go to the next point")(`chart.cursor > kept && measured(chart.cursor)`)
	p.key(kb.Home)
	p.wait("Home goes to the first")(`chart.cursor === 20`)
	if !p.holds(`(s => s.getAttribute("role") === "slider" && s.getAttribute("aria-valuetext").includes("valve coil 2: |Z|"))(document.querySelector(".chart-svg"))`) {
		t.Error("a screen reader is told: " + p.textOf(`document.querySelector(".chart-svg").getAttribute("aria-valuetext")`))
	}
	p.mouse(input.DispatchMouseEventTypeMousePressed, 400, 300, true)
	p.mouse(input.DispatchMouseEventTypeMouseMoved, 500, 300, true)
	p.mouse(input.DispatchMouseEventTypeMouseReleased, 500, 300, true)
	p.wait("dragging zooms")(`chart.view[1] / chart.view[0] < 10`)
	p.eval(`window.was = chart.view[1] / chart.view[0]`)
	p.picture("chart-zoomed")
	p.key("+")
	p.wait("plus goes further in")(`chart.view[1] / chart.view[0] < was`)
	if n := p.textOf(`String(document.querySelectorAll(".chart-svg .tick.mid").length)`); n == "0" || n == "1" || n == "2" {
		t.Errorf("zoomed in there are %s labels along the bottom", n)
	}
	p.key("0")
	p.wait("0 shows all")(`chart.view[1] / chart.view[0] > 900`)
	p.key(kb.Escape)
	p.wait("Escape lets go")(`chart.cursor === null`)
	p.click(`.chart-keys li:nth-child(2) .key`)
	p.wait("a key hides its curve")(`!document.querySelector(".chart-svg .tone-b") && document.querySelector('.key[aria-pressed="false"]')`)
	p.quiet()
}

func TestBrowserChartTouched(t *testing.T) {
	t.Parallel()
	p := charts(t, 390, 844, "dark")
	p.picture("chart-390-dark")
	at := func(id, x float64) *input.TouchPoint { return &input.TouchPoint{ID: &id, X: x, Y: 300} }
	p.touch(input.DispatchTouchEventTypeTouchStart, at(0, 150))
	p.touch(input.DispatchTouchEventTypeTouchEnd)
	p.wait("a tap holds a point")(`measured(chart.cursor) && document.querySelector(".pin")`)
	p.touch(input.DispatchTouchEventTypeTouchStart, at(0, 180), at(1, 220))
	p.touch(input.DispatchTouchEventTypeTouchMove, at(0, 160), at(1, 240))
	p.touch(input.DispatchTouchEventTypeTouchMove, at(0, 100), at(1, 300))
	p.touch(input.DispatchTouchEventTypeTouchEnd)
	p.wait("two fingers zoom")(`chart.view[1] / chart.view[0] < 900`)
	p.eval(`window.was = chart.view[0]`)
	p.touch(input.DispatchTouchEventTypeTouchStart, at(0, 300))
	p.touch(input.DispatchTouchEventTypeTouchMove, at(0, 270))
	p.touch(input.DispatchTouchEventTypeTouchMove, at(0, 240))
	p.touch(input.DispatchTouchEventTypeTouchEnd)
	p.wait("one finger pans")(`chart.view[0] > was`)
	p.quiet()
}

// A hundred steps of panning over 5,000 points; the pace is told, not judged.
func TestBrowserChartLong(t *testing.T) {
	t.Parallel()
	p := charts(t, 1000, 900, "light")
	p.eval(`window.pace = undefined, panLong(5000, 100).then((ms) => { window.pace = ms })`)
	p.wait("it has panned")(`window.pace !== undefined`)
	t.Logf("%s ms a frame", p.textOf(`pace.toFixed(1)`))
	if p.holds(`document.querySelector("#long .trace").getAttribute("d").length > 120000`) {
		t.Error("the long curve is not thinned to what pixels can show")
	}
	p.quiet()
}
