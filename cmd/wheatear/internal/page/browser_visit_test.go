package page

import (
	"context"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"
)

// A first visit: cautions, the simulated jig, a calibration by hand, three parts, a
// sweep. A label that is a script stays a text.
func TestBrowserFirstVisit(t *testing.T) {
	t.Parallel()
	p := openTab(t, 1280, 800, "light")
	s := serve(t, Options{Folder: t.TempDir()})
	p.open(s.url + "/")
	p.at("/start")
	p.shows("#cautions", "Capacitors are discharged")
	p.click("#confirm")
	p.click(`[data-jig="simulated"]`)
	p.shows("#jig-name", "Simulated jig")

	p.click(`#onward a[href="/calibrate"]`)
	p.at("/calibrate")
	p.value("#cal-at", "~126,~1k,~10k")
	p.click("#begin .main")
	for _, standard := range []string{"the open", "the short", "the load"} {
		p.shows("#verdict", "This may be "+standard)
		p.click("#record")
	}
	p.shows("#calibration-now", "with open, short, load 1k/0.1%")

	p.click(`nav a[href="/"]`)
	p.at("/")
	for i, part := range []struct{ name, unit string }{{"timing-film", "µF"}, {"valve-coil", "mH"}, {"pull-up", "kΩ"}} {
		p.choose("#tray-part", part.name)
		if i == 0 {
			p.click("#go")
		}
		p.shows("#part-name", part.name)
		p.wait("its value is at the arrow")(`document.querySelector("#figure .digits").textContent.endsWith("` + part.unit + `") && document.querySelector("#figure .half").textContent.startsWith("±")`)
		p.click("#keep")
		p.shows("#notice", fmt.Sprintf("Saved as no. %d: %s", i+1, part.name))
		p.shows("#go", "Stop")
	}
	p.wait("the budget has bars and the circuits elements")(`document.querySelectorAll("#budget .share").length > 0 && document.querySelectorAll("#series .element").length > 0 && document.querySelectorAll("#spectrum .chart-svg .trace").length == 2`)
	p.click("#go")
	p.shows("#owner", "card free")

	p.click(`nav a[href="/sweep"]`)
	p.at("/sweep")
	p.choose("#tray-part", "valve-coil")
	p.choose("#how", "together")
	p.value("#sweep-at", "100..10k/9")
	p.click("#go")
	p.wait("nine points are there")(`document.querySelectorAll("#points tbody tr").length == 9 && (document.querySelector("#curves path.dots")?.getAttribute("d").split("M").length ?? 0) >= 10`)

	p.click(`.views label:nth-of-type(3)`)
	p.wait("the inductance is drawn")(`[...document.querySelectorAll("#curves .axis-name")].some(n => n.textContent.startsWith("L, in series"))`)
	p.click(`.views label:nth-of-type(1)`)
	p.value("#circuit", "(R + L) // C")
	p.click("#fit-go")
	p.wait("a circuit is fitted and drawn")(`document.querySelectorAll("#fits li").length == 1 && document.querySelector("#fits p").textContent.includes("mH") && document.querySelectorAll("#curves .trace.fit").length == 2`)

	p.eval(`document.querySelector("#circuit").value = ""`)
	p.click("#fit-go")
	p.wait("it is told what the part is")(`document.querySelector("#identity-head").textContent !== "" && document.querySelectorAll("#identity-why li").length > 0`)
	p.picture("fitted-1280-light")

	const label = `<img src=x onerror="document.title='owned'"><script>document.title='owned'</script>`
	s.ok("readings", `{"at": "~1k", "part": `+quoted(label)+`}`)
	p.click(`nav a[href="/notebook"]`)
	p.wait("four readings are listed")(`document.querySelectorAll("#readings tbody tr").length == 4`)
	if got := p.text("#readings tbody td:nth-of-type(2)"); got != label {
		t.Errorf("the label is shown as %q", got)
	}
	if p.holds(`document.title.includes("owned") || document.querySelector("#readings img")`) {
		t.Error("a label has become markup")
	}
	p.quiet()
}

