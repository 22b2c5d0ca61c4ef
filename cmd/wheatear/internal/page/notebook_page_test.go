package page

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/notebook"
	"example.org/wheatear/lockin/fixture"
)

// entering puts results into a notebook as the program does.
func entering(t testing.TB, file string) Enter {
	return func(part, note, jigFile, _ string, cal *fixture.Calibration, files, _ []string, write func(io.Writer) error) error {
		var text bytes.Buffer
		if err := write(&text); err != nil {
			return err
		}
		n, err := notebook.Open(context.Background(), file)
		if err != nil {
			return err
		}
		defer n.Close()
		e := &notebook.Entry{Time: time.Now(), Label: part, Note: note, Command: "wheatear serve", Files: files, Result: text.Bytes()}
		jig, err := os.ReadFile(jigFile)
		if err != nil {
			return err
		}
		e.Documents = append(e.Documents, notebook.NewDocument(notebook.JigFile, jigFile, string(jig)))
		if cal != nil {
			text, err := cal.Encode()
			if err != nil {
				return err
			}
			e.Documents = append(e.Documents, notebook.NewDocument(notebook.CalibrationFile, "calibration.json", string(text)))
		}
		_, err = n.Add(context.Background(), e)
		return err
	}
}

// noted is a bench with a notebook of its own.
func noted(t testing.TB) (s *served, file string) {
	t.Helper()
	file = filepath.Join(t.TempDir(), "n.db")
	return ready(t, Options{Notebook: file, Enter: entering(t, file)}), file
}

// reading makes a reading of a part at the simulated jig.
func (s *served) reading(part, label, note string) *Kept {
	s.t.Helper()
	s.ok("tray/part", `{"name": "`+part+`"}`)
	ask, err := json.Marshal(ReadingRequest{At: "~1k", Part: label, Note: note})
	if err != nil {
		s.t.Fatal(err)
	}
	var kept []*Kept
	decodeInto(s.t, s.ok("readings", string(ask)), &kept)
	return kept[0]
}

// sampled is a reading of a capacitor, made once.
var sampled struct {
	once    sync.Once
	measure []byte
	freqHz  float64
}

func sample(t testing.TB) (measure []byte, freqHz float64) {
	t.Helper()
	sampled.once.Do(func() {
		k := ready(t, Options{}).reading("valve-snubber", "C7", "")
		sampled.measure, sampled.freqHz = k.Measure, k.FreqHz
	})
	return sampled.measure, sampled.freqHz
}

// asks gets an answer of the notebook.
func (s *served) asks(path string, v any) {
	s.t.Helper()
	status, text := s.call("GET", "/api/notebook"+path, "")
	if status != http.StatusOK {
		s.t.Fatalf("GET %s: %d %s", path, status, text)
	}
	decodeInto(s.t, text, v)
}

// refuses asks something that must not be answered, and returns why.
func (s *served) refuses(path string, want int) string {
	s.t.Helper()
	status, text := s.call("GET", "/api/notebook"+path, "")
	var p problem
	if err := json.Unmarshal([]byte(text), &p); status != want || err != nil || p.Error == "" {
		s.t.Errorf("GET %s: %d %s, want %d and why", path, status, text, want)
	}
	return p.Error
}

// repeated is a reading made over and over, at other times and with other values.
func repeated(t testing.TB, file string, measure []byte, label string, values []float64, apart time.Duration) {
	t.Helper()
	n, err := notebook.Open(context.Background(), file)
	if err != nil {
		t.Fatal(err)
	}
	defer n.Close()
	var list []*notebook.Entry
	for i, v := range values {
		list = append(list, &notebook.Entry{
			Time: time.Now().Add(time.Duration(i-len(values)) * apart), Label: label, Command: fmt.Sprintf("wheatear measure --part %s #%d", label, i),
			Documents: []notebook.Document{notebook.NewDocument(notebook.JigFile, "jig.toml", "name = \"jig\"\n")}, Files: []string{label + ".wav"}, Result: withCapacitance(t, measure, v),
		})
	}
	if _, err := n.AddAll(context.Background(), list); err != nil {
		t.Fatal(err)
	}
}

