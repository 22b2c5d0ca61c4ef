package page

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/run"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/parts"
)

// putIn puts a part of the tray in and waits until the lot has so many parts.
func (s *served) putIn(name string, n int) {
	s.t.Helper()
	s.ok("tray/part", `{"name": "`+name+`"}`)
	s.until(fmt.Sprintf("part %d is counted", n), func(st *State) bool {
		return st.Sorting != nil && st.Sorting.Parts == n && st.Sorting.Stage == Counted
	})
}

// outcomes are those of the lot, the first part first.
func (s *served) outcomes() string {
	s.t.Helper()
	page, err := s.SortedParts(0, mostListed)
	if err != nil {
		s.t.Fatal(err)
	}
	var list []string
	for _, p := range page.List {
		list = append([]string{p.Name + " " + p.Outcome}, list...)
	}
	return strings.Join(list, ", ")
}

// Parts of the tray are sorted one after the other: each is counted once, also the same
// one put in again, with verdict and bin; by hand what reads as nothing. The last is
// taken back, the lot goes on after a new start and into the notebook, and is cleared.
func TestSort(t *testing.T) {
	t.Parallel()
	notShort(t)
	var mu sync.Mutex
	var entered []string
	enter := func(part, note, _, _ string, _ *fixture.Calibration, _, _ []string, write func(io.Writer) error) error {
		mu.Lock()
		defer mu.Unlock()
		var text bytes.Buffer
		var doc struct {
			Schema string
			Parts  []struct{}
		}
		err := errors.Join(write(&text), json.Unmarshal(text.Bytes(), &doc))
		entered = append(entered, fmt.Sprint(part, "|", note, "|", doc.Schema, "|", len(doc.Parts)))
		return err
	}
	folder := t.TempDir()
	s := ready(t, Options{Folder: folder, Enter: enter})
	s.calibrateBySelf("~1k")
	mu.Lock()
	entered = nil
	mu.Unlock()
	s.ok("tray/part", `{"name": "open"}`)
	s.ok("sort", `{"expect": "1k/1%", "at": "~1k", "bins": "0.5%,1%", "lot": "Tuesday's"}`)
	s.until("a part is asked for", func(st *State) bool { return st.Sorting != nil && st.Sorting.Cue == "Put in part 1." })
	s.putIn("load", 1)
	s.putIn("pull-up", 2)
	s.putIn("load", 3)
	s.putIn("load", 4) // once more, for certain
	if got, want := s.outcomes(), "load pass, pull-up fail, load pass, load pass"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	s.ok("tray/part", `{"name": "open"}`)
	s.until("the next is asked for", func(st *State) bool { return st.Sorting.Stage == Empty })
	s.ok("sort/count", `{}`)
	s.until("what reads as nothing is counted by hand", func(st *State) bool { return st.Sorting.Parts == 5 })
	s.refused("sort/back", `{"no": 4}`, http.StatusConflict)
	s.ok("sort/back", `{"no": 5}`)
	s.refused("sort/back", `{"no": 5}`, http.StatusConflict)
	v := s.Sorted()
	if v.Pass != 3 || v.Fail != 1 || v.Parts != 4 || len(v.Bins) != 2 || v.Bins[0].Name != "0.5%" || v.Bins[0].Count != 3 || v.Bins[1].Name != "outside" {
		t.Errorf("%+v, bins %+v", v.SortView, v.Bins)
	}
	if v.Outliers != 1 || v.Left[0].No != 2 || v.Histogram == nil || *v.Histogram.LimitLow != 990 || len(v.Lines) == 0 {
		t.Errorf("left out %+v, histogram %+v", v.Left, v.Histogram)
	}
	s.sortFiles(4)
	s.ok("stop", `{}`)
	s.idle()
	s.stop()

	s = serve(t, Options{Folder: folder, Enter: enter})
	if v := s.State().Sorting; v == nil || v.Pass != 3 || v.Fail != 1 || v.Request.Lot != "Tuesday's" || v.Last.No != 4 || v.Last.Bin != "0.5%" {
		t.Fatalf("after a new start: %+v", v)
	}
	s.ok("tray/part", `{"name": "open"}`)
	s.ok("sort", `{"expect": "1k/1%", "at": "~1k", "lot": "Tuesday's"}`)
	s.putIn("load", 5)
	s.ok("sort/clear", `{}`)
	if v := s.State().Sorting; v.Parts != 0 || v.Request.Lot != "Tuesday's" {
		t.Errorf("cleared: %+v", v)
	}
	s.putIn("pull-up", 1)
	s.ok("stop", `{}`)
	s.idle()
	mu.Lock()
	defer mu.Unlock()
	if got, want := strings.Join(entered, "; "), "1k/1%|lot Tuesday's|wheatear.sort/1|4; 1k/1%|lot Tuesday's|wheatear.sort/1|1"; got != want {
		t.Errorf("entered %s, want %s", got, want)
	}
	if kept, err := filepath.Glob(filepath.Join(folder, simulatedKey, lotsName, "cleared", "*.csv")); err != nil || len(kept) != 1 {
		t.Errorf("put aside: %q, %v", kept, err)
	}
}

