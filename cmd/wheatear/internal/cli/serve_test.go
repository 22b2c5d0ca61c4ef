package cli

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"
)

// served is the command serve at work, and where its page is.
type served struct {
	url    string
	stop   func() int
	listen *bufio.Reader
}

func serving(t *testing.T, args ...string) *served {
	t.Helper()
	t.Setenv("WHEATEAR_NOTEBOOK", "off")
	ctx, cancel := context.WithCancel(context.Background())
	said, talk := io.Pipe()
	ended := make(chan int, 1)
	go func() {
		ended <- Run(ctx, append([]string{"serve"}, args...), strings.NewReader(""), io.Discard, talk)
		talk.Close()
	}()
	s := &served{listen: bufio.NewReader(said)}
	line, err := s.listen.ReadString('\n')
	s.url = regexp.MustCompile(`http://\S*`).FindString(line)
	if err != nil || s.url == "" {
		cancel()
		t.Fatalf("no address in %q, %v", line, err)
	}
	go io.Copy(io.Discard, s.listen)
	s.stop = func() int { cancel(); return <-ended }
	t.Cleanup(cancel)
	return s
}

func fetch(t *testing.T, method, url, body string) (int, string) {
	t.Helper()
	req, err := http.NewRequest(method, url, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/json")
	resp, err := (&http.Client{Transport: &http.Transport{DisableKeepAlives: true}}).Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	text, _ := io.ReadAll(resp.Body)
	return resp.StatusCode, string(text)
}

// at asks the page for something.
func (s *served) at(t *testing.T, path, body string) {
	t.Helper()
	if status, text := fetch(t, "POST", s.url+"api/"+path, body); status != http.StatusOK {
		t.Fatalf("%s: %d %s", path, status, text)
	}
}

// done is what came of a task.
type done struct {
	Status int
	Result map[string]any
	Chart  bool
	Report bool
}

// does has a task done.
func (s *served) does(t *testing.T, name, body string) *done {
	t.Helper()
	s.at(t, "tasks/"+name, body)
	var task *done
	for began := time.Now(); task == nil && time.Since(began) < time.Minute; time.Sleep(20 * time.Millisecond) {
		_, text := fetch(t, "GET", s.url+"api/tasks/"+name, "")
		if err := json.Unmarshal([]byte(text), &task); err != nil {
			t.Fatal(err)
		}
	}
	if task == nil {
		t.Fatalf("%s does not end", name)
	}
	return task
}

// Without anything but its name the command gives a page; the commands of the program
// are tasks there, on the jig with what is spoilt at it; the end of the context ends it.
func TestServe(t *testing.T) {
	s := serving(t, "--listen", "127.0.0.1:0", "--folder", t.TempDir())
	s.at(t, "cautions", `{}`)
	s.at(t, "jig", `{"key": "simulated"}`)
	if plan := s.does(t, "plan", `{"expect": "100n"}`); plan.Status != 0 || plan.Result["schema"] != "wheatear.plan/1" || !plan.Chart {
		t.Errorf("planned: %+v", plan)
	}
	s.at(t, "tray/faults", `{"on": ["mono"]}`)
	verified := s.does(t, "verify", `{"loads": ["1k/0.1%"], "skip": "long,drift,levels,open,short,reference,check"}`)
	if verified.Status != int(OtherVerdict) || !strings.Contains(fmt.Sprint(verified.Result["findings"], verified.Result["faults"]), "mono") || !verified.Report {
		t.Errorf("with both inputs joined: %+v", verified)
	}
	if status := s.stop(); status != 0 {
		t.Errorf("ended with %d", status)
	}
}

// Where others can reach the page a token is drawn, which opens it.
func TestServeBeyondThisComputer(t *testing.T) {
	s := serving(t, "--listen", "0.0.0.0:0", "--folder", t.TempDir())
	address, token, ok := strings.Cut(s.url, "?token=")
	address = strings.Replace(address, "0.0.0.0", "127.0.0.1", 1)
	address = strings.Replace(address, "[::]", "127.0.0.1", 1)
	if !ok || len(token) < 16 {
		t.Fatalf("no token in %s", s.url)
	}
	if status, _ := fetch(t, "GET", address+"api/state", ""); status != http.StatusUnauthorized {
		t.Errorf("without it: %d", status)
	}
	if status, _ := fetch(t, "GET", address+"start?token="+token, ""); status != http.StatusUnauthorized {
		t.Errorf("a client that keeps no cookie is let in with %d", status)
	}
	s.stop()
}

// What cannot be served is an error that says what to do.
func TestServeErrors(t *testing.T) {
	s := serving(t, "--listen", "127.0.0.1:0", "--folder", t.TempDir())
	defer s.stop()
	taken := strings.Trim(strings.TrimPrefix(s.url, "http://"), "/")
	damaged := t.TempDir()
	if err := os.WriteFile(damaged+"/bench.json", []byte(`{"schema": "other/1"}`), 0o666); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		args []string
		says string
	}{
		{[]string{"--listen", taken, "--folder", t.TempDir()}, "--listen"},
		{[]string{"--listen", "127.0.0.1:0", "--jig", "none.toml", "--folder", t.TempDir()}, "none.toml"},
		{[]string{"--listen", "127.0.0.1:0", "--folder", damaged}, "name another --folder"},
		{[]string{"--listen", "0.0.0.0:0", "--token", "short", "--folder", t.TempDir()}, "token"},
	} {
		var talk strings.Builder
		if status := Run(context.Background(), append([]string{"serve"}, c.args...), strings.NewReader(""), io.Discard, &talk); status != 1 || !strings.Contains(talk.String(), c.says) {
			t.Errorf("%s: status %d, %q", fmt.Sprint(c.args), status, talk.String())
		}
	}
}

