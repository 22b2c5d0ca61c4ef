package page

import (
	"net/http"
	"os"
	"slices"
	"strings"
	"testing"
)

// The oldest recordings go once there are more than wanted; never those of the standards
// in use, nor those of the sweep that is shown.
func TestOldestRecordingsGo(t *testing.T) {
	t.Parallel()
	notShort(t)
	folder := t.TempDir()
	s := ready(t, Options{Folder: folder, Keep: 1})
	s.calibrateBySelf("~1k,~3k")
	recordings := s.desk.path(recordingsName)
	standards := wavs(t, recordings)
	if len(standards) != 3 {
		t.Fatalf("recordings of an open, a short and a load: %q", standards)
	}
	s.ok("tray/part", `{"name": "pull-up"}`)
	s.ok("sweep", `{"at": "~1k,~3k"}`)
	s.idle()
	swept := wavs(t, recordings)
	if len(swept) != len(standards)+2 {
		t.Fatalf("with those of a sweep: %q", swept)
	}
	var kept []*Kept
	decodeInto(t, s.ok("readings", `{"at": "~1k"}`), &kept)
	s.idle()
	if len(kept) != 1 || len(kept[0].Files) != 0 || len(kept[0].Gone) != 1 {
		t.Fatalf("the answer has %+v", kept)
	}
	if got := wavs(t, recordings); !slices.Equal(got, swept) {
		t.Errorf("left are %q, want those of the standards and the sweep, %q", got, swept)
	}
	if n := s.State().Notice; n == nil || !strings.Contains(n.Text, kept[0].Gone[0]) || !strings.Contains(n.Text, "removed") {
		t.Errorf("the page says %+v of what was removed", n)
	}
	_, text := s.call("GET", "/api/readings/1", "")
	var k Kept
	decodeInto(t, text, &k)
	if len(k.Files) != 0 || !slices.Equal(k.Gone, kept[0].Gone) || k.Sheet == nil || !k.Sheet.Trusted {
		t.Errorf("the reading has files %q, gone %q", k.Files, k.Gone)
	}
	for _, path := range []string{"/api/recordings/" + kept[0].Gone[0], "/api/readings/1/report"} {
		if status, text := s.call("GET", path, ""); status != http.StatusNotFound || !strings.Contains(text, "removed") {
			t.Errorf("%s: %d %s", path, status, text)
		}
	}
	// Another program goes on with the folder, and a new sweep sets the old one free.
	s.Close()
	s = serve(t, Options{Folder: folder, Keep: 1})
	s.ok("sweep", `{"at": "~1k"}`)
	s.idle()
	if got := wavs(t, recordings); len(got) != len(standards)+1 || slices.ContainsFunc(standards, func(f string) bool { return !slices.Contains(got, f) }) {
		t.Errorf("after another sweep: %q", got)
	}
	s.calibrateBySelf("~1k")
	if got := wavs(t, recordings); slices.ContainsFunc(standards, func(f string) bool { return slices.Contains(got, f) }) {
		t.Errorf("standards of the calibration before are kept: %q", got)
	}
}

// Without a limit, and within it, everything stays.
func TestRecordingsStay(t *testing.T) {
	t.Parallel()
	for _, most := range []int64{0, 1e9} {
		s := ready(t, Options{Keep: most})
		for range 2 {
			s.ok("readings", `{"at": "1k"}`)
			s.idle()
		}
		if got := wavs(t, s.desk.path(recordingsName)); len(got) != 2 {
			t.Errorf("a limit of %d bytes leaves %q", most, got)
		}
		for _, k := range s.Readings(10) {
			if len(k.Files) != 1 || len(k.Gone) != 0 {
				t.Errorf("reading %d: files %q, gone %q", k.ID, k.Files, k.Gone)
			}
		}
	}
}

// What cannot be removed is told, and spoils nothing.
func TestRecordingsThatCannotGo(t *testing.T) {
	t.Parallel()
	s := ready(t, Options{Keep: 1})
	if err := os.WriteFile(s.desk.path(standardsName), []byte("{"), 0o666); err != nil {
		t.Fatal(err)
	}
	s.ok("readings", `{"at": "1k"}`)
	s.idle()
	if n := s.State().Notice; n == nil || !strings.Contains(n.Text, standardsName) {
		t.Errorf("the page says %+v", n)
	}
	if got := wavs(t, s.desk.path(recordingsName)); len(got) != 1 {
		t.Errorf("left: %q", got)
	}
}

func wavs(t *testing.T, dir string) []string {
	t.Helper()
	files, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, f := range files {
		if strings.HasSuffix(f.Name(), ".wav") {
			names = append(names, f.Name())
		}
	}
	return names
}

func TestBytesText(t *testing.T) {
	for n, want := range map[int64]string{1: "1 bytes", 999: "999 bytes", 2e9: "2 GB", 1234567: "1.23 MB", 5e14: "500 TB"} {
		if got := bytesText(n); got != want {
			t.Errorf("%d: %q, want %q", n, got, want)
		}
	}
}