// withCapacitance is the document of a capacitor's reading with another value, and an
// uncertainty of a thousandth of it.
func withCapacitance(t testing.TB, measure []byte, farad float64) []byte {
	t.Helper()
	var doc map[string]any
	if err := json.Unmarshal(measure, &doc); err != nil {
		t.Fatal(err)
	}
	r := doc["readings"].([]any)[0].(map[string]any)
	c := map[string]any{"value": farad, "u": farad * 1e-3, "low": farad * (1 - 2e-3), "high": farad * (1 + 2e-3)}
	r["series"].(map[string]any)["c_f"] = c
	r["main"] = map[string]any{"element": "C", "circuit": "series", "unit": "F", "value": c["value"], "u": c["u"], "low": c["low"], "high": c["high"]}
	text, err := json.Marshal(doc)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// What the page measures is found again in the notebook: in the list, in full, as a
// file, and by what a person writes of it.
func TestNotebookIsRead(t *testing.T) {
	t.Parallel()
	s, file := noted(t)
	var list NotebookList
	s.asks("", &list)
	if list.Total != 0 || list.File != file || len(list.Entries) != 0 {
		t.Errorf("before there is a notebook: %+v", list)
	}
	s.refuses("/1", http.StatusNotFound)
	k := s.reading("valve-snubber", "C7 <b>", "before the heat test & after")
	s.reading("pull-up", "R3", "")
	s.asks("", &list)
	if list.Total != 2 || list.Entries[0].Label != "R3" || list.Entries[1].Label != "C7 <b>" || strings.Join(list.Kinds, " ") != "reading" || !strings.Contains(list.Entries[0].Reads, "kΩ") {
		t.Errorf("listed: %+v", list)
	}
	id := list.Entries[1].ID
	var v EntryView
	s.asks(fmt.Sprint("/", id), &v)
	if v.Reading != k.ID || len(v.Recordings) != 1 || v.Recordings[0].File != k.Files[0] || len(v.Points) != 1 || v.Points[0].Text != v.Line.Reads || !strings.HasSuffix(v.Line.Reads, "\u00a0nF") {
		t.Errorf("entry: %+v, the reading is %d of %v", v, k.ID, k.Files)
	}
	if doc := v.Entry; len(doc.RestsOn) != 1 || !strings.Contains(doc.RestsOn[0].Text, "seconds = 0.6") || canonical(doc.Result) != canonical(k.Measure) {
		t.Errorf("it rests on %+v", doc.RestsOn)
	}
	if status, text := s.call("GET", fmt.Sprintf("/api/notebook/%d/result", id), ""); status != http.StatusOK || canonical([]byte(text)) != canonical(k.Measure) {
		t.Errorf("its result as a file: %d %.80s", status, text)
	}
	// Whoever knows the folder no longer, finds the entry all the same.
	if st := s.State(); st.Notebook == nil || st.Notebook.File != file || st.Notebook.Changes != 2 {
		t.Errorf("the state: %+v", st.Notebook)
	}
}

// Each filter alone and together, and page by page.
func TestNotebookIsSearched(t *testing.T) {
	t.Parallel()
	s, file := noted(t)
	measure, _ := sample(t)
	repeated(t, file, measure, "first", []float64{2e-7}, time.Second)
	s.ok("notebook/1", `{"note": "with the long leads"}`)
	repeated(t, file, measure, "C7", []float64{1e-7, 1.01e-7, 1.02e-7, 1.03e-7, 1.04e-7}, 24*time.Hour)
	for _, c := range []struct {
		query string
		want  int
	}{
		{"", 6}, {"text=C7", 5}, {"text=lea", 1}, {"text=long+C7", 0}, {"text=long+fir", 1}, {"label=C7", 5}, {"label=C*", 5}, {"label=C", 0}, {"kind=reading", 6}, {"kind=sweep", 0},
		{"verdict=pass", 0}, {"since=36h", 2}, {"until=36h", 4}, {"since=80h&until=36h", 2}, {"since=2031-01-01", 0}, {"since=30d&label=C7&kind=reading&text=wav", 5},
		{`text=%22`, 0}, {"text=*", 0}, {"text=%27%3B+DROP+TABLE+entry", 0}, {"text=label:C7", 0}, {"label=%5BC%5D7", 0}, {"text=%00", 6}, {"text=NEAR(C7)", 0}, {"text=-", 0}, {"text=C7*", 5}, {"label=%27", 0},
	} {
		var list NotebookList
		s.asks("?"+c.query, &list)
		if list.Total != c.want || len(list.Entries) != c.want {
			t.Errorf("%s: %d of %d, want %d", c.query, len(list.Entries), list.Total, c.want)
		}
	}
	var seen []string
	for skip := 0; skip < 8; skip += 2 {
		var list NotebookList
		s.asks(fmt.Sprintf("?limit=2&skip=%d", skip), &list)
		for _, e := range list.Entries {
			seen = append(seen, e.Reads)
		}
	}
	if len(seen) != 6 || !strings.Contains(seen[0], "104.00\u00a0±") || !strings.Contains(seen[5], "200.00\u00a0±") {
		t.Errorf("page by page: %q", seen)
	}
}

// What is asked wrongly is refused with a reason.
func TestNotebookQuestionsAreChecked(t *testing.T) {
	t.Parallel()
	s, file := noted(t)
	measure, _ := sample(t)
	repeated(t, file, measure, "C7", []float64{1e-7}, time.Second)
	for path, why := range map[string]string{
		"?limit=0": "limit", "?limit=201": "200", "?limit=many": "many", "?skip=-1": "skip", "?skip=99999999999999999999": "skip", "?since=soon": "soon", "?until=2026-13-01": "2026-13-01",
		"?text=" + strings.Repeat("a", 201): "200", "?label=" + strings.Repeat("*", 1000): "200",
		"/history": "which part", "/history?label=C7&frequency=-1": "frequency", "/history?label=C7&frequency=x": "frequency", "/history?label=C7&since=x": "since",
	} {
		if got := s.refuses(path, http.StatusBadRequest); !strings.Contains(got, why) {
			t.Errorf("%s: %q does not say %q", path, got, why)
		}
	}
	for _, path := range []string{"/0", "/-1", "/2", "/x", "/1x", "/9223372036854775808", "/1%2F..", "/..%2F..%2Fetc%2Fpasswd", "/2/result", "/1%00", "/%27"} {
		s.refuses(path, http.StatusNotFound)
	}
	for body, why := range map[string]string{
		`{"label": "a\nb"}`: "control", `{"label": "` + strings.Repeat("a", 201) + `"}`: "200", `{"note": "` + strings.Repeat("a", 10001) + `"}`: "10000", `{"note": "\u0000"}`: "control",
		`{"result": {}}`: "result", `{"label": 7}`: "label", `[]`: "understood",
	} {
		if got := s.refused("notebook/1", body, http.StatusBadRequest); !strings.Contains(got, why) {
			t.Errorf("%.60s: %q does not say %q", body, got, why)
		}
	}
	s.refused("notebook/7", `{"label": "a"}`, http.StatusNotFound)
	s.refused("notebook/x", `{"label": "a"}`, http.StatusNotFound)
	var list NotebookList
	s.asks("", &list)
	if list.Total != 1 || list.Entries[0].Label != "C7" || list.File != file {
		t.Errorf("after refusals: %+v", list)
	}
}

// Label and note may be changed, each alone; what was measured may not.
func TestNotebookIsDescribed(t *testing.T) {
	t.Parallel()
	s, _ := noted(t)
	k := s.reading("valve-snubber", "C7", "as it came")
	const label = `<script>alert("C8")</script>`
	s.ok("notebook/1", `{"label": `+quoted(label)+`}`)
	s.ok("notebook/1", `{"note": "after a night\r\nin the oven  "}`)
	var v EntryView
	s.asks("/1", &v)
	if v.Line.Label != label || v.Line.Note != "after a night\nin the oven" || v.Reading != k.ID {
		t.Errorf("described: %+v, reading %d", v.Line, v.Reading)
	}
	var list NotebookList
	if s.asks("?text=oven", &list); list.Total != 1 {
		t.Errorf("%d entries have the new note", list.Total)
	}
	if s.asks("?text=came", &list); list.Total != 0 {
		t.Errorf("%d entries have the old note", list.Total)
	}
	if got := s.State().Notebook.Changes; got != 3 {
		t.Errorf("%d changes, want a reading and two descriptions", got)
	}
	s.ok("notebook/1", `{"label": "", "note": ""}`)
	if s.asks("/1", &v); v.Line.Label != "" || v.Line.Note != "" {
		t.Errorf("taken away: %+v", v.Line)
	}
}

// A part that falls by a tenth of a per cent a day, and one of which there is a single
// reading.
func TestNotebookHistory(t *testing.T) {
	t.Parallel()
	s, file := noted(t)
	measure, freqHz := sample(t)
	repeated(t, file, measure, "once", []float64{1e-7}, time.Second)
	repeated(t, file, measure, "C7", []float64{1e-7, 0.999e-7, 0.998e-7, 0.9972e-7, 0.996e-7, 0.995e-7}, 24*time.Hour)
	var h HistoryView
	s.asks("/history?label=C7", &h)
	if h.Total != 6 || len(h.Points) != 6 || h.Quantity != "Cs" || h.Unit != "F" || h.Changes != string(notebook.Sure) || !strings.Contains(h.Words, "It falls by") || h.Others != 0 {
		t.Errorf("history: %+v", h)
	}
	if len(h.Line) != lineSteps+1 || !h.Line[0].Time.Equal(h.Points[0].Time) || !(h.Line[0].Low < h.Line[0].Value && h.Line[0].Value < h.Line[0].High) || !(h.Line[0].Value > h.Line[lineSteps].Value) {
		t.Errorf("line: %+v", h.Line)
	}
	// The fall over five days is that of the values, 0.5 %.
	if fall := 1 - h.Line[lineSteps].Value/h.Line[0].Value; !(fall > 0.0045 && fall < 0.0055) {
		t.Errorf("it falls by %g", fall)
	}
	if !strings.Contains(h.Points[0].Text, "100.00\u00a0±") || h.FreqHz == nil || len(h.Choices) != 1 {
		t.Errorf("points: %+v", h.Points[0])
	}
	for query, want := range map[string]int{"label=once": 1, "label=none": 0, "label=C7&since=60h": 2, fmt.Sprintf("label=C7&frequency=%g", freqHz): 6, "label=C7&frequency=2k": 0, "label=C7&quantity=L": 0, "label=C7&quantity=C&until=60h": 4} {
		if s.asks("/history?"+query, &h); h.Total != want || h.Words == "" || (want < 3) != (len(h.Line) == 0) {
			t.Errorf("%s: %d readings, line of %d, %q", query, h.Total, len(h.Line), h.Words)
		}
	}
}

// Where the notebook is switched off the page says so, and readings are kept all the same.
func TestNotebookSwitchedOff(t *testing.T) {
	t.Parallel()
	s := ready(t, Options{})
	for _, path := range []string{"", "/1", "/1/result", "/history?label=C7"} {
		if why := s.refuses(path, http.StatusNotFound); !strings.Contains(why, "switched off") || !strings.Contains(why, notebook.Env) {
			t.Errorf("%s: %q", path, why)
		}
	}
	if s.State().Notebook != nil {
		t.Error("the state has a notebook")
	}
}

// Whatever is wrong with the notebook is answered with what, where and what to do;
// readings are kept all the same, and when it is over the notebook is there again.
func TestNotebookTrouble(t *testing.T) {
	t.Parallel()
	s, file := noted(t)
	s.reading("valve-snubber", "C7", "")
	var list NotebookList
	s.asks("", &list)
	readings := s.State().Readings
	for _, c := range []struct {
		name  string
		spoil func() (mend func())
		want  []string
	}{
		{"damaged", func() func() { return replaced(t, file, bytes.Repeat([]byte("no notebook "), 1000)) }, []string{"damaged or no notebook", "move it elsewhere"}},
		{"another's", func() func() { return replaced(t, file, []byte{}, "CREATE TABLE address (name TEXT)") }, []string{"damaged or no notebook"}},
		{"newer", func() func() { return altered(t, file, "PRAGMA user_version = 99") }, []string{"newer", "use that version"}},
		{"no file", func() func() { return replacedByFolder(t, file) }, []string{"no ordinary file"}},
		{"locked", func() func() { return locked(t, file) }, []string{"locked", "try again"}},
	} {
		mend := c.spoil()
		for _, path := range []string{"", "/1", "/1/result", "/history?label=C7"} {
			why := s.refuses(path, http.StatusServiceUnavailable)
			for _, w := range append(c.want, file) {
				if !strings.Contains(why, w) {
					t.Errorf("%s: GET %s: %q does not say %q", c.name, path, why, w)
				}
			}
			if c.name == "locked" {
				break // each waits for two seconds
			}
		}
		if c.name != "locked" {
			s.refused("notebook/1", `{"note": "x"}`, http.StatusServiceUnavailable)
		}
		if c.name == "damaged" {
			s.reading("valve-snubber", "C7", "")
			readings++
		}
		if st := s.State(); st.Readings != readings {
			t.Errorf("%s: %d readings are kept, want %d", c.name, st.Readings, readings)
		}
		mend()
		if s.asks("", &list); list.Total != 1 {
			t.Errorf("%s: %d entries when it is over, want 1", c.name, list.Total)
		}
	}
}

// replaced puts something else where the notebook is, with statements that are run
// there, and takes it away again.
func replaced(t *testing.T, file string, content []byte, statements ...string) (mend func()) {
	t.Helper()
	aside := file + ".aside"
	if err := os.Rename(file, aside); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, content, 0o600); err != nil {
		t.Fatal(err)
	}
	for _, text := range statements {
		execute(t, file, text)
	}
	return func() {
		if err := os.Rename(aside, file); err != nil {
			t.Fatal(err)
		}
	}
}

