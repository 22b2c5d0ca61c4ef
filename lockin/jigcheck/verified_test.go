package jigcheck

import (
	"bytes"
	"fmt"
	"reflect"
	"strings"
	"testing"
	"time"
)

func sample() *Verified {
	return &Verified{Schema: VerifiedSchema, Date: "2026-03-01T10:00:00Z", Jig: "bench", Card: "a card", RateHz: 48000, ContactOhm: 1e-3, StrayFarad: 3e-14,
		Drift: 7e-6, UsefulS: 60, NoiseRMS: [2]float64{4e-6, 5e-6}, NoiseU: [2]float64{1e-8, 1e-8}, HumRMS: [2]float64{2e-4, 2e-4}, Gain: 1.004, DelaySamples: -0.3, Faults: []string{}}
}

func TestVerifiedRoundTrip(t *testing.T) {
	v := sample()
	v.Keep(sample())
	text, err := v.Encode()
	if err != nil {
		t.Fatal(err)
	}
	got, err := ParseVerified("x", text)
	if err != nil || !reflect.DeepEqual(got, v) {
		t.Errorf("%v: %+v, want %+v", err, got, v)
	}
}

func TestVerifiedKeepsSome(t *testing.T) {
	var last *Verified
	for k := range 30 {
		v := sample()
		v.Date = fmt.Sprintf("2026-03-01T10:00:%02dZ", k)
		v.Keep(last)
		last = v
	}
	if n := len(last.Earlier); n != mostEarlier || last.Earlier[0].Date != "2026-03-01T10:00:28Z" || last.Earlier[0].Earlier != nil {
		t.Errorf("%d are kept, the newest is %+v", n, last.Earlier[0])
	}
	text, err := last.Encode()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := ParseVerified("x", text); err != nil {
		t.Error(err)
	}
}

func TestVerifiedRefused(t *testing.T) {
	text, err := sample().Encode()
	if err != nil {
		t.Fatal(err)
	}
	for name, change := range map[string][2]string{
		"another schema": {"wheatear.verified/1", "wheatear.verified/9"}, "no date": {"2026-03-01T10", "yesterday"},
		"negative": {`"drift": 0.000007`, `"drift": -1`}, "huge": {`"contact_ohm": 0.001`, `"contact_ohm": 1e9`},
		"text": {`"drift": 0.000007`, `"drift": "x"`}, "cut": {"}\n", ""}, "more": {"}\n", "} {}"}, "delay": {`"delay_samples": -0.3`, `"delay_samples": -1e99`},
	} {
		bad := strings.Replace(string(text), change[0], change[1], 1)
		if bad == string(text) {
			if bad = strings.Replace(string(text), `"drift": 7e-06`, strings.Replace(change[1], "0.000007", "", 1), 1); bad == string(text) {
				t.Fatalf("%s: nothing to change in %s", name, text)
			}
		}
		if _, err := ParseVerified("file", []byte(bad)); err == nil || !strings.HasPrefix(err.Error(), "jigcheck: file: ") {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := ParseVerified("file", bytes.Repeat([]byte(" "), mostVerifiedBytes+1)); err == nil {
		t.Error("a huge file is read")
	}
}

// What was measured takes the place of defaults, not of what the jig file states; what a
// verification did not measure an earlier one did.
func TestApply(t *testing.T) {
	jig := newDesk().jig(t, "drift = \"20ppm\"\n")
	v := sample()
	v.StrayFarad = 0
	v.Keep(sample())
	v.Apply(jig, map[string]bool{"drift": true})
	if jig.ContactOhm != 1e-3 || jig.StrayFarad != 3e-14 || jig.Drift != 20e-6 {
		t.Errorf("contact %g, stray %g, drift %g", jig.ContactOhm, jig.StrayFarad, jig.Drift)
	}
}

func TestStale(t *testing.T) {
	v := sample()
	date, err := time.Parse(time.RFC3339, v.Date)
	if err != nil {
		t.Fatal(err)
	}
	if f, stale := v.Stale(date.AddDate(0, 1, 0)); stale {
		t.Errorf("a month: %+v", f)
	}
	f, stale := v.Stale(date.AddDate(1, 0, 0))
	if !stale || f.Code != "stale" || !strings.Contains(f.Detail, "365 days old") {
		t.Errorf("a year: %v %+v", stale, f)
	}
}

// Whatever is in a file is an error or figures that can be written and read again.
func FuzzParseVerified(f *testing.F) {
	v := sample()
	v.Keep(sample())
	text, err := v.Encode()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(text)
	f.Add([]byte("{}"))
	f.Add([]byte(`{"schema": "wheatear.verified/1", "date": "2026-03-01T10:00:00Z", "drift": 1e400}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		v, err := ParseVerified("x", data)
		if err != nil {
			return
		}
		text, err := v.Encode()
		if err != nil {
			t.Fatal(err)
		}
		again, err := ParseVerified("x", text)
		if err != nil {
			t.Fatalf("%v: %s", err, text)
		}
		twice, err := again.Encode()
		if err != nil || !bytes.Equal(text, twice) {
			t.Errorf("%s becomes %s", text, twice)
		}
	})
}
