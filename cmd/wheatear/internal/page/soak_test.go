package page

import (
	"io"
	"math"
	"os"
	"runtime"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/heapprofiler"
	runtimeproto "github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// usage is what the process has taken at a moment.
type usage struct {
	cpu        time.Duration
	heap       float64 // bytes
	resident   float64 // bytes; 0 where the system does not tell
	goroutines float64
	updates    int64
}

func used(s *served) usage {
	runtime.GC()
	var mem runtime.MemStats
	runtime.ReadMemStats(&mem)
	var r syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &r); err != nil {
		s.t.Fatal(err)
	}
	return usage{
		cpu:  time.Duration(r.Utime.Nano() + r.Stime.Nano()),
		heap: float64(mem.HeapAlloc), resident: resident(), goroutines: float64(runtime.NumGoroutine()), updates: s.counts.updates.Load(),
	}
}

// resident is what of the process is in memory.
func resident() float64 {
	text, err := os.ReadFile("/proc/self/statm")
	if err != nil {
		return 0
	}
	fields := strings.Fields(string(text))
	pages, err := strconv.ParseFloat(fields[1], 64)
	if err != nil {
		return 0
	}
	return pages * float64(os.Getpagesize())
}

// most is the larger of each that must not grow; counts are those of the last.
func (u usage) most(v usage) usage {
	v.heap, v.resident, v.goroutines = math.Max(u.heap, v.heap), math.Max(u.resident, v.resident), math.Max(u.goroutines, v.goroutines)
	return v
}

// over takes the most of a while. Within a round memory grows with the stream, so that
// it must be looked at often: at intervals of 5 s the most of a round would differ by a
// tenth of itself from one time to the next. What looks as well is called every 5 s.
func over(s *served, length time.Duration, look func()) usage {
	const round = streamSeconds * time.Second // a stream, which is in memory while it lasts
	most := usage{}
	for range int(length / round) {
		for k := range 30 {
			time.Sleep(round / 30)
			most = most.most(used(s))
			if k%5 == 4 {
				look()
			}
		}
	}
	return most
}

// grown fails for anything that is more than 5 % above what it was.
func grown(t *testing.T, name string, early, late float64) {
	t.Helper()
	t.Logf("%s: at the most %.4g early, %.4g late (%+.1f %%)", name, early, late, 100*(late/early-1))
	if late > 1.05*early {
		t.Errorf("%s has grown from %g to %g", name, early, late)
	}
}

// lively fails for more than a quarter of a core, and tells the pace.
func lively(t *testing.T, began, ended usage, took time.Duration) {
	t.Helper()
	share := float64(ended.cpu-began.cpu) / float64(took)
	t.Logf("%.1f %% of a core, %.2f readings a second in %s", 100*share, float64(ended.updates-began.updates)/took.Seconds(), took.Round(time.Second))
	if share > 0.25 {
		t.Errorf("%.1f %% of a core, want less than 25", 100*share)
	}
}

// soaked is a bench that reads live.
func soaked(t *testing.T) *served {
	t.Helper()
	if !*soak {
		t.Skip("takes ten minutes: -soak")
	}
	s := ready(t, Options{})
	s.calibrateBySelf("~1k")
	s.ok("tray/part", `{"name": "valve-snubber"}`)
	return s
}

// Ten minutes of live reading with a page that listens: under a quarter of a core, and
// nothing grows. Memory is compared over whole rounds of the stream, which is held
// while it lasts, and once the trend of five minutes is full.
func TestSoakLiveReading(t *testing.T) {
	s := soaked(t)
	resp, err := still.Get(s.url + "/api/events")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	go io.Copy(io.Discard, resp.Body)
	s.ok("live", `{"at": "~1k"}`)
	began, at := used(s), time.Now()
	early := over(s, 330*time.Second, func() {})
	late := over(s, 270*time.Second, func() {})
	lively(t, began, late, time.Since(at))
	grown(t, "heap", early.heap, late.heap)
	grown(t, "resident memory", early.resident, late.resident)
	grown(t, "goroutines", early.goroutines, late.goroutines)
}

// tabUsage is what a page has taken.
type tabUsage struct{ heap, nodes, drawn float64 }

func (p *tabPage) used() tabUsage {
	p.t.Helper()
	if _, err := chromedp.Call(p.ctx, heapprofiler.CollectGarbage, cdp.Empty{}); err != nil {
		p.t.Fatal(err)
	}
	heap, err := chromedp.Call(p.ctx, runtimeproto.GetHeapUsage, cdp.Empty{})
	if err != nil {
		p.t.Fatal(err)
	}
	counts, err := chromedp.Run(p.ctx, chromedp.Evaluate[[]float64](`[document.querySelectorAll("*").length, window.drawn ?? 0]`))
	if err != nil {
		p.t.Fatal(err)
	}
	return tabUsage{heap.UsedSize, counts[0], counts[1]}
}

func (u tabUsage) most(v tabUsage) tabUsage {
	return tabUsage{math.Max(u.heap, v.heap), math.Max(u.nodes, v.nodes), v.drawn}
}

// Nine minutes of live reading in a tab of a browser: it keeps up, and neither the
// program nor the page grows once the trend is full.
func TestSoakLiveInBrowser(t *testing.T) {
	s := soaked(t)
	p := openTab(t, 1280, 800, "light")
	p.open(s.url + "/")
	p.click("#go")
	p.wait("it reads")(`document.querySelector("#figure .digits").textContent !== ""`)
	p.eval(`(window.drawn = 0, new MutationObserver(() => window.drawn++).observe(document.querySelector(".arrow line"), {attributes: true}))`)
	began, first, at := used(s), p.used(), time.Now()
	watch := func(length time.Duration) (u usage, page tabUsage) {
		u = over(s, length, func() { page = page.most(p.used()) })
		return u, page
	}
	early, earlyPage := watch(330 * time.Second)
	late, latePage := watch(210 * time.Second)
	took := time.Since(at)
	lively(t, began, late, took)
	pace := (latePage.drawn - first.drawn) / took.Seconds()
	t.Logf("the page has drawn %.2f readings a second", pace)
	if made := float64(late.updates-began.updates) / took.Seconds(); pace < 0.95*made {
		t.Errorf("the page has drawn %.2f readings a second of %.2f", pace, made)
	}
	grown(t, "heap", early.heap, late.heap)
	grown(t, "goroutines", early.goroutines, late.goroutines)
	grown(t, "heap of the page", earlyPage.heap, latePage.heap)
	grown(t, "elements of the page", earlyPage.nodes, latePage.nodes)
	p.quiet()
}
