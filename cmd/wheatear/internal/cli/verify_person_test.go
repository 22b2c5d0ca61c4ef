package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/jigcheck"
)

// A person is told what to connect for every step, may leave steps out and may end, and
// what was recorded until then is examined.
func TestAPersonVerifies(t *testing.T) {
	b := newDesk(t)
	status, out, talk := b.run(context.Background(),
		"verify --jig real.toml --minutes 0 --seconds 1 --insertions 2 --load 1k/0.1% --skip check,reference",
		"=load=", "=short=", "=short=hello", "", "s", "=load=s", "s", "q")
	if status != 0 || !strings.Contains(out, "No fault was found") {
		t.Fatalf("status %d: %s\n%s", status, out, talk)
	}
	inOrder(t, talk, "Before the first tone:", "IDLE: the load in, the output silent (1k/0.1%).", "SHORT: the terminals joined",
		"Insertion 2 of 2: take it out and put it in anew", `"hello": Enter, s or q`, "OPEN: nothing between", "TERMINATED-1: input 1 off the jig", "JOINED")
	inOrder(t, out, "Not looked at", "joined: gain and delay", "terminated-1: what of input 2", "open: capacitance", "Notes")
	text, err := os.ReadFile("real.verified.json")
	if err != nil {
		t.Fatal(err)
	}
	v, err := jigcheck.ParseVerified("real.verified.json", text)
	if err != nil || v.ContactOhm == 0 || v.Drift == 0 {
		t.Errorf("%v: %+v", err, v)
	}
}

// The jig of a real card stays the simulated one for as long as nobody answers.
func TestNobodyVerifies(t *testing.T) {
	b := newDesk(t)
	status, _, talk := b.run(context.Background(), "verify --jig real.toml --load 1k/0.1%")
	if status != 1 || !strings.Contains(talk, "nobody answers") {
		t.Errorf("status %d: %s", status, talk)
	}
}

// What verify kept is in the budget of the next reading, unless the jig file says better.
func TestVerifiedFiguresAreUsed(t *testing.T) {
	b := newDesk(t)
	verified := &jigcheck.Verified{Schema: jigcheck.VerifiedSchema, Date: "2126-01-01T00:00:00Z", ContactOhm: 30e-3, StrayFarad: 1e-12, Drift: 3e-4, Faults: []string{}}
	text, err := verified.Encode()
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile("real.verified.json", text, 0o666); err != nil {
		t.Fatal(err)
	}
	jig, err := readJig("real.toml")
	if err != nil || jig.ContactOhm != 30e-3 || jig.StrayFarad != 1e-12 || jig.Drift != 3e-4 {
		t.Fatalf("%v: %+v", err, jig)
	}
	u := func() float64 {
		if err := b.card.Insert("r22"); err != nil {
			t.Fatal(err)
		}
		var out, talk bytes.Buffer
		a := newApp(context.Background(), strings.NewReader(""), &out, &talk)
		a.openCard = func(_ context.Context, o live.Options) (*live.Session, error) { return live.New(b.live, o), nil }
		a.run(strings.Fields("measure --jig real.toml --at 1k --part r22 --json"))
		var doc struct {
			Readings []struct {
				Z struct {
					Re struct{ U float64 } `json:"re_ohm"`
				}
			}
		}
		if err := json.Unmarshal(out.Bytes(), &doc); err != nil || len(doc.Readings) != 1 {
			t.Fatalf("%v: %s %s", err, out.String(), talk.String())
		}
		return doc.Readings[0].Z.Re.U
	}
	with := u()
	if err := os.Remove("real.verified.json"); err != nil {
		t.Fatal(err)
	}
	if without := u(); !(with > without) {
		t.Errorf("u is %g with a loose contact and %g without", with, without)
	}
}

// A jig file keeps all but its full scale.
func TestWithFullScale(t *testing.T) {
	for name, c := range map[string][2]string{
		"none": {"channels = [\"total\", \"part\"]\nreference = \"1k\" # mine\n\n[card]\nrate = 48000\n",
			"channels = [\"total\", \"part\"]\nreference = \"1k\" # mine\nfull_scale = [\"1.5V\", \"1.25V\"]\n\n[card]\nrate = 48000\n"},
		"one": {"full_scale = \"3V\" # by guess\nchannels = [\"total\", \"part\"]\nreference = \"1k\"\n",
			"full_scale = [\"1.5V\", \"1.25V\"] # by guess\nchannels = [\"total\", \"part\"]\nreference = \"1k\"\n"},
		"no section": {"channels = [\"total\", \"part\"]\nreference = \"1k\"\n", "channels = [\"total\", \"part\"]\nreference = \"1k\"\nfull_scale = [\"1.5V\", \"1.25V\"]\n\n"},
	} {
		got := string(withFullScale([]byte(c[0]), [2]float64{1.5, 1.25}))
		if got != c[1] {
			t.Errorf("%s: %q, want %q", name, got, c[1])
		}
		if _, err := fixture.ParseJig(name, []byte(got)); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// With a voltmeter a person is told where to put it, and the other input may follow from
// an earlier verification.
func TestAPersonReadsAMeter(t *testing.T) {
	b := newDesk(t)
	status, out, talk := b.run(context.Background(), "verify --jig real.toml --full-scale --seconds 1", "=load=", "x", "0.35", "")
	if status != 0 || !strings.Contains(out, "full scale, written to real.toml") {
		t.Fatalf("status %d: %s\n%s", status, out, talk)
	}
	inOrder(t, talk, "Never connect anything here to the mains", "an AC voltmeter across what input 1 carries (total)", "How many volts rms does the meter read across total?",
		"That is not understood", "How many volts rms does the meter read across part?")
	jig, err := readJig("real.toml")
	if err != nil || len(jig.FullScaleVolt) != 2 || jig.FullScaleVolt[0] != jig.FullScaleVolt[1] {
		t.Errorf("%v: %+v", err, jig)
	}
}

// Whatever multiple of 64 frames is lost or doubled, up to 1024, turns the tone of the longer
// run by ten degrees at least, and it is clear of the mains by two hertz.
func TestBreakHz(t *testing.T) {
	for _, rate := range []float64{8000, 11025, 16000, 22050, 32000, 44100, 48000, 88200, 96000, 192000} {
		f := breakHz(math.Min(997, rate/16), rate)
		for frames := 64.; frames <= 1024; frames += 64 {
			if turn := math.Abs(math.Remainder(f*frames/rate, 1)) * 360; turn < 10 {
				t.Errorf("%g Hz at %g: %g frames turn it by %g degrees", f, rate, frames, turn)
			}
		}
		if f < 300 || f > rate/8 || math.Abs(math.Remainder(f, 50)) < 2 || math.Abs(math.Remainder(f, 60)) < 2 {
			t.Errorf("%g Hz at %g", f, rate)
		}
	}
}

func TestStepFiles(t *testing.T) {
	for text, want := range map[string]string{
		"idle=a.wav": "", "load:1k/0.1%=a.wav": "", "levels@-12dBFS=a=b.wav": "",
		"idle": "write it as STEP=FILE", "idle=": "write it as STEP=FILE", "load=a.wav": "of which resistor", "x=a.wav": "no step", "levels@3=a": "no level", "load:1k=a": "with its tolerance",
	} {
		_, _, err := parseStepFile(text)
		if (err == nil) != (want == "") || err != nil && !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", text, err, want)
		}
	}
}
