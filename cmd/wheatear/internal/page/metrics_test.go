package page

import (
	"net/http"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// parsed is a family of the text form that scrapers read.
type parsed struct {
	kind, help string
	value      float64
	samples    int
}

var (
	metricName = regexp.MustCompile(`^[a-z_][a-z0-9_]*$`)
	// What a name ends with: counters with total, gauges with their unit or what is
	// counted (OpenMetrics 1.0, "Metric naming", from memory).
	counterName = regexp.MustCompile(`_total$`)
)

// parseMetrics is strict: HELP, then TYPE, then the samples of a family, each once and
// all together; values are numbers; the last line ends.
func parseMetrics(t *testing.T, text string) map[string]*parsed {
	t.Helper()
	if !strings.HasSuffix(text, "\n") || strings.Contains(text, "\r") {
		t.Error("the text does not end with a line feed, or has other ends of lines")
	}
	out := map[string]*parsed{}
	now := ""
	for _, line := range strings.Split(strings.TrimSuffix(text, "\n"), "\n") {
		word := strings.SplitN(line, " ", 4)
		switch {
		case strings.HasPrefix(line, "# HELP "):
			now = word[2]
			if out[now] != nil || !metricName.MatchString(now) || len(word) < 4 || !strings.HasSuffix(line, ".") {
				t.Errorf("%q: a family twice, a bad name or no sentence", line)
			}
			out[now] = &parsed{help: line}
		case strings.HasPrefix(line, "# TYPE "):
			if word[2] != now || out[now].kind != "" || word[3] != "counter" && word[3] != "gauge" {
				t.Errorf("%q does not follow its help, or is no kind that is used here", line)
			}
			out[now].kind = word[3]
		default:
			name, value, ok := strings.Cut(line, " ")
			v, err := strconv.ParseFloat(value, 64)
			if !ok || err != nil || name != now || out[now].kind == "" {
				t.Fatalf("%q is no sample of %q", line, now)
			}
			out[now].value = v
			out[now].samples++
		}
	}
	return out
}

// The counts have the form that scrapers read, count, and never run backwards.
func TestMetrics(t *testing.T) {
	s := ready(t, Options{})
	read := func() map[string]*parsed {
		t.Helper()
		status, text := s.call("GET", "/metrics", "")
		if status != http.StatusOK {
			t.Fatalf("%d %s", status, text)
		}
		return parseMetrics(t, text)
	}
	before := read()
	for name, m := range before {
		if m.samples != 1 || counterName.MatchString(name) != (m.kind == "counter") || m.value < 0 {
			t.Errorf("%s: %+v", name, m)
		}
	}
	s.ok("live", `{"at": "1k"}`)
	s.until("it reads", func(*State) bool { return s.counts.updates.Load() > 2 })
	busy := read()
	s.ok("stop", `{}`)
	after := read()
	if busy["wheatear_card_in_use"].value != 1 || after["wheatear_card_in_use"].value != 0 {
		t.Errorf("the card is in use: %g, then %g", busy["wheatear_card_in_use"].value, after["wheatear_card_in_use"].value)
	}
	if n := after["wheatear_live_readings_total"].value; n < 3 || len(after) != len(before) {
		t.Errorf("%g live readings in %d families of %d", n, len(after), len(before))
	}
	for name, m := range after {
		if m.kind == "counter" && m.value < before[name].value {
			t.Errorf("%s runs backwards", name)
		}
	}
}