func replacedByFolder(t *testing.T, file string) (mend func()) {
	t.Helper()
	aside := file + ".aside"
	if err := os.Rename(file, aside); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(file, 0o700); err != nil {
		t.Fatal(err)
	}
	return func() {
		if err := os.Remove(file); err != nil {
			t.Fatal(err)
		}
		if err := os.Rename(aside, file); err != nil {
			t.Fatal(err)
		}
	}
}

// altered changes a copy, which takes the place of the notebook.
func altered(t *testing.T, file, statement string) (mend func()) {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return replaced(t, file, text, statement)
}

func execute(t *testing.T, file, statement string) {
	t.Helper()
	db, err := sql.Open("sqlite", "file://"+(&url.URL{Path: filepath.ToSlash(file)}).EscapedPath())
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.Exec(statement); err != nil {
		t.Fatal(err)
	}
}

// locked holds a copy of the notebook for itself alone.
func locked(t *testing.T, file string) (mend func()) {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	back := replaced(t, file, text)
	db, err := sql.Open("sqlite", "file://"+(&url.URL{Path: filepath.ToSlash(file)}).EscapedPath()+"?_pragma=locking_mode(EXCLUSIVE)")
	if err != nil {
		t.Fatal(err)
	}
	db.SetMaxOpenConns(1)
	if _, err := db.Exec("UPDATE entry SET note = 'mine'"); err != nil {
		t.Fatal(err)
	}
	return func() {
		db.Close()
		back()
	}
}
