//go:build unix

package cli

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"example.org/wheatear/audio/wave"
	"example.org/wheatear/cmd/wheatear/internal/bench"
	"example.org/wheatear/cmd/wheatear/internal/clitest"
	"example.org/wheatear/cmd/wheatear/internal/notebook"
)

// What one command may take for a file, however that has been spoilt.
const (
	mostCPU   = 5 * time.Second
	mostWait  = 2 * time.Minute // of a machine with other things to do, too
	mostBytes = 300 << 20
)

// victim is a kind of file that a person hands to the program, and what reads it.
type victim struct {
	name    string
	good    []byte
	file    string                // where a spoilt one is put
	reseal  func(b []byte) []byte // makes sums right again; nil where there are none
	command []string
	book    string   // the notebook; empty for none
	reset   []string // files to be removed before each run
}

// quickTone is a jig whose recordings take little time.
const quickTone = "rate = 8000\nseconds = 0.2\n"

// victims makes a good file of each kind by the program itself.
func victims(t *testing.T) []victim {
	t.Helper()
	dir := t.TempDir()
	t.Setenv("XDG_DATA_HOME", filepath.Join(dir, "data"))
	t.Setenv("HOME", dir)
	at := func(name string) string { return filepath.Join(dir, name) }
	must := func(line string, more ...string) string {
		t.Helper()
		var out, talk bytes.Buffer
		status := Run(context.Background(), append(strings.Fields(line), more...), strings.NewReader(""), &out, &talk)
		if status != 0 && status != 3 && status != 4 {
			t.Fatalf("%s: %d %s", line, status, talk.String())
		}
		return out.String()
	}
	write := func(name, text string) {
		if err := os.WriteFile(at(name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	read := func(name string) []byte {
		b, err := os.ReadFile(at(name))
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	jigs := clitest.Bench{Ohm: 1000, RateHz: 8000, Seconds: 0.4, Noise: 1e-5, Seed: 1}
	for name, part := range map[string]string{"part.wav": "C100e-9", "open.wav": "open", "short.wav": "short", "load.wav": "R1000"} {
		if err := jigs.Write(at(name), part, []float64{1000}); err != nil {
			t.Fatal(err)
		}
	}
	write("jig.toml", clitest.Jig)
	live := strings.Replace(clitest.LiveJig, "seconds = 0.7\n", quickTone, 1)
	write("live.toml", live)
	write("tray.toml", clitest.Tray)
	t.Setenv(notebook.Env, notebook.Off)
	must("calibrate --at 1k --jig", at("jig.toml"), "--open", at("open.wav"), "--short", at("short.wav"), "--load", "1k/0.1%="+at("load.wav"), "--out", at("cal.json"))
	must("sort --at 1k --expect 100nJ --part c100n --jig", at("live.toml"), "--csv", at("lot.csv"))
	t.Setenv(notebook.Env, at("n.db"))
	must("measure --at 1k --label film --jig", at("jig.toml"), "--calibration", at("cal.json"), "--recording", at("part.wav"))
	must("notebook export --out", at("export.jsonl"))
	t.Setenv(notebook.Env, notebook.Off)
	shelf, err := bench.Open()
	if err != nil {
		t.Fatal(err)
	}
	kept, err := shelf.Remember("test jig", at("jig.toml"))
	if err == nil {
		_, err = kept.Keep(read("cal.json"), time.Now())
	}
	if err != nil {
		t.Fatal(err)
	}
	must("bench export", at("bench.zip"))
	write("state.json", finishedState(t, at("live.toml"), []byte(live)))
	write("coil.s1p", "! a coil\n# Hz Z RI R 50\n100 10 6.3\n1000 10.2 63\n10000 11 631\n")

	floats := func(bits int) []byte {
		f, err := os.Open(at("part.wav"))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		rec, err := wave.ReadAll(f, nil)
		if err != nil {
			t.Fatal(err)
		}
		name := at("float.wav")
		w, err := os.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		defer w.Close()
		if _, err := wave.WriteAll(w, rec, bits, true); err != nil {
			t.Fatal(err)
		}
		return read("float.wav")
	}
	measure := func(jig, cal, wav string) []string {
		return []string{"measure", "--at", "1k", "--json", "--jig", at(jig), "--calibration", cal, "--recording", at(wav)}
	}
	list := []victim{
		{name: "WAV", good: read("part.wav"), file: "x.wav", command: measure("jig.toml", at("cal.json"), "x.wav")},
		{name: "float WAV", good: floats(32), file: "x.wav", command: measure("jig.toml", "none", "x.wav")},
		{name: "double WAV", good: floats(64), file: "x.wav", command: measure("jig.toml", "none", "x.wav")},
		{name: "jig", good: read("jig.toml"), file: "x.toml", command: measure("x.toml", "none", "part.wav")},
		{name: "tray", good: read("tray.toml"), file: "tray.toml", command: []string{"measure", "--json", "--at", "1k", "--part", "c100n", "--jig", at("live.toml")}},
		{name: "calibration", good: read("cal.json"), file: "x.json", command: measure("jig.toml", at("x.json"), "part.wav"), reseal: resealCalibration},
		{name: "sweep state", good: read("state.json"), file: "x.json", command: []string{"sweep", "--json", "--resume", at("x.json")}},
		{name: "sort records", good: read("lot.csv"), file: "x.csv", command: []string{"sort", "--json", "--at", "1k", "--expect", "100nJ", "--part", "c100n", "--jig", at("live.toml"), "--csv", at("x.csv")}},
		{name: "Touchstone", good: read("coil.s1p"), file: "x.s1p", command: []string{"fit", "--json", "--touchstone", at("x.s1p"), "--circuit", "R + L"}},
		{name: "notebook export", good: read("export.jsonl"), file: "x.jsonl", command: []string{"notebook", "import", at("x.jsonl")}, book: at("new.db"), reset: []string{"new.db"}, reseal: resealExport},
		{name: "notebook", good: read("n.db"), file: "x.db", command: []string{"notebook", "export"}, book: at("x.db")},
		{name: "bench export", good: read("bench.zip"), file: "x.zip", command: []string{"bench", "import", at("x.zip")}},
	}
	for i := range list {
		list[i].file = at(list[i].file)
		for k, name := range list[i].reset {
			list[i].reset[k] = at(name)
		}
	}
	return list
}

// finishedState is a sweep of which one point is missing no more, as its file has it.
func finishedState(t *testing.T, jig string, text []byte) string {
	t.Helper()
	sum := sha256.Sum256(text)
	q := `{"value": 100, "u": 1, "low": 98, "high": 102, "dof": 50}`
	three := "[" + q + "," + q + "," + q + "]"
	point := func(freq string) string {
		return `{"frequency_nominal_hz": ` + freq + `, "files": ["part-1.wav"], "trusted": true, "part_v_rms": 0.1, "part_a_rms": 1e-4, "reading": {` +
			`"frequency_hz": {"value": ` + freq + `, "u": 0.001, "low": ` + freq + `, "high": ` + freq + `}, "state": "ok", "re_ohm": ` + q + `, "im_ohm": ` + q + `, "correlation": 0.1,` +
			`"modulus_ohm": ` + q + `, "phase_rad": ` + q + `, "g_b_modulus_siemens": ` + three + `, "series_ohm_f_h": ` + three + `, "parallel_ohm_f_h": ` + three + `,` +
			`"q": ` + q + `, "d": ` + q + `, "confidence": 0.9, "passivity": 1}, "findings": []}`
	}
	return fmt.Sprintf(`{"schema": "wheatear.sweep-state/1", "jig": {"file": %q, "sha256": "%s"}, "calibration": null, "part": "c100n", "level": {"value": -12, "unit": "dBFS"},
"to": 0.01, "within_s": 5, "frequencies_hz": [300, 1000], "signal_s": 1.5, "unreached": 0, "points": [%s,
%s]}`, jig, hex.EncodeToString(sum[:]), point("300"), point("1000"))
}

var checksum = regexp.MustCompile(`"checksum": ?"[^"]*"`)

// resealCalibration puts the sum right, so that what is read is what was spoilt.
func resealCalibration(b []byte) []byte {
	var tight bytes.Buffer
	if json.Compact(&tight, checksum.ReplaceAll(b, []byte(`"checksum":""`))) != nil {
		return b
	}
	sum := sha256.Sum256(tight.Bytes())
	return checksum.ReplaceAll(b, []byte(`"checksum": "sha256:`+hex.EncodeToString(sum[:])+`"`))
}

var exportKey = regexp.MustCompile(`"key":"[0-9a-f]*",`)

// resealExport drops the keys, which are optional.
func resealExport(b []byte) []byte { return exportKey.ReplaceAll(b, nil) }

var (
	numbers  = regexp.MustCompile(`-?\d+(\.\d+)?([eE][-+]?\d+)?`)
	extremes = []string{"1e+303", "-1e+303", "1e-303", "-1e-303", "1e+400", "NaN", "Infinity", "-Inf", "nan", "inf", "0", "-0", "-1", "1e+19", "1e+30", "1e-30",
		"99999999999999999999", "9007199254740993", "null", `""`, "true", "[]", "{}", "1e", "0x1p-1074"}
)

// extreme puts another value in the place of a number.
func extreme(r *rand.Rand, b []byte, value string) []byte {
	found := numbers.FindAllIndex(b, -1)
	if len(found) == 0 {
		return b
	}
	at := found[r.IntN(len(found))]
	return slices.Concat(b[:at[0]], []byte(value), b[at[1]:])
}

// patterns are what numbers in binary files may be made to be.
func patterns() (list [][]byte) {
	for _, v := range []uint64{0, 1, math.MaxUint64, 1 << 63, 1<<63 - 1, 1 << 31, 1<<31 - 1, 0xFFFFFFFF, 0x8000, 0x7FFF,
		math.Float64bits(1e303), math.Float64bits(-1e303), math.Float64bits(1e-303), math.Float64bits(math.NaN()), math.Float64bits(math.Inf(-1)),
		uint64(math.Float32bits(1e38)), uint64(math.Float32bits(-3e-39)), uint64(math.Float32bits(float32(math.NaN()))), uint64(math.Float32bits(float32(math.Inf(1))))} {
		list = append(list, binary.LittleEndian.AppendUint64(nil, v))
	}
	return list
}

// spoil changes a file at one to four places.
func spoil(r *rand.Rand, good []byte) []byte {
	b := slices.Clone(good)
	all := patterns()
	for range 1 + r.IntN(4) {
		if len(b) == 0 {
			return b
		}
		at := r.IntN(len(b))
		if r.IntN(2) == 0 {
			at = r.IntN(min(len(b), 100)) // what says what follows
		}
		to := min(len(b), at+1+r.IntN(40))
		switch r.IntN(9) {
		case 0:
			b[at] ^= 1 << r.IntN(8)
		case 1:
			b[at] = byte(r.IntN(256))
		case 2:
			b = slices.Delete(b, at, to)
		case 3:
			b = slices.Insert(b, at, b[at:to]...)
		case 4:
			b = b[:at]
		case 5, 6:
			b = extreme(r, b, extremes[r.IntN(len(extremes))])
		case 7:
			copy(b[at:], all[r.IntN(len(all))][:[]int{2, 4, 8}[r.IntN(3)]])
		case 8:
			b = slices.Insert(b, at, bytes.Repeat(b[at:to], 1+r.IntN(200))...)
		}
	}
	return b
}

// notForPeople is what no answer of the program holds.
var notForPeople = regexp.MustCompile(`(?i)covariance|goroutine |runtime error|panic|\bnot positive`)

// notANumber is what no result holds.
var notANumber = regexp.MustCompile(`(?:^|[ :(±])(?:NaN|[-+]?Inf)\b`)

// survives runs a command with a spoilt file. The file is left where a person finds it
// if the program does not take it well.
func (v victim) survives(t *testing.T, b []byte, calm bool) (status int) {
	t.Helper()
	for _, name := range v.reset {
		os.Remove(name)
	}
	if err := os.WriteFile(v.file, b, 0o600); err != nil {
		t.Fatal(err)
	}
	t.Setenv(notebook.Env, cmp.Or(v.book, notebook.Off))
	bad := func(format string, args ...any) {
		t.Helper()
		f, err := os.CreateTemp("", "spoilt-*")
		if err == nil {
			_, _ = f.Write(b)
			f.Close()
			format += " (" + f.Name() + ")"
		}
		t.Errorf(v.name+": "+format, args...)
	}
	var out, talk bytes.Buffer
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	began := cpuTime()
	done := make(chan any, 1)
	go func() {
		defer func() { done <- recover() }()
		status = Run(context.Background(), v.command, strings.NewReader(""), &out, &talk)
	}()
	select {
	case caught := <-done:
		if caught != nil {
			bad("panic: %v", caught)
			return status
		}
	case <-time.After(mostWait):
		bad("it hangs")
		t.FailNow()
	}
	used := cpuTime() - began
	runtime.ReadMemStats(&after)
	if used > mostCPU {
		bad("%v of computing", used)
	}
	if n := after.TotalAlloc - before.TotalAlloc; n > mostBytes {
		bad("%d MB", n>>20)
	}
	if m := notForPeople.FindString(out.String() + talk.String()); m != "" {
		bad("says %q: %.300s %.300s", m, out.String(), talk.String())
	}
	if m := notANumber.FindString(out.String()); m != "" && calm {
		bad("status %d, a result of %q: %.600s", status, m, around(out.String(), m))
	}
	if status < 0 || status > 4 {
		bad("status %d", status)
	}
	return status
}

// restore puts the good file back, since others may read it.
func (v victim) restore(t *testing.T) {
	if err := os.WriteFile(v.file, v.good, 0o600); err != nil {
		t.Error(err)
	}
}

// around is the place of a text in another.
func around(text, m string) string {
	i := strings.Index(text, m)
	return text[max(0, i-200):min(len(text), i+100)]
}

// cpuTime is what this process has computed so far.
func cpuTime() time.Duration {
	var u syscall.Rusage
	_ = syscall.Getrusage(syscall.RUSAGE_SELF, &u)
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// Files of every kind, spoilt at random: no crash, no hang, no gigabytes, and no
// answer that is none.
func TestSpoiltFiles(t *testing.T) {
	n := 4
	if *soak {
		n = 10000
	}
	for _, v := range victims(t) {
		t.Run(v.name, func(t *testing.T) {
			if status := v.survives(t, v.good, true); status != 0 && status != 3 && status != 4 {
				var out bytes.Buffer
				Run(context.Background(), v.command, strings.NewReader(""), &out, &out)
				t.Fatalf("the good file: status %d: %s", status, out.String())
			}
			t.Cleanup(func() { v.restore(t) })
			r := rand.New(rand.NewPCG(20261130, uint64(len(v.name))))
			taken := 0
			for range n {
				b := spoil(r, v.good)
				if v.reseal != nil && r.IntN(2) == 0 {
					b = v.reseal(b)
				}
				if status := v.survives(t, b, false); status == 0 || status == 3 || status == 4 {
					taken++
				}
				if t.Failed() && !*soak {
					return
				}
			}
			t.Logf("%d spoilt, %d of them read all the same", n, taken)
		})
	}
}

// Figures beyond all that can be: each number of a file in turn is refused by name, or
// what comes out is a number.
func TestExtremeFigures(t *testing.T) {
	for _, v := range victims(t) {
		t.Run(v.name, func(t *testing.T) {
			if strings.HasSuffix(v.name, "WAV") || v.name == "notebook" || v.name == "bench export" {
				t.Skip("no figures in words")
			}
			t.Cleanup(func() { v.restore(t) })
			r := rand.New(rand.NewPCG(7, uint64(len(v.name))))
			found := numbers.FindAllIndex(v.good, -1)
			for _, value := range []string{"1e+303", "-1e+303", "1e-303", "NaN", "-Inf", "1e+400"} {
				for i, at := range found {
					if !*soak && r.IntN(4*len(found)) != 0 || i > 2000 {
						continue
					}
					b := slices.Concat(v.good[:at[0]], []byte(value), v.good[at[1]:])
					if v.reseal != nil {
						b = v.reseal(b)
					}
					v.survives(t, b, true)
				}
			}
		})
	}
}