// sortFiles gets the lot as each kind of file.
func (s *served) sortFiles(n int) {
	s.t.Helper()
	_, text := s.call("GET", "/api/sort/file/csv", "")
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil || len(rows) != n+1 || strings.Count(text, "\r\n") != n+1 {
		s.t.Errorf("%v: %q", err, text)
	}
	kept, err := os.ReadFile(s.desk.sorting.name)
	if err != nil || string(kept) != text {
		s.t.Errorf("%v: the file of the lot is not what is downloaded: %q and %q", err, kept, text)
	}
	for format, begins := range map[string]string{"json": "{", "html": "<!doctype html>", "svg": "<?xml", "png": "\x89PNG"} {
		if status, text := s.call("GET", "/api/sort/file/"+format, ""); status != http.StatusOK || !strings.HasPrefix(text, begins) {
			s.t.Errorf("%s: %d %.40q", format, status, text)
		}
	}
	if status, _ := s.call("GET", "/api/sort/file/doc", ""); status != http.StatusNotFound {
		s.t.Errorf("an unknown format: %d", status)
	}
}

// What is not understood is refused before the card is taken.
func TestSortRequestsAreChecked(t *testing.T) {
	s := ready(t, Options{})
	for _, c := range []struct{ body, why string }{
		{`{"expect": "1k", "at": "~1k"}`, "tolerance"}, {`{"expect": "1x", "at": "~1k"}`, "expected part"},
		{`{"expect": "1k/1%", "at": "1k,2k"}`, "single"}, {`{"expect": "1k/1%", "at": "1k", "bins": "E7"}`, "bins: "},
		{`{"expect": "1k/1%", "at": "1k", "within": "soon"}`, "seconds"}, {`{"expect": "1k/1%", "at": "1k", "level": "loud"}`, "level"},
	} {
		if why := s.refused("sort", c.body, http.StatusBadRequest); !strings.Contains(why, c.why) {
			t.Errorf("%s: %q does not say %q", c.body, why, c.why)
		}
	}
	for _, path := range []string{"sort/clear", "sort/back"} {
		s.refused(path, `{}`, http.StatusNotFound)
	}
	s.refused("sort/count", `{}`, http.StatusConflict)
	for _, path := range []string{"/api/sort/parts", "/api/sort/file/csv"} {
		if status, _ := s.call("GET", path, ""); status != http.StatusNotFound {
			t.Errorf("%s: %d where nothing was sorted", path, status)
		}
	}
	if status, text := s.call("GET", "/api/sort", ""); status != http.StatusOK || text != "null\n" {
		t.Errorf("no lot: %d %s", status, text)
	}
}

// bigLot writes the file of a lot of many parts, as a folder may have it.
func bigLot(t testing.TB, folder string, n int) {
	t.Helper()
	dir := filepath.Join(folder, simulatedKey, lotsName)
	if err := os.MkdirAll(dir, 0o777); err != nil {
		t.Fatal(err)
	}
	var list []run.Part
	for i := range n {
		v := 1000 + 3*math.Sin(float64(i*i))
		p := run.Part{Number: i + 1, Name: "r", At: time.Unix(int64(i), 0), Expected: "1 kΩ/1 %", FreqHz: 1000, Value: v, U: 0.3, OwnU: 0.1, Low: v - 0.6, High: v + 0.6, Verdict: "pass", Bin: "1%", Chance: 1, EnoughU: math.NaN()}
		if i%50 == 7 {
			p.Value, p.Verdict = 1100, "fail"
		}
		list = append(list, p)
	}
	var text bytes.Buffer
	if err := run.WriteCSV(&text, run.Kind{Unit: parts.Ohm, Expected: "1 kΩ/1 %"}, list); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, lotFile("big")), text.Bytes(), 0o666); err != nil {
		t.Fatal(err)
	}
	if err := writeJSON(filepath.Join(folder, simulatedKey, sortName), sortFile{lotSchema, SortRequest{Expect: "1k/1%", At: "1k", Bins: "1%", Lot: "big"}}); err != nil {
		t.Fatal(err)
	}
}

