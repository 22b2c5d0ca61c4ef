package page

import (
	"encoding/json"
	"math"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/demo"
)

// Nothing is played before the cautions are confirmed and a jig is chosen.
func TestCautionsComeFirst(t *testing.T) {
	s := serve(t, Options{Folder: t.TempDir()})
	for _, path := range []string{"/", "/calibrate", "/sweep", "/readings", "/notebook"} {
		if status, _ := s.call("GET", path, ""); status != http.StatusSeeOther {
			t.Errorf("%s: %d before the cautions, want a redirect to the first page", path, status)
		}
	}
	_, text := s.call("GET", "/start", "")
	for _, word := range []string{"Before the first tone:", "Capacitors are discharged", "Nothing here touches the mains"} {
		if !strings.Contains(text, word) {
			t.Errorf("the first page does not say %q", word)
		}
	}
	s.ok("jig", `{"key": "simulated"}`)
	if why := s.refused("live", `{"at": "1k"}`, http.StatusConflict); !strings.Contains(why, "cautions") {
		t.Errorf("a tone before the cautions: %s", why)
	}
	s.ok("cautions", `{}`)
	s.ok("live", `{"at": "1k"}`)
	s.ok("stop", `{}`)
}

// A calibration and three readings; the truth of the tray lies in their intervals.
func TestReadingsHoldTheTruth(t *testing.T) {
	t.Parallel()
	notShort(t)
	s := ready(t, Options{})
	s.calibrateBySelf("~126,~1k,~10k")
	for _, p := range demo.Parts() {
		if p.Name != "timing-film" && p.Name != "valve-coil" && p.Name != "pull-up" {
			continue
		}
		s.ok("tray/part", `{"name": "`+p.Name+`"}`)
		var kept []*Kept
		decodeInto(t, s.ok("readings", `{"at": "~1k"}`), &kept)
		if len(kept) != 1 || kept[0].Part != p.Name || !kept[0].Sheet.Trusted {
			t.Fatalf("%s: kept %+v", p.Name, kept)
		}
		var m struct {
			Readings []struct {
				Z struct {
					Modulus struct{ Value, Low, High float64 } `json:"modulus_ohm"`
				}
			}
		}
		decodeInto(t, string(kept[0].Measure), &m)
		z := p.Truth(kept[0].FreqHz)
		if want, got := math.Hypot(real(z), imag(z)), m.Readings[0].Z.Modulus; !(got.Low <= want && want <= got.High) {
			t.Errorf("%s: |Z| read as %v, true %g", p.Name, got, want)
		}
		if status, _ := s.call("GET", "/api/recordings/"+kept[0].Files[0], ""); status != http.StatusOK {
			t.Errorf("%s: its recording %s is not there: %d", p.Name, kept[0].Files[0], status)
		}
	}
	if n := len(s.Readings(10)); n != 3 || s.Readings(10)[0].ID != 3 {
		t.Errorf("%d readings are listed, the first is no. %d", n, s.Readings(10)[0].ID)
	}
}

// One activity has the card; whoever comes second is told who has it.
func TestOneHasTheCard(t *testing.T) {
	t.Parallel()
	s := ready(t, Options{})
	s.ok("live", `{"at": "1k"}`, "Wheatear-Tab", "aaaa")
	why := s.refused("sweep", `{"at": "1k,2k"}`, http.StatusConflict, "Wheatear-Tab", "bbbb")
	if !strings.Contains(why, "live reading") || !strings.Contains(why, "by a page") {
		t.Errorf("refused with %q, want what has the card and since when", why)
	}
	s.refused("jig", `{"key": "simulated"}`, http.StatusConflict)
	// The page that reads may go over to something else, and reads on afterwards.
	s.ok("readings", `{"at": "1k"}`, "Wheatear-Tab", "aaaa")
	s.until("it reads again", func(st *State) bool { return st.Owner != nil && st.Owner.Kind == LiveKind })
	s.ok("stop", `{}`, "Wheatear-Tab", "bbbb")
	s.idle()
}

// A standard that cannot be what it claims is refused while it is looked at, and
// when it is recorded; the right one is taken then.
func TestStandardIsRefused(t *testing.T) {
	t.Parallel()
	notShort(t)
	s := ready(t, Options{})
	s.ok("calibration", `{"at": "1k", "loads": ["1k/0.1%"]}`)
	seen := func(doubted bool) func(*State) bool {
		return func(*State) bool {
			s.mu.Lock()
			defer s.mu.Unlock()
			return s.live.last != nil && len(s.live.last.Doubts) > 0 == doubted
		}
	}
	s.until("an open is seen", seen(false))
	s.ok("tray/part", `{"name": "sense-shunt"}`)
	s.until("it is doubted", seen(true))
	s.ok("calibration/record", `{}`)
	s.until("it is refused", func(st *State) bool { return len(st.Guide.Steps[0].Refused) > 0 && st.Guide.Steps[0].State == wanted })
	s.ok("tray/part", `{"name": "open"}`)
	for i := range 3 {
		s.until("it is seen to be right", seen(false))
		s.ok("calibration/record", `{}`)
		s.until("it is recorded", func(st *State) bool { return st.Guide == nil || st.Guide.Steps[i].State == recorded })
	}
	s.until("it is calibrated", func(st *State) bool { return st.Calibration != nil && st.Calibration.Settled && st.Owner == nil })
}

