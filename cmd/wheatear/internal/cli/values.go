package cli

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/parts"
)

// frequencies is the --at flag: what to measure at.
type frequencies struct {
	requests []parts.FrequencyRequest
	text     string
}

func (f *frequencies) Set(text string) error {
	requests, err := parts.ParseFrequencies(text)
	if err != nil {
		return err
	}
	f.requests, f.text = requests, text
	return nil
}

func (f *frequencies) String() string { return f.text }
func (f *frequencies) Type() string   { return "LIST" }

// all reports whether every tone of the recording is asked for.
func (f *frequencies) all() bool { return len(f.requests) == 1 && f.requests[0].All }

// quantity is a flag that holds a value above zero, as the trade writes it.
type quantity struct {
	value float64
	unit  parts.Unit
	kind  string
}

func (q *quantity) Set(text string) error {
	v, err := parts.ParsePositive(text, q.unit)
	if err == nil {
		q.value = v
	}
	return err
}

func (q *quantity) String() string { return parts.FormatValue(q.value, q.unit) }
func (q *quantity) Type() string   { return q.kind }

// level is a flag for a level in decibels below full scale.
type level struct{ db float64 }

func (l *level) Set(text string) error {
	number := strings.TrimSpace(strings.Replace(strings.ToLower(text), "dbfs", "", 1))
	v, err := strconv.ParseFloat(strings.Replace(number, "\u2212", "-", 1), 64)
	if err != nil || !(v <= 0) || v < -140 {
		return fmt.Errorf("%q is no level from -140dBFS to 0dBFS: write it as -12dBFS", text)
	}
	l.db = v
	return nil
}

func (l *level) String() string { return strconv.FormatFloat(l.db, 'g', -1, 64) + "dBFS" }
func (l *level) Type() string   { return "dBFS" }

// peak is the highest value of a waveform of this level, full scale = 1.
func (l *level) peak() float64 { return math.Pow(10, l.db/20) }

// width is a flag for the kind of samples in a file.
type width struct {
	bits  int
	float bool
}

func (w *width) Set(text string) error {
	switch text {
	case "16", "24", "32":
		w.bits, _ = strconv.Atoi(text)
		w.float = false
	case "float":
		w.bits, w.float = 32, true
	default:
		return fmt.Errorf("%q is no width of samples: write 16, 24, 32 or float", text)
	}
	return nil
}

func (w *width) String() string {
	if w.float {
		return "float"
	}
	return strconv.Itoa(w.bits)
}
func (w *width) Type() string { return "BITS" }

// loads is the --load flag; it may be repeated.
type loads struct{ files []loadFile }

type loadFile struct {
	load fixture.Load
	file string // empty for one that is yet to be recorded
}

func (l *loads) Set(text string) error {
	standard, file, named := strings.Cut(text, "=")
	load, err := parseLoad(standard)
	if err != nil {
		return err
	}
	if named && file == "" {
		return fmt.Errorf("%q: which recording? Write it as 1k/0.1%%=load.wav", text)
	}
	l.files = append(l.files, loadFile{load, file})
	return nil
}

// parseLoad reads the value and the tolerance of a load.
// cutTolerance parts a value from its tolerance, which stands behind a slash or, with its
// sign of per cent, behind a space: 1k/0.1%, or 1 kohm 0,1%.
func cutTolerance(text string) (value, tolerance string, given bool) {
	text = strings.TrimSpace(text)
	if value, tolerance, given = strings.Cut(text, "/"); !given && strings.HasSuffix(text, "%") {
		text = strings.TrimRight(strings.TrimSuffix(text, "%"), " ")
		if i := strings.LastIndexByte(text, ' '); i > 0 {
			value, tolerance, given = text[:i], text[i+1:]+"%", true
		}
	}
	value = strings.TrimSpace(value)
	return value, strings.TrimSpace(strings.Replace(tolerance, ",", ".", 1)), given
}

func parseLoad(text string) (fixture.Load, error) {
	value, tolerance, both := cutTolerance(text)
	if !both {
		return fixture.Load{}, fmt.Errorf("%q: write a load with its tolerance, as 1k/0.1%% or, with its recording, 1k/0.1%%=load.wav", text)
	}
	ohm, err := parts.ParsePositive(value, parts.Ohm)
	if err != nil {
		return fixture.Load{}, err
	}
	rel, err := parts.ParseTolerance(tolerance)
	return fixture.Load{Ohm: ohm, Tolerance: rel}, err
}

// values are the loads alone.
func (l *loads) values() []fixture.Load {
	var out []fixture.Load
	for _, f := range l.files {
		out = append(out, f.load)
	}
	return out
}

// recorded reports whether any of them, and whether all of them have a recording.
func (l *loads) recorded() (some, all bool) {
	all = true
	for _, f := range l.files {
		some, all = some || f.file != "", all && f.file != ""
	}
	return some, all
}

func (l *loads) String() string { return "" }
func (l *loads) Type() string   { return "VALUE/TOLERANCE[=FILE]" }

// mains is a flag for the mains frequency; 0 looks for both.
type mains struct{ hz float64 }

func (m *mains) Set(text string) error {
	switch text {
	case "50":
		m.hz = 50
	case "60":
		m.hz = 60
	default:
		return fmt.Errorf("%q is no mains frequency: write 50 or 60, or leave it out to look for both", text)
	}
	return nil
}

func (m *mains) String() string {
	if m.hz == 0 {
		return ""
	}
	return strconv.FormatFloat(m.hz, 'g', -1, 64)
}
func (m *mains) Type() string { return "HZ" }