// Ten thousand parts: what pages are told stays as short as for ten, one more part is one
// more line in the file, and all of them are there, a page at a time.
func TestSortTenThousandParts(t *testing.T) {
	t.Parallel()
	const n = 10_000
	folder := t.TempDir()
	hasten(t, folder)
	bigLot(t, folder, n)
	s := ready(t, Options{Folder: folder})
	for _, c := range []struct {
		path string
		most int // bytes
	}{{"/api/state", 8000}, {"/api/sort", 12_000}, {"/api/sort/parts", 25_000}} {
		if status, text := s.call("GET", c.path, ""); status != http.StatusOK || len(text) > c.most {
			t.Errorf("%s: %d, %d bytes, want %d at the most", c.path, status, len(text), c.most)
		}
	}
	if v := s.Sorted(); v.Parts != n || v.Outliers != n/50 || len(v.Left) != 100 || v.Fail != n/50 {
		t.Errorf("%+v, %d left out", v.SortView, v.Outliers)
	}
	seen := 0
	for before := 0; ; {
		page, err := s.SortedParts(before, mostListed)
		if err != nil || page.Parts != n {
			t.Fatal(page, err)
		}
		for _, p := range page.List {
			if p.No != n-seen || p.Rule == "" != (p.Outcome == "pass") {
				t.Fatalf("in place %d: %+v", seen, p)
			}
			seen++
			before = p.No
		}
		if before <= 1 {
			break
		}
	}
	if seen != n {
		t.Errorf("%d parts are listed", seen)
	}
	info, err := os.Stat(s.desk.sorting.name)
	if err != nil {
		t.Fatal(err)
	}
	s.mu.Lock()
	_, err = s.desk.sorting.add(run.Part{Name: "one more", FreqHz: 1000, Value: 1000, Verdict: "pass"})
	s.mu.Unlock()
	after, _ := os.Stat(s.desk.sorting.name)
	if err != nil || !os.SameFile(info, after) || after.Size()-info.Size() > 200 || s.Sorted().Parts != n+1 {
		t.Errorf("%v: the file grew from %d to %d bytes", err, info.Size(), after.Size())
	}
	for _, q := range []string{"?most=0", "?most=501", "?most=x", "?before=y"} {
		if status, _ := s.call("GET", "/api/sort/parts"+q, ""); status != http.StatusBadRequest {
			t.Errorf("%s: %d", q, status)
		}
	}
}

// A lot that was cut off while a part was written goes on with those that were whole; one
// of other parts is refused; one of the version without values is put aside as it is.
func TestSortFilesOfOtherTimes(t *testing.T) {
	folder := t.TempDir()
	hasten(t, folder)
	bigLot(t, folder, 3)
	name := filepath.Join(folder, simulatedKey, lotsName, lotFile("big"))
	if err := appendTo(name, `4,half a li`); err != nil {
		t.Fatal(err)
	}
	s := ready(t, Options{Folder: folder})
	if v := s.State().Sorting; v == nil || v.Parts != 3 || v.Last.No != 3 {
		t.Fatalf("%+v", v)
	}
	s.ok("sort", `{"expect": "2k/1%", "at": "1k", "lot": "big"}`)
	s.idle()
	if st := s.State(); st.Notice == nil || !strings.Contains(st.Notice.Text, "is a run of 1 kΩ/1 % and not of 2 kΩ/1 %") || st.Sorting.Parts != 3 {
		t.Errorf("told %+v", st.Notice)
	}
	s.stop()

	old := `{"schema": "wheatear.sorting/1", "request": {"expect": "1k/1%", "at": "~1k", "level": ""}, "begun": "2026-01-02T03:04:05Z",
 "parts": [{"no": 1, "time": "2026-01-02T03:04:06Z", "part": "load", "verdict": {"outcome": "pass", "text": "1 kΩ"}, "headline": {"name": "R", "value": "999.6 Ω", "half": "0.5 Ω"}}]}`
	if err := os.WriteFile(filepath.Join(folder, simulatedKey, sortName), []byte(old), 0o666); err != nil {
		t.Fatal(err)
	}
	s = serve(t, Options{Folder: folder})
	text, err := os.ReadFile(filepath.Join(folder, simulatedKey, lotsName, "earlier-version-1.json"))
	if err != nil || string(text) != old || s.State().Sorting != nil {
		t.Errorf("%v, %s, %+v", err, text, s.State().Sorting)
	}
}

func TestLotFile(t *testing.T) {
	names := []string{"tuesday", "Tuesday", "tues/day", "../../etc", "批次七", "批次八", "", strings.Repeat("x", 300)}
	seen := map[string]bool{}
	for _, n := range names {
		f := lotFile(n)
		if seen[f] || len(f) > 80 || f != filepath.Base(f) || strings.HasPrefix(f, ".") {
			t.Errorf("%q: %q", n, f)
		}
		seen[f] = true
	}
}
