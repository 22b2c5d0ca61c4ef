package cli

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestStatusJoin(t *testing.T) {
	for _, tc := range []struct {
		in   []Status
		want Status
	}{
		{nil, Done}, {[]Status{Untrusted, Failed}, Failed}, {[]Status{Failed, Untrusted}, Failed}, {[]Status{OtherVerdict, Untrusted, Done}, Untrusted},
		{[]Status{OtherVerdict, Usage}, Usage}, {[]Status{Done, OtherVerdict}, OtherVerdict},
	} {
		var s Status
		for _, one := range tc.in {
			s.join(one)
		}
		if s != tc.want {
			t.Errorf("%v: %d, want %d", tc.in, s, tc.want)
		}
	}
}

func TestPlainDropsPackages(t *testing.T) {
	for in, want := range map[string]string{
		"fixture: jig.toml:3: colour: unknown key": "jig.toml:3: colour: unknown key",
		"fixture: lockin: no tone":                 "no tone",
		"jig: lockin: x":                           "jig: x",
		"jig: lockin x":                            "jig: lockin x",
		"nothing to drop":                          "nothing to drop",
	} {
		if got := plain(errors.New(in)); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

func TestWriteFileIsAllOrNothing(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "cal.json")
	write := func(text string, fail error) error {
		return writeFile(name, func(w io.Writer) error {
			io.WriteString(w, text)
			return fail
		})
	}
	if err := write("old", nil); err != nil {
		t.Fatal(err)
	}
	broken := errors.New("broken off")
	if err := write("new, but not all of", broken); !errors.Is(err, broken) {
		t.Errorf("got %v", err)
	}
	if data, err := os.ReadFile(name); err != nil || string(data) != "old" {
		t.Errorf("%q, %v: the old file is gone", data, err)
	}
	if err := write("new", nil); err != nil {
		t.Fatal(err)
	}
	if data, _ := os.ReadFile(name); string(data) != "new" {
		t.Errorf("%q", data)
	}
	if left, _ := os.ReadDir(dir); len(left) != 1 {
		t.Errorf("%d files are left", len(left))
	}
}

// A link stays a link to what is written anew.
func TestWriteFileThroughLink(t *testing.T) {
	dir := t.TempDir()
	target, link := filepath.Join(dir, "target"), filepath.Join(dir, "link")
	if err := os.WriteFile(target, []byte("old"), 0o666); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(target, link); err != nil {
		t.Skip(err)
	}
	err := writeFile(link, func(w io.Writer) error { _, err := io.WriteString(w, "new"); return err })
	if data, _ := os.ReadFile(target); err != nil || string(data) != "new" {
		t.Errorf("%q, %v", data, err)
	}
	if info, err := os.Lstat(link); err != nil || info.Mode()&os.ModeSymlink == 0 {
		t.Errorf("the link is gone: %v", err)
	}
}

func TestFlagValues(t *testing.T) {
	var l level
	for text, want := range map[string]float64{"-12dBFS": -12, "-12": -12, "-6 dbfs": -6, "\u221220dBFS": -20, "0": 0} {
		if err := l.Set(text); err != nil || l.db != want {
			t.Errorf("level %q: %g, %v", text, l.db, err)
		}
	}
	for _, text := range []string{"", "loud", "1", "NaN", "-1000", "-12dB"} {
		if err := l.Set(text); err == nil {
			t.Errorf("level %q is accepted", text)
		}
	}
	var load loads
	if err := load.Set("4k7/0.1%=a=b.wav"); err != nil || load.files[0].load.Ohm != 4700 || load.files[0].load.Tolerance != 1e-3 || load.files[0].file != "a=b.wav" {
		t.Errorf("%+v, %v", load, err)
	}
	if err := load.Set("100/1%"); err != nil || load.files[1].file != "" {
		t.Errorf("a load yet to be recorded: %+v, %v", load, err)
	}
	if some, all := load.recorded(); !some || all {
		t.Errorf("one of two loads is recorded: some %v, all %v", some, all)
	}
	for _, text := range []string{"", "1k", "1k=l.wav", "1k/1%=", "0/1%=l.wav", "1k/x=l.wav"} {
		if err := load.Set(text); err == nil {
			t.Errorf("load %q is accepted", text)
		}
	}
}

func TestNearest(t *testing.T) {
	list := []float64{990, 1000, 1010}
	if f, ok := nearest(list, 1003, 0.01); !ok || f != 1000 {
		t.Errorf("%g, %v", f, ok)
	}
	if _, ok := nearest(list, 1100, 0.01); ok {
		t.Error("found what is too far off")
	}
	if _, ok := nearest(nil, 1, 1); ok {
		t.Error("found something in nothing")
	}
}

// full is a disk without room.
type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no room") }

func TestRunTellsWhenOutputFails(t *testing.T) {
	var talk bytes.Buffer
	status := Run(context.Background(), []string{"help", "wiring"}, strings.NewReader(""), full{}, &talk)
	if status != int(Failed) || !strings.Contains(talk.String(), "no room") {
		t.Errorf("status %d, %q", status, talk.String())
	}
}

func TestRunInterrupted(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	var out, talk bytes.Buffer
	name := filepath.Join(t.TempDir(), "tone.wav")
	status := Run(ctx, []string{"stimulus", "--at", "1k", "--out", name}, strings.NewReader(""), &out, &talk)
	if status != int(Failed) || !strings.Contains(talk.String(), "interrupted") {
		t.Errorf("status %d, %q", status, talk.String())
	}
	if _, err := os.Stat(name); err == nil {
		t.Error("half a file is left behind")
	}
}
