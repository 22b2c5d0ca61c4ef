package page

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"os"
	"strings"
	"sync"
	"testing"

	"example.org/wheatear/lockin/fixture"
)

// What the page makes goes into the notebook with the files it rests on; where that
// cannot be, the page says so, and what was read is kept all the same.
func TestNotebookIsTold(t *testing.T) {
	t.Parallel()
	var mu sync.Mutex
	var schemas []string
	var trouble error
	enter := func(part, _, jigFile, calFile string, cal *fixture.Calibration, files, _ []string, write func(io.Writer) error) error {
		mu.Lock()
		defer mu.Unlock()
		var text bytes.Buffer
		var doc struct{ Schema string }
		if err := errors.Join(write(&text), json.Unmarshal(text.Bytes(), &doc)); err != nil {
			t.Error(err)
		}
		schemas = append(schemas, doc.Schema)
		for _, f := range append([]string{jigFile, calFile}, files...) {
			if _, err := os.Stat(f); err != nil {
				t.Errorf("%s of %q: %v", doc.Schema, part, err)
			}
		}
		if cal == nil || len(files) == 0 {
			t.Errorf("%s: calibration %v, files %q", doc.Schema, cal, files)
		}
		return trouble
	}
	s := ready(t, Options{Enter: enter})
	s.calibrateBySelf("~1k")
	s.ok("tray/part", `{"name": "pull-up"}`)
	s.ok("readings", `{"at": "~1k"}`)
	mu.Lock()
	got := strings.Join(schemas, " ")
	trouble = errors.New("notebook: n.db: the disk is full")
	mu.Unlock()
	if got != "wheatear.calibrate/1 wheatear.measure/1" {
		t.Errorf("entered: %s", got)
	}
	s.ok("readings", `{"at": "~1k"}`)
	if st := s.State(); st.Readings != 2 || st.Notice == nil || !st.Notice.Bad || !strings.Contains(st.Notice.Text, "not in the notebook") || !strings.Contains(st.Notice.Text, "the disk is full") {
		t.Errorf("%d readings, told: %+v", st.Readings, st.Notice)
	}
}