// A program that ends in the middle goes on from its folder: with the standards
// recorded, the points of a sweep, and all readings.
func TestGoesOnFromItsFolder(t *testing.T) {
	t.Parallel()
	notShort(t)
	folder := t.TempDir()
	s := ready(t, Options{Folder: folder})
	s.ok("calibration", `{"at": "~1k,~2k", "loads": ["1k/0.1%"]}`)
	s.until("the open is looked at", func(st *State) bool { return st.Tray.Inserted == "open" && st.Owner != nil })
	s.ok("calibration/record", `{}`)
	s.until("the open is recorded", func(st *State) bool { return st.Guide.Steps[0].State == recorded })
	s.stop()

	s = serve(t, Options{Folder: folder})
	if st := s.State(); !st.Cautions || st.Jig == nil || st.Guide == nil || st.Guide.Steps[0].State != recorded || st.Owner != nil {
		t.Fatalf("what was recorded is lost: %+v", st.Guide)
	}
	s.ok("calibration/resume", `{}`)
	s.until("the short is looked at", func(st *State) bool { return st.Tray.Inserted == "short" })
	s.ok("calibration/record", `{}`)
	s.until("the load is looked at", func(st *State) bool { return st.Tray.Inserted == "load" })
	s.ok("calibration/skip", `{}`)
	s.until("it is calibrated", func(st *State) bool { return st.Calibration != nil && st.Owner == nil })
	if got := strings.Join(s.State().Calibration.Standards, " "); got != "open short" {
		t.Errorf("calibrated with %q, want open and short", got)
	}
	s.ok("tray/part", `{"name": "valve-coil"}`)
	s.ok("readings", `{"at": "~1k", "note": "before"}`)
	s.ok("sweep", `{"at": "100..10k/7"}`)
	s.until("two points are there", func(st *State) bool { return st.Sweep != nil && st.Sweep.Done >= 2 })
	s.stop()
	if err := appendTo(filepath.Join(folder, simulatedKey, readingsName), `{"id": 2, "part": "half a li`); err != nil {
		t.Fatal(err)
	}

	s = serve(t, Options{Folder: folder})
	st := s.State()
	if st.Readings != 1 || st.Calibration == nil || st.Sweep == nil || st.Sweep.Done < 2 || st.Sweep.Finished {
		t.Fatalf("after the second start: %d readings, sweep %+v", st.Readings, st.Sweep)
	}
	s.ok("tray/part", `{"name": "valve-coil"}`)
	s.ok("sweep/resume", `{}`)
	s.until("the sweep is complete", func(st *State) bool { return st.Sweep.Finished && st.Owner == nil })
	if v := s.Sweep(); len(v.Points) != 7 || v.Part != "valve-coil" {
		t.Errorf("%d points of %s", len(v.Points), v.Part)
	}
	s.ok("readings", `{"at": "~1k"}`)
	if r, err := s.Reading(2); err != nil || r.ID != 2 {
		t.Errorf("a reading behind the half line: %+v, %v", r, err)
	}
}

func appendTo(name, text string) error {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_APPEND, 0)
	if err != nil {
		return err
	}
	defer f.Close()
	_, err = f.WriteString(text)
	return err
}

// Ten readings a second come from the simulated jig, and they follow the tray.
func TestLiveReadingFollows(t *testing.T) {
	t.Parallel()
	s := ready(t, Options{})
	s.ok("live", `{"at": "~1k"}`)
	s.until("it reads", func(*State) bool { return s.counts.updates.Load() > 0 })
	began, before := time.Now(), s.counts.updates.Load()
	time.Sleep(time.Second / 2)
	rate := float64(s.counts.updates.Load()-before) / time.Since(began).Seconds()
	t.Logf("%.1f readings a second", rate)
	if rate > 13 || rate < 1 && !testing.Short() { // the lower one is for a busy computer
		t.Errorf("%.1f readings a second, want ten", rate)
	}
	s.ok("tray/part", `{"name": "sense-shunt"}`)
	s.until("the shunt is read", func(*State) bool {
		s.mu.Lock()
		defer s.mu.Unlock()
		u := s.live.last
		return u != nil && u.Part == "sense-shunt" && u.Sheet.Trusted
	})
	s.ok("tray/faults", `{"on": ["mono"]}`)
	s.until("one signal in both inputs is seen", func(*State) bool {
		s.mu.Lock()
		defer s.mu.Unlock()
		return strings.Contains(s.live.last.Sheet.Refused, "mono")
	})
	status, text := s.call("GET", "/api/live?after=5", "")
	var u Update
	decodeInto(t, text, &u)
	if status != http.StatusOK || u.N <= 5 || u.Sheet == nil || !json.Valid(u.Measure) {
		t.Errorf("GET /api/live: %d %s", status, text)
	}
}

