package page

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"strings"
	"testing"
)

// asking is a command that tells its arguments, asks once, and draws.
func asking(_ context.Context, e Errand) int {
	fmt.Fprintln(e.Talk, "Connect the resistor.")
	answer, err := bufio.NewReader(e.In).ReadString('\n')
	if errors.Is(err, io.EOF) {
		return 1
	}
	json.NewEncoder(e.Out).Encode(map[string]any{"args": e.Args, "answered": answer})
	for _, a := range e.Args {
		if file, ok := strings.CutPrefix(a, "--chart="); ok {
			os.WriteFile(file, []byte("<svg/>"), 0o666)
		}
	}
	return 4
}

// A task is the command with what is on the bench; what it asks is shown, and what
// came of it is kept.
func TestTask(t *testing.T) {
	folder := t.TempDir()
	s := ready(t, Options{Folder: folder, Command: asking, Commands: []string{"plan", "verify"}})
	s.refused("tasks/incircuit", `{"expect": "1k"}`, http.StatusNotFound)
	s.refused("answer", `{"text": ""}`, http.StatusConflict)
	s.ok("tasks/plan", `{"expect": "--jig=/etc/passwd", "drawer": " 1k "}`)
	s.until("it asks", func(st *State) bool { return len(st.Talk) == 1 && st.Talk[0] == "Connect the resistor." })
	s.refused("answer", `{"text": "two\nlines"}`, http.StatusBadRequest)
	s.refused("live", `{"at": "1k"}`, http.StatusConflict)
	s.ok("answer", `{"text": "s"}`)
	s.idle()
	task, err := s.TaskResult("plan")
	if err != nil {
		t.Fatal(err)
	}
	result := string(task.Result)
	if !strings.Contains(result, `"--expect=--jig=/etc/passwd","--drawer=1k","--aside","--grid","--json"`) || !strings.Contains(result, `"answered":"s\n"`) || task.Status != 4 || !task.Chart || task.Report {
		t.Errorf("got %+v: %s", task, result)
	}
	if status, text := s.call("GET", "/api/tasks/plan/chart", ""); status != http.StatusOK || text != "<svg/>" {
		t.Errorf("its drawing: %d %s", status, text)
	}
	s.ok("tasks/verify", `{}`)
	s.until("it asks", func(st *State) bool { return len(st.Talk) == 1 })
	s.ok("stop", `{}`)
	s.idle()
	s.stop()
	s = serve(t, Options{Folder: folder, Command: asking, Commands: []string{"plan"}})
	if _, text := s.call("GET", "/api/tasks/plan", ""); !strings.Contains(text, "answered") {
		t.Errorf("after a new start: %s", text)
	}
	if status, _ := s.call("GET", "/verify", ""); status != http.StatusNotFound {
		t.Errorf("a page for a command that is not there: %d", status)
	}
}

// Reports of readings and sweeps stand alone: nothing is loaded from anywhere.
func TestReports(t *testing.T) {
	notShort(t)
	s := ready(t, Options{})
	s.ok("tray/part", `{"name": "valve-snubber"}`)
	s.ok("readings", `{"at": "~1k", "part": "C7 <b>"}`)
	s.ok("sweep", `{"at": "~1k,~2k", "together": true}`)
	s.idle()
	for _, path := range []string{"/api/readings/1/report", "/api/sweep/file/html"} {
		status, text := s.call("GET", path, "")
		if status != http.StatusOK || !strings.Contains(text, "</html>") || strings.Contains(text, "C7 <b>") {
			t.Errorf("%s: %d %.60s", path, status, text)
		}
		for _, bad := range []string{"<script", "src=\"http", "href=\"http", "@import"} {
			if strings.Contains(text, bad) {
				t.Errorf("%s holds %s", path, bad)
			}
		}
	}
	if status, _ := s.call("GET", "/api/readings/2/report", ""); status != http.StatusNotFound {
		t.Errorf("a report of no reading: %d", status)
	}
}
