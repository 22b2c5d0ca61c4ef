package parts_test

import (
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"example.org/wheatear/lockin/parts"
)

func TestParseFrequencies(t *testing.T) {
	at := func(hz ...float64) []parts.FrequencyRequest {
		var out []parts.FrequencyRequest
		for _, f := range hz {
			out = append(out, parts.FrequencyRequest{FreqHz: f})
		}
		return out
	}
	for _, c := range []struct {
		text string
		want []parts.FrequencyRequest
	}{
		{"1k", at(1000)},
		{"1 kHz", at(1000)},
		{"4k7", at(4700)},
		{"~1k", []parts.FrequencyRequest{{FreqHz: 1000, Movable: true}}},
		{"~ 1k", []parts.FrequencyRequest{{FreqHz: 1000, Movable: true}}},
		{"100,1k,10k", at(100, 1000, 10000)},
		{"10k, 1k , 100", at(10000, 1000, 100)},
		{"100,~1k", []parts.FrequencyRequest{{FreqHz: 100}, {FreqHz: 1000, Movable: true}}},
		{"all", []parts.FrequencyRequest{{All: true}}},
		{" All ", []parts.FrequencyRequest{{All: true}}},
	} {
		if got, err := parts.ParseFrequencies(c.text); err != nil || !reflect.DeepEqual(got, c.want) {
			t.Errorf("ParseFrequencies(%q) = %v, %v; want %v", c.text, got, err, c.want)
		}
	}
}

func TestParseFrequencyRange(t *testing.T) {
	got, err := parts.ParseFrequencies("50, 20..20k/31, ~100k..200k/2")
	if err != nil || len(got) != 34 {
		t.Fatalf("%d points, %v", len(got), err)
	}
	points := got[1:32]
	if points[0].FreqHz != 20 || points[30].FreqHz != 20000 {
		t.Errorf("ends %v and %v", points[0].FreqHz, points[30].FreqHz)
	}
	const tol = 1e-14 // the exponent is below 7 and known to a few 1e-16, so its exponential to a few 1e-15
	for i, p := range points {
		want := 20 * math.Pow(10, float64(i)/10) // three decades in thirty steps
		if !p.Movable || math.Abs(p.FreqHz/want-1) > tol {
			t.Errorf("point %d: %+v, want %v Hz, movable", i, p, want)
		}
	}
	if got[0].Movable || !got[33].Movable || got[33].FreqHz != 200e3 {
		t.Errorf("first %+v, last %+v", got[0], got[33])
	}
}

func TestParseFrequenciesRefuses(t *testing.T) {
	for _, c := range []struct {
		text   string
		column int
		says   string
	}{
		{"", 1, "empty"},
		{"1k,", 4, "empty"},
		{"1k,,2k", 4, "empty"},
		{"~", 2, "empty"},
		{"0", 1, "zero"},
		{"100,0", 5, "zero"},
		{"-1k", 1, "negative"},
		{"1k,-1k", 4, "negative"},
		{"inf", 1, "not a number"},
		{"1k,1000", 4, "1000 Hz is asked for twice"},
		{"1k,~1k", 4, "twice"},
		{"1k,all", 4, "all stands alone"},
		{"1k,2kΩ", 5, "ohm where hertz"},
		{"20..20k", 8, "how many points"},
		{"20k..20/31", 6, "a range rises"},
		{"20..20/31", 5, "a range rises"},
		{"20..20k/1", 9, "number of points"},
		{"20..20k/x", 9, "number of points"},
		{"20..20k/10001", 9, "number of points"},
		{"20..20k/-3", 9, "number of points"},
		{"0..20k/3", 1, "zero"},
		{"1,20..2x/3", 8, "not understood"},
		{"1,..2k/3", 3, "empty"},
		{"20../3", 5, "empty"},
		{"1..2/10000,3", 12, "more than 10000"},
		{"1..1.000000000000001/100", 1, "twice"},
		{"\xff", 1, "UTF-8"},
		{strings.Repeat("1,", 3000), 1, "too long"},
	} {
		got, err := parts.ParseFrequencies(c.text)
		checkRefusal(t, c.text, float64(len(got)), err, c.column, c.says)
	}
}

func FuzzParseFrequencies(f *testing.F) {
	for _, text := range []string{"1k", "~1k", "100,1k,10k", "20..20k/31", "all", "1k,1k", "~20..2k/5, 3k", "..", "1../", "0..1/2"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got, err := parts.ParseFrequencies(text)
		if err != nil {
			checkColumn(t, text, err)
			return
		}
		if len(got) < 1 || len(got) > 10_000 {
			t.Fatalf("%q gave %d requests", text, len(got))
		}
		for _, r := range got {
			if r.All != (r.FreqHz == 0) || !(r.FreqHz >= 0) || math.IsInf(r.FreqHz, 0) || (r.All && len(got) > 1) {
				t.Fatalf("%q gave %+v", text, r)
			}
		}
	})
}

func ExampleParseFrequencies() {
	requests, _ := parts.ParseFrequencies("~100,1k,2k..8k/3")
	for _, r := range requests {
		fmt.Printf("%.0f Hz, movable: %v\n", r.FreqHz, r.Movable)
	}
	// Output:
	// 100 Hz, movable: true
	// 1000 Hz, movable: false
	// 2000 Hz, movable: true
	// 4000 Hz, movable: true
	// 8000 Hz, movable: true
}

// What no recording can hold and no card can play is refused as it is read.
func TestFrequenciesBeyondCards(t *testing.T) {
	for text, says := range map[string]string{
		"100u": "one cycle lasts 10 ks", "1m": "1 mHz is too low", "~1m": "too low", "1k,100u": "character 4: 100 µHz is too low",
		"1m..20k/31": "too low", "5mHz": "too low", "1e-29": "too low", "20M": "more than any sound card", "20..20M/5": "more than any sound card",
	} {
		if got, err := parts.ParseFrequencies(text); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: %v, %v; want %q", text, got, err, says)
		}
	}
	for _, text := range []string{"10m", "100m", "1", "5M"} {
		if _, err := parts.ParseFrequencies(text); err != nil {
			t.Errorf("%s: %v", text, err)
		}
	}
}

func TestCommaMeant(t *testing.T) {
	for text, want := range map[string]string{"1,5k": "1.5k", "2,2k": "2.2k", "~1,5k": "~1.5k", " 4 , 7k": "4.7k", "1,5": "1.5", "15,625k": "15.625k"} {
		if got, ok := parts.CommaMeant(text); !ok || got != want {
			t.Errorf("%q: %q, %v; want %q", text, got, ok, want)
		}
	}
	for _, text := range []string{"", "1k", "100,1k", "1k,5k", "1,5k,20k", "1.5,2k", "1,", ",5k", "1,~5k", "1,k", "all", "20..20k/3"} {
		if got, ok := parts.CommaMeant(text); ok {
			t.Errorf("%q: %q", text, got)
		}
	}
	if got, err := parts.ParseFrequencies("1,5k"); err != nil || len(got) != 2 || got[0].FreqHz != 1 || got[1].FreqHz != 5000 {
		t.Errorf("1,5k is %v, %v; want 1 Hz and 5 kHz", got, err)
	}
}