// Every fault of the tray is seen by the reading, in words that a person is told.
func TestFaultsAreSeen(t *testing.T) {
	t.Parallel()
	notShort(t)
	s := ready(t, Options{})
	s.calibrateBySelf("~1k")
	s.ok("tray/part", `{"name": "valve-snubber"}`)
	for _, c := range []struct {
		fault string
		codes string // one of these
	}{
		{"clipped", "clipped"}, {"swapped", "jig-changed swapped non-passive"},
	} {
		s.ok("tray/faults", `{"on": ["`+c.fault+`"]}`)
		var kept []*Kept
		decodeInto(t, s.ok("readings", `{"at": "~1k"}`), &kept)
		seen := ""
		for _, f := range kept[0].Sheet.Findings {
			if strings.Contains(c.codes, f.Code) {
				seen = f.Code
			}
		}
		if seen == "" {
			t.Errorf("%s: none of %s among %+v", c.fault, c.codes, kept[0].Sheet.Findings)
		}
	}
}

// What is not understood is refused with a reason, and changes nothing.
func TestRequestsAreChecked(t *testing.T) {
	s := ready(t, Options{})
	for _, c := range []struct {
		path, body string
		status     int
		why        string
	}{
		{"live", `{"at": "nonsense"}`, 400, "frequency"},
		{"live", `{"at": "1k,2k"}`, 400, "single"},
		{"live", `{"at": "1k", "level": "+6dBFS"}`, 400, "level"},
		{"live", `{"at": "1k", "colour": "red"}`, 400, "colour"},
		{"live", `{"at": "1k"} {}`, 400, "behind"},
		{"live", `{"at": `, 400, "understood"},
		{"readings", `{"at": "1k", "to": "-3%"}`, 400, "uncertainty"},
		{"readings", `{"at": "1k", "within": "soon"}`, 400, "seconds"},
		{"calibration", `{"at": "all"}`, 400, "name the frequencies"},
		{"calibration", `{"at": "1k", "loads": ["1k"]}`, 400, "tolerance"},
		{"calibration/record", `{}`, 409, "no calibration"},
		{"calibration/resume", `{}`, 409, "no calibration"},
		{"sweep/resume", `{}`, 409, "no sweep"},
		{"jig", `{"key": "none"}`, 404, "none"},
		{"tray/part", `{"name": "unobtainium"}`, 404, "unobtainium"},
		{"tray/faults", `{"on": ["gremlins"]}`, 404, "gremlins"},
	} {
		if why := s.refused(c.path, c.body, c.status); !strings.Contains(why, c.why) {
			t.Errorf("%s %s: %q does not say %q", c.path, c.body, why, c.why)
		}
	}
	if st := s.State(); st.Owner != nil || st.Notice != nil {
		t.Errorf("after refusals: %+v", st)
	}
	s.refused("live", `{"at": "1k"}`, http.StatusUnsupportedMediaType, "Content-Type", "text/plain")
	for _, path := range []string{"/api/readings/1", "/api/readings/x", "/api/sweep/file/csv", "/api/nothing", "/nothing"} {
		if status, _ := s.call("GET", path, ""); status != http.StatusNotFound {
			t.Errorf("%s: %d", path, status)
		}
	}
}

// A sweep comes as every kind of file; all tones at once do, too.
func TestSweepFiles(t *testing.T) {
	t.Parallel()
	notShort(t)
	s := ready(t, Options{})
	s.ok("tray/part", `{"name": "soil-probe"}`)
	s.ok("sweep", `{"at": "100..10k/5", "together": true}`)
	s.until("it is complete", func(st *State) bool { return st.Owner == nil && st.Sweep != nil && st.Sweep.Finished })
	for format, begins := range map[string]string{"json": "{", "csv": "frequency", "svg": "<?xml", "png": "\x89PNG", "pdf": "%PDF", "s1p": "!", "html": "<!doctype"} {
		if status, text := s.call("GET", "/api/sweep/file/"+format, ""); status != http.StatusOK || !strings.HasPrefix(text, begins) {
			t.Errorf("%s: %d %.40q", format, status, text)
		}
	}
	s.ok("sweep", `{"at": "1k", "together": true}`)
	s.idle()
	aside, err := filepath.Glob(filepath.Join(s.State().Jig.Folder, "sweeps", "*.json"))
	if err != nil || len(aside) != 1 {
		t.Errorf("the first sweep was not put aside: %v, %v", aside, err)
	}
}
