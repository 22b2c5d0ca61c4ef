package tell_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"html"
	"math"
	"math/rand/v2"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/notebook"
	tocsv "example.org/wheatear/cmd/wheatear/internal/render/csv"
	tohtml "example.org/wheatear/cmd/wheatear/internal/render/html"
	"example.org/wheatear/cmd/wheatear/internal/render/text"
	"example.org/wheatear/cmd/wheatear/internal/render/typeset"
	"example.org/wheatear/cmd/wheatear/internal/render/view"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/run"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/uncertain"
)

var noon = time.Date(2026, 11, 30, 12, 0, 0, 0, time.UTC)

var trials = impedance.Config{Trials: 1000}

// model is what a reading of an impedance is drawn from.
func model(z complex128, u, freqHz float64) *fixture.Model {
	in := &uncertain.Inputs{}
	in.Add("re", real(z), u)
	in.Add("im", imag(z), u)
	in.Add("clock", freqHz, 1e-5*freqHz)
	return &fixture.Model{Inputs: in, Func: func(dst, x []float64) { copy(dst, x) }}
}

// derived is a reading of an impedance with its uncertainty.
func derived(t *testing.T, z complex128, u, freqHz float64) impedance.Reading {
	t.Helper()
	m := model(z, u, freqHz)
	r, err := impedance.Derive(m.Inputs, m.Func, trials)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func measurement(readings ...impedance.Reading) *report.Measurement {
	m := &report.Measurement{Jig: &fixture.Jig{Name: "jig"}, Files: []string{"part.wav"}}
	for _, r := range readings {
		hz := r.FreqHz.Value
		m.Readings = append(m.Readings, &report.Reading{Corrected: &fixture.Corrected{NominalHz: hz, Reading: r, Trusted: true,
			Level: fixture.PartLevel{VoltRMS: math.NaN(), AmpereRMS: math.NaN()}}})
	}
	return m
}

// across is R across C.
func across(ohm, farad, freqHz float64) complex128 {
	return 1 / complex(1/ohm, 2*math.Pi*freqHz*farad)
}

// One reading has one main figure, whatever shows it: the same element, circuit, value
// and interval, to the digits that are shown.
func TestOneMainFigureEverywhere(t *testing.T) {
	book, err := notebook.Open(context.Background(), filepath.Join(t.TempDir(), "notebook.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	rng := rand.New(rand.NewPCG(3, 5))
	type drawn struct {
		z         complex128
		u, freqHz float64
	}
	draws := []drawn{
		{across(200e3, 1e-9, 1000), 10, 1000}, {across(20e3, 10e-9, 1000), 1, 1000}, // as if on 10 kΩ
		{1e9, 2e9, 1000}, {1e-5, 1e-3, 1000}, // an open and a short
		{complex(0.62, -0.041), 1e-4, 10e3}, // an electrolytic capacitor far above its own frequency
	}
	for len(draws) < 300 {
		freqHz := math.Pow(10, 1.3+3*rng.Float64())
		size := math.Pow(10, -2+9*rng.Float64())
		z := complex(size*math.Pow(rng.Float64(), 2), size*(2*rng.Float64()-1))
		draws = append(draws, drawn{z, size * math.Pow(10, -5+5.5*rng.Float64()), freqHz})
	}
	var list []impedance.Reading
	for _, d := range draws {
		list = append(list, derived(t, d.z, d.u, d.freqHz))
	}
	states, circuits := map[impedance.State]int{}, map[impedance.Circuit]int{}
	for i, r := range list {
		e, q := r.Main()
		states[r.State]++
		circuits[e.Circuit]++
		m := measurement(r)
		doc := m.Document()
		told := tell.Measurement(doc)
		label := fmt.Sprintf("part %d", i)
		check := func(where, name, text string) {
			t.Helper()
			if want := nameOf(told); want != name {
				t.Errorf("%s of %s: named %q, want %q", where, label, name, want)
			}
			if why := differs(text, q, e.Unit()); why != "" {
				t.Errorf("%s of %s shows %q: %s (%s = %+v)", where, label, text, why, e, q)
			}
		}
		exact := func(where string, gotE impedance.Element, got uncertain.Quantity) {
			t.Helper()
			if gotE != e || fmt.Sprint(got) != fmt.Sprint(q) {
				t.Errorf("%s of %s: %s = %+v, want %s = %+v", where, label, gotE, got, e, q)
			}
		}
		name := nameOf(told)
		var terminal, paper, table, json bytes.Buffer
		for _, err := range []error{text.Write(&terminal, told, text.Look{}), tohtml.Write(&paper, told, noon), tocsv.Write(&table, told), result.Write(&json, doc)} {
			if err != nil {
				t.Fatal(err)
			}
		}
		check("terminal", name, after(terminal.String(), "\n  "+name+" ", "\n"))
		check("report", name, html.UnescapeString(after(paper.String(), `<th scope="row">`+html.EscapeString(name)+"</th><td>", "<")))
		for _, f := range view.Sections(told)[0].Facts {
			if f.Key == "main" {
				check("page", f.Name, f.Text)
			}
		}
		back, err := result.Read(json.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		gotE, got := back.(*result.Measurement).Readings[0].Main.What()
		exact("JSON", gotE, got)
		gotE, got = fromCSV(t, &table)
		exact("CSV", gotE, got)
		if e := (&report.Comparison{Good: *m, Other: *m}).Element(); r.State == impedance.OK {
			exact("compare", e, e.In(r))
		}

		c := m.Readings[0].Corrected
		c.Model = model(draws[i].z, draws[i].u, draws[i].freqHz)
		if s := sortedBy(t, c, e, q); s != nil {
			gotE, got, _ := s.Parts[0].What()
			exact("sort", gotE, got)
			check("report of a sorting run", name, rowOf(t, s))
			check("sort", name, (&typeset.Setter{}).Value(tell.SortedValue(&s.Parts[0])))
		}

		entry := &notebook.Entry{Time: noon.Add(time.Duration(i) * time.Minute), Label: label, Result: json.Bytes()}
		if _, err := book.Add(context.Background(), entry); err != nil {
			t.Fatal(err)
		}
		for _, s := range facts(entry.ShowDocument(nil))[:1] {
			for _, f := range s.Facts {
				if f.Key == "main" {
					check("notebook show", f.Name, f.Text)
				}
			}
		}
	}
	entries, err := book.List(context.Background(), notebook.Filter{})
	if err != nil || len(entries) != len(list) {
		t.Fatalf("%d entries, %v", len(entries), err)
	}
	for i, r := range list {
		e, q := r.Main()
		p := entries[len(list)-1-i].Points[0]
		want := result.MainOf(e, q)
		if fmt.Sprint(opt(p.Value), opt(p.U), opt(p.Low), opt(p.High), p.Unit) != fmt.Sprint(opt(want.Value), opt(want.U), opt(want.Low), opt(want.High), want.Unit) || p.Quantity != e.Symbol() {
			t.Errorf("notebook list of part %d: %+v, want %s = %+v", i, p, e, q)
		}
		past, err := book.History(context.Background(), fmt.Sprintf("part %d", i), notebook.Choice{})
		if err != nil {
			t.Fatal(err)
		}
		if math.IsNaN(q.Value) || math.IsNaN(q.U) {
			continue // a bound has no history
		}
		if len(past.Points) != 1 || past.Unit != e.Unit() || past.Quantity != e.Symbol() || past.Points[0].Value != q.Value || past.Points[0].U != q.U {
			t.Errorf("notebook history of part %d: %+v, want %s = %+v", i, past, e, q)
		}
	}
	if states[impedance.Open]+states[impedance.Short] < 5 || circuits[impedance.SeriesCircuit] < 20 || circuits[impedance.ParallelCircuit] < 20 || circuits[impedance.NoCircuit] < 5 {
		t.Errorf("the draws miss something: %v %v", states, circuits)
	}
}

// sortedBy is a run of one part, expected to be what it mostly is; nil where it is nothing
// that can be expected.
func sortedBy(t *testing.T, c *fixture.Corrected, e impedance.Element, q uncertain.Quantity) *result.Sorted {
	t.Helper()
	unit, ok := map[string]parts.Unit{"Ω": parts.Ohm, "F": parts.Farad, "H": parts.Henry}[e.Unit()]
	if !ok || e.Kind == impedance.ModulusZ || !(q.Value > 0) {
		return nil
	}
	expected := parts.Marking{Value: q.Value, Unit: unit, Text: "it", Tolerance: parts.Tolerance{Minus: 0.1, Plus: 0.1}}
	j, err := c.Judge([]parts.Marking{expected}, parts.Rule{}, trials)
	if err != nil {
		t.Fatal(err)
	}
	p := run.Judged("it", noon, c, j, nil)
	p.Number = 1
	return result.NewSorted(measurement().Document(), expected, "it", "it.csv", nil, []run.Part{p})
}

// A table has one element and one circuit for all its rows, whatever leads in each.
func TestOneElementForATable(t *testing.T) {
	var list []impedance.Reading
	for _, hz := range []float64{100, 300, 1000, 3000, 10000} {
		list = append(list, derived(t, across(200e3, 1e-9, hz), 1, hz))
	}
	doc := measurement(list...).Document()
	for _, r := range doc.Readings {
		e, q := r.Main.What()
		if e.Symbol() != "Cp" || math.Abs(q.Value-1e-9) > 1e-14 {
			t.Errorf("%s = %g at %g Hz, want Cp = 1 nF", e.Symbol(), q.Value, r.NominalHz)
		}
	}
	var b bytes.Buffer
	if err := text.Write(&b, tell.Measurement(doc), text.Look{}); err != nil {
		t.Fatal(err)
	}
	if strings.Count(b.String(), "capacitance in parallel") != 1 || strings.Count(b.String(), " nF ") != 5 || strings.Count(b.String(), "kΩ ") > 5 {
		t.Errorf("got\n%s", b.String())
	}
}

// A document says the same when it has been kept and read back.
func TestDocumentsReadBackWithoutLoss(t *testing.T) {
	doc := measurement(derived(t, complex(10, -300), 0.1, 1000), derived(t, 1e9, 1e9, 2000)).Document()
	text, err := json.Marshal(doc)
	if err != nil {
		t.Fatal(err)
	}
	back, err := result.Read(text)
	if err != nil {
		t.Fatal(err)
	}
	again, err := json.Marshal(back)
	if err != nil || !bytes.Equal(text, again) {
		t.Errorf("%v: wrote\n%s\nread\n%s", err, text, again)
	}
}

func nameOf(told []block.Block) string { return told[0].(block.Headline).Main.Name }

// after is what stands between two marks.
func after(text, from, to string) string {
	_, rest, _ := strings.Cut(text, from)
	out, _, _ := strings.Cut(rest, to)
	return strings.TrimSpace(out)
}

func fromCSV(t *testing.T, b *bytes.Buffer) (impedance.Element, uncertain.Quantity) {
	t.Helper()
	rows, err := csv.NewReader(b).ReadAll()
	if err != nil || len(rows) != 2 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	at := map[string]string{}
	for i, name := range rows[0] {
		at[name] = rows[1][i]
	}
	number := func(name string, none float64) float64 {
		v, err := strconv.ParseFloat(at[name], 64)
		if err != nil {
			return none
		}
		return v
	}
	e, err := impedance.ParseElement(at["main_element"])
	if err != nil || e.Unit() != at["main_unit"] {
		t.Fatalf("%v: %v", err, at)
	}
	e.Circuit = impedance.Circuit(at["main_circuit"])
	return e, uncertain.Quantity{Value: number("main_si", math.NaN()), U: number("main_u_si", math.NaN()), Low: number("main_low_si", math.Inf(-1)), High: number("main_high_si", math.Inf(1))}
}

func opt(v *float64) string {
	if v == nil {
		return "null"
	}
	return strconv.FormatFloat(*v, 'g', -1, 64)
}

var shown = regexp.MustCompile(`^(?:([<>]) )?([−\d.]+)?(?: ± ([\d.]+))?(?: ?\(?([−\d.]+) to ([−\d.]+)\)?)?(e[−\d]+)? ([pnµmkMG]?)([ΩFHS])$`)

// differs reads what is shown and says how it departs from a quantity by more than
// rounding.
func differs(text string, q uncertain.Quantity, unit string) string {
	text = strings.ReplaceAll(text, "\u00a0", " ")
	m := shown.FindStringSubmatch(text)
	if m == nil {
		return "not a quantity"
	}
	if m[8] != unit {
		return "the unit is " + m[8]
	}
	scale := map[string]float64{"": 1, "p": 1e-12, "n": 1e-9, "µ": 1e-6, "m": 1e-3, "k": 1e3, "M": 1e6, "G": 1e9}[m[7]]
	if m[6] != "" {
		power, err := strconv.Atoi(strings.ReplaceAll(m[6][1:], "−", "-"))
		if err != nil {
			return err.Error()
		}
		scale *= math.Pow(10, float64(power))
	}
	near := func(digits string, want float64) bool {
		v, err := strconv.ParseFloat(strings.ReplaceAll(digits, "−", "-"), 64)
		_, decimals, _ := strings.Cut(digits, ".")
		last := math.Pow(10, -float64(len(decimals)))
		return err == nil && math.Abs(v*scale-want) <= 1.0001*last*scale
	}
	const bound = 0.1 // two digits, rounded outwards
	switch {
	case m[1] != "":
		v, err := strconv.ParseFloat(m[2], 64)
		if want := map[string]float64{">": q.Low, "<": q.High}[m[1]]; err != nil || math.Abs(v*scale-want) > bound*math.Abs(want) || m[1] == ">" && v*scale > want || m[1] == "<" && v*scale < want {
			return "another bound"
		}
	case m[3] != "":
		if !near(m[2], q.Value) || !near(m[3], (q.High-q.Low)/2) {
			return "another value or interval"
		}
	default:
		if m[2] != "" && !near(m[2], q.Value) || !near(m[4], q.Low) || !near(m[5], q.High) {
			return "another value or interval"
		}
	}
	return ""
}