// The standards may be put in wrongly: the page says so before and after, and goes on.
func TestBrowserRefusedStandard(t *testing.T) {
	t.Parallel()
	p := openTab(t, 1280, 800, "dark")
	s := ready(t, Options{})
	p.open(s.url + "/calibrate")
	p.shows("#phasor .none", "nothing is looked at")
	if p.holds(`document.querySelector(".arrow").style.display !== "none"`) {
		t.Error("there is an arrow although nothing is seen")
	}
	p.value("#cal-at", "~1k")
	p.click("#begin .main")
	p.shows("#verdict", "This may be the open")
	p.shows("#expected", "more than 10 kΩ")
	p.choose("#tray-part", "sense-shunt")
	p.shows("#verdict", "This would be refused")
	p.shows("#doubts", "the open reads 0.4")
	p.wait("the arrow lies in its picture, and the value has settled")(`(line => line.x2.baseVal.value > 60 && line.x2.baseVal.value < 240 && Math.abs(line.y2.baseVal.value - 165) < 150)(document.querySelector(".arrow line")) && document.querySelector("#settling .dot")?.cy.baseVal.value > 60`)
	p.click("#record")
	p.shows("#steps", "Refused, this cannot be it")
	p.picture("refused-1280-dark")
	p.choose("#tray-part", "open")
	p.shows("#verdict", "This may be the open")
	p.click("#record")
	p.shows("#steps .recorded", "Open")
	p.click("#drop")
	p.shows("#owner", "card free")
	p.shows("#phasor .none", "nothing is looked at")
	p.quiet()
}

// A second page is told who has the card, and may end it.
func TestBrowserTwoPages(t *testing.T) {
	first, second := openTab(t, 1280, 800, "light"), openTab(t, 390, 844, "light")
	s := ready(t, Options{})
	first.open(s.url + "/")
	first.click("#go")
	first.shows("#go", "Stop")
	second.open(s.url + "/sweep")
	second.shows("#owner", "by another page")
	second.click("#go")
	second.shows("#notice", "The card is in use: live reading")
	second.quiet("409")
}

// serverEnv makes the test's program a bench that serves a folder, so that it can be
// killed.
const serverEnv = "WHEATEAR_TEST_BENCH"

func serveAlone() bool {
	folder, address, ok := strings.Cut(os.Getenv(serverEnv), "|")
	if !ok {
		return false
	}
	b, err := New(Options{Folder: folder})
	if err == nil {
		var ln net.Listener
		if ln, err = net.Listen("tcp", address); err == nil {
			err = b.Serve(context.Background(), ln)
		}
	}
	fmt.Fprintln(os.Stderr, err)
	return true
}

// process is a bench in a process of its own.
type process struct {
	t       *testing.T
	folder  string
	address string
	cmd     *exec.Cmd
}

func (p *process) start() {
	p.t.Helper()
	p.cmd = exec.Command(os.Args[0])
	p.cmd.Env = append(os.Environ(), serverEnv+"="+p.folder+"|"+p.address)
	p.cmd.Stderr = os.Stderr
	if err := p.cmd.Start(); err != nil {
		p.t.Fatal(err)
	}
	for began := time.Now(); time.Since(began) < patience; time.Sleep(10 * time.Millisecond) {
		if resp, err := still.Get("http://" + p.address + "/api/state"); err == nil {
			resp.Body.Close()
			if resp.StatusCode == http.StatusOK {
				return
			}
		}
	}
	p.t.Fatal("the program does not answer")
}

func (p *process) kill() {
	p.cmd.Process.Kill()
	p.cmd.Wait()
}

// free is an address that nobody uses.
func free(t *testing.T) string {
	t.Helper()
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer ln.Close()
	return ln.Addr().String()
}

// The program is killed in the middle of a calibration and of a sweep, and started
// again: the page recovers by itself, and nothing measured is lost.
func TestBrowserProgramKilled(t *testing.T) {
	t.Parallel()
	page := openTab(t, 1280, 800, "light")
	p := &process{t: t, folder: t.TempDir(), address: free(t)}
	p.start()
	defer func() { p.kill() }()
	page.open("http://" + p.address + "/")
	page.click("#confirm")
	page.click(`[data-jig="simulated"]`)
	page.click(`#onward a[href="/calibrate"]`)
	page.at("/calibrate")
	page.value("#cal-at", "~126,~1k,~10k")
	page.click("#begin .main")
	page.shows("#verdict", "This may be the open")
	page.click("#record")
	page.shows("#steps .recorded", "Open")
	p.kill()
	page.shows("#owner", "no answer")
	p.start()
	page.click("#resume")
	page.shows("#verdict", "This may be the short")
	page.shows("#steps .recorded", "Open")
	page.click("#record")
	page.shows("#verdict", "This may be the load")
	page.click("#record")
	page.shows("#calibration-now", "with open, short, load")

	page.open("http://" + p.address + "/sweep")
	page.choose("#tray-part", "valve-coil")
	page.value("#sweep-at", "100..10k/15")
	page.click("#go")
	page.wait("two points are there")(`document.querySelectorAll("#points tbody tr").length >= 2`)
	p.kill()
	page.shows("#owner", "no answer")
	p.start()
	page.shows("#progress-text", "paused")
	page.choose("#tray-part", "valve-coil")
	page.click("#resume")
	page.wait("all points are there")(`document.querySelectorAll("#points tbody tr").length == 15 && document.querySelector("#resume").hidden`)
	page.quiet("ERR_", "EventSource")
}