// The addresses that are printed work from another computer, and nothing is stuck to
// them; the token comes from where other users do not see it.
func TestServingOthers(t *testing.T) {
	file := t.TempDir() + "/token"
	if err := os.WriteFile(file, []byte("correct-horse-battery\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{"--token-file", file}, {}} {
		t.Setenv(tokenEnv, "correct-horse-battery")
		s := serving(t, append(args, "--listen", "0.0.0.0:0", "--folder", t.TempDir())...)
		if !strings.HasSuffix(s.url, "/?token=correct-horse-battery") || strings.Contains(s.url, "0.0.0.0") {
			t.Errorf("%q: address %s", args, s.url)
		}
		client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
		if resp, err := client.Get(s.url); err != nil || resp.Body.Close() != nil || resp.StatusCode != http.StatusSeeOther {
			t.Errorf("%s: %v, %v", s.url, resp, err)
		}
		if status := s.stop(); status != 0 {
			t.Errorf("exit status %d", status)
		}
	}
}

func TestHosts(t *testing.T) {
	all := func() ([]net.Addr, error) {
		var list []net.Addr
		for _, ip := range []string{"127.0.0.1", "192.0.2.7", "fe80::1", "2001:db8::7", "::1"} {
			list = append(list, &net.IPNet{IP: net.ParseIP(ip)})
		}
		return list, nil
	}
	none := func() ([]net.Addr, error) { return nil, os.ErrPermission }
	for _, c := range []struct {
		ip    string
		names []string
		from  func() ([]net.Addr, error)
		want  string
	}{
		{"0.0.0.0", nil, all, "[192.0.2.7:80]"},
		{"::", nil, all, "[192.0.2.7:80 [2001:db8::7]:80]"},
		{"::", nil, none, "[127.0.0.1:80]"},
		{"192.0.2.7", []string{"bench.example"}, all, "[bench.example:80 192.0.2.7:80]"},
		{"127.0.0.1", nil, all, "[127.0.0.1:80]"},
		{"::1", nil, all, "[[::1]:80]"},
	} {
		if got := fmt.Sprint(hosts(&net.TCPAddr{IP: net.ParseIP(c.ip), Port: 80}, c.names, c.from)); got != c.want {
			t.Errorf("%s %q: %s, want %s", c.ip, c.names, got, c.want)
		}
	}
}
