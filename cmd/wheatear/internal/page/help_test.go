package page

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/demo"
)

var soak = flag.Bool("soak", false, "run the long tests")

// served is a bench that answers on a port of this computer.
type served struct {
	*Bench
	t    testing.TB
	url  string
	stop func() // and wait; may be called twice
}

// serve serves a folder.
func serve(t testing.TB, o Options) *served {
	t.Helper()
	return serveAt(t, o, "127.0.0.1:0")
}

func serveAt(t testing.TB, o Options, address string) *served {
	t.Helper()
	b, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	ln, err := net.Listen("tcp", address)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- b.Serve(ctx, ln) }()
	s := &served{Bench: b, t: t, url: "http://" + ln.Addr().String()}
	done := false
	s.stop = func() {
		if done {
			return
		}
		done = true
		cancel()
		if err := <-ended; err != nil {
			t.Errorf("serving: %v", err)
		}
	}
	t.Cleanup(s.stop)
	return s
}

// ready serves the simulated jig with the cautions read.
func ready(t testing.TB, o Options) *served {
	t.Helper()
	if o.Folder == "" {
		o.Folder = t.TempDir()
	}
	hasten(t, o.Folder)
	s := serve(t, o)
	s.ok("cautions", `{}`)
	s.ok("jig", `{"key": "simulated"}`)
	return s
}

// hasten makes the records of the simulated jig short, but as long as it takes to tell
// a tone of a sweep near 50 Hz from the mains.
func hasten(t testing.TB, folder string) {
	t.Helper()
	dir := filepath.Join(folder, simulatedKey)
	if err := os.MkdirAll(dir, 0o777); err != nil {
		t.Fatal(err)
	}
	text := strings.Replace(string(demo.Jig), "seconds = 1.0", "seconds = 0.6", 1)
	if err := os.WriteFile(filepath.Join(dir, "jig.toml"), []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
}

// call makes a request with a body, or without for "".
func (s *served) call(method, path, body string, header ...string) (status int, text string) {
	s.t.Helper()
	var in io.Reader
	if body != "" {
		in = strings.NewReader(body)
	}
	req, err := http.NewRequest(method, s.url+path, in)
	if err != nil {
		s.t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/json")
	for i := 0; i+1 < len(header); i += 2 {
		if header[i] == "Host" {
			req.Host = header[i+1]
		}
		req.Header.Set(header[i], header[i+1])
	}
	resp, err := still.Do(req)
	if err != nil {
		s.t.Fatal(err)
	}
	defer resp.Body.Close()
	out, err := io.ReadAll(resp.Body)
	if err != nil {
		s.t.Fatal(err)
	}
	if err := holdTo(method, path, body, resp.StatusCode, resp.Header.Get("Content-Type"), out); err != nil {
		s.t.Errorf("%s %s: %v", method, path, err)
	}
	return resp.StatusCode, string(out)
}

// still follows no redirect and keeps no connection.
var still = &http.Client{
	CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	Transport:     &http.Transport{DisableKeepAlives: true},
}

// ok posts something that must be taken, and returns the answer.
func (s *served) ok(path, body string, header ...string) string {
	s.t.Helper()
	status, text := s.call("POST", "/api/"+path, body, header...)
	if status != http.StatusOK {
		s.t.Fatalf("POST %s %s: %d %s", path, body, status, text)
	}
	return text
}

// refused posts something that must not be taken, and returns why.
func (s *served) refused(path, body string, want int, header ...string) string {
	s.t.Helper()
	status, text := s.call("POST", "/api/"+path, body, header...)
	var p problem
	if err := json.Unmarshal([]byte(text), &p); status != want || err != nil || p.Error == "" {
		s.t.Errorf("POST %s %s: %d %s, want %d and why", path, body, status, text, want)
	}
	return p.Error
}

// idle waits until the card is free.
func (s *served) idle() {
	s.t.Helper()
	s.until("the card is free", func(st *State) bool { return st.Owner == nil })
}

// until waits for a state.
func (s *served) until(what string, reached func(*State) bool) {
	s.t.Helper()
	const most = 4 * time.Minute // far more than anything here takes, on a busy machine and with the race detector too
	for began := time.Now(); time.Since(began) < most; time.Sleep(5 * time.Millisecond) {
		if st := s.State(); reached(st) {
			s.holdState(st)
			return
		}
	}
	st := s.State()
	s.t.Fatalf("waited in vain until %s; card: %+v, told: %+v", what, st.Owner, st.Notice)
}

// holdState holds a state to the document of the interface.
func (s *served) holdState(st *State) {
	s.t.Helper()
	d, err := described()
	if err != nil {
		s.t.Fatal(err)
	}
	text, err := json.Marshal(st)
	if err == nil {
		err = d.valid(text, "components", "schemas", "State")
	}
	if err != nil {
		s.t.Errorf("the state: %v", err)
	}
}

// calibrated lets the simulated jig calibrate itself.
func (s *served) calibrateBySelf(at string) {
	s.t.Helper()
	s.ok("calibration", `{"at": "`+at+`", "loads": ["1k/0.1%"], "auto": true}`)
	s.until("it is calibrated", func(st *State) bool { return st.Owner == nil && st.Calibration != nil && st.Guide == nil })
}

func decodeInto(t testing.TB, text string, v any) {
	t.Helper()
	if err := json.NewDecoder(bytes.NewReader([]byte(text))).Decode(v); err != nil {
		t.Fatalf("%v: %s", err, text)
	}
}

// notShort leaves a test out of short runs: it computes much, which the race detector
// makes twenty times slower and finds nothing in.
func notShort(t *testing.T) {
	t.Helper()
	if testing.Short() {
		t.Skip("computes much: not in short runs")
	}
}
