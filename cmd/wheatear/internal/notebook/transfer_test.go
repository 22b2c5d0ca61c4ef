package notebook

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"reflect"
	"slices"
	"strings"
	"testing"
)

// mixed is a notebook with entries of several kinds, some with awkward texts.
func mixed(t testing.TB) *Notebook {
	t.Helper()
	n := fresh(t)
	odd := capacitor(2, "=1+2; \"C,1\"\nsecond line", 1e-7, 1e-10)
	odd.Note, odd.Files = "naïve µ \xff \u2028", []string{"a\xffb.wav"}
	odd.Records = []Record{{SHA256: strings.Repeat("0", 64), Name: "a.wav"}}
	add(t, n, capacitor(0, "C12", 1e-7, 1e-10), odd, someResult(3, `{"schema": "wheatear.calibrate/1", "text": "<&>"}`),
		someResult(4, `{"schema": "wheatear.measure/1", "readings": [{"frequency_nominal_hz": 50, "state": "no-signal", "trusted": false}]}`), sweep("coil", 4))
	return n
}

func exported(t testing.TB, n *Notebook, f Filter) string {
	t.Helper()
	var b bytes.Buffer
	if _, err := n.Export(context.Background(), &b, f); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestExportAndImport(t *testing.T) {
	ctx := context.Background()
	from, to := mixed(t), fresh(t)
	text := exported(t, from, Filter{})
	if got := strings.Count(text, "\n"); got != 2+5 { // two documents, which three entries share
		t.Errorf("%d lines", got)
	}
	for round, want := range [][2]int{{5, 0}, {0, 5}, {0, 5}} {
		added, known, err := to.Import(ctx, strings.NewReader(text))
		if err != nil || added != want[0] || known != want[1] {
			t.Errorf("round %d: %d added, %d known, %v", round, added, known, err)
		}
	}
	if again := exported(t, to, Filter{}); again != text {
		t.Errorf("the export of what was imported differs:\n%s\n%s", again, text)
	}
	for _, e := range listed(t, from, Filter{}) {
		want, err := from.Get(ctx, e.ID)
		if err != nil {
			t.Fatal(err)
		}
		i := slices.IndexFunc(listed(t, to, Filter{}), func(o *Entry) bool { return o.Key == e.Key })
		got, err := to.Get(ctx, listed(t, to, Filter{})[i].ID)
		if err != nil {
			t.Fatal(err)
		}
		got.ID = want.ID
		if !reflect.DeepEqual(got, want) {
			t.Errorf("got\n%+v\nwant\n%+v", got, want)
		}
	}
	part := exported(t, from, Filter{Label: "coil"})
	if strings.Count(part, "\n") != 1 || !strings.Contains(part, "wheatear.sweep/1") {
		t.Errorf("part of it: %s", part)
	}
}

func TestImportOfManyBatches(t *testing.T) {
	from, to := fresh(t), fresh(t)
	var list []*Entry
	for i := range 2*batch + 7 {
		list = append(list, capacitor(i, "C1", 1e-7, 1e-10))
	}
	if _, err := from.AddAll(context.Background(), list); err != nil {
		t.Fatal(err)
	}
	added, known, err := to.Import(context.Background(), strings.NewReader(exported(t, from, Filter{})))
	if err != nil || added != len(list) || known != 0 {
		t.Errorf("%d added, %d known, %v", added, known, err)
	}
}

func TestImportsThatAreRefused(t *testing.T) {
	good := exported(t, mixed(t), Filter{})
	lines := strings.SplitAfter(good, "\n")
	for _, tc := range []struct {
		name, text string
		line       int
		says       string
	}{
		{"no JSON", good + "hello\n", 8, "no line of an export"},
		{"cut off", good[:len(good)-20], 7, "no line of an export"},
		{"another schema", good + `{"schema": "wheatear.notebook.entry/2"}`, 8, "none that this program knows"},
		{"a key too many", lines[0] + strings.Replace(lines[2], `"note"`, `"x": 1, "note"`, 1), 2, `unknown field "x"`},
		{"text changed", strings.Replace(good, "jig.toml", "j", 1) + strings.Replace(lines[0], "jig\\\"", "gig\\\"", 1), 8, "changed after the export"},
		{"figure changed", strings.Replace(good, `"value":1e-07`, `"value":2e-07`, 1), 3, "changed after the export"},
		{"jig left out", lines[1] + lines[2], 2, "which no line before it holds"},
		{"no time", strings.Replace(good, "T12:00:00.000000Z", "", 1), 3, "parsing time"},
		{"not even a name", strings.Replace(good, strings.Repeat("0", 64), "../../etc/passwd", 1), 4, "no SHA-256"},
		{"a reading", `{"schema": "wheatear.measure/1"}`, 1, "none that this program knows"},
	} {
		n := fresh(t)
		_, _, err := n.Import(context.Background(), strings.NewReader(tc.text))
		var at *LineError
		if !errors.As(err, &at) || at.Line != tc.line || !strings.Contains(err.Error(), tc.says) || !strings.HasSuffix(err.Error(), "nothing was imported") {
			t.Errorf("%s: %v", tc.name, err)
		}
		if got := len(listed(t, n, Filter{})); got != 0 {
			t.Errorf("%s: %d entries were imported", tc.name, got)
		}
	}
	n := fresh(t)
	if added, _, err := n.Import(context.Background(), strings.NewReader("\n"+strings.ReplaceAll(good, "\n", "\r\n\n"))); err != nil || added != 5 {
		t.Errorf("other ends of lines: %d, %v", added, err)
	}
}

// FuzzImport holds that nothing in a file makes import fail otherwise than with an
// error, and that what it takes in comes out the same.
func FuzzImport(f *testing.F) {
	good := exported(f, mixed(f), Filter{})
	for _, line := range strings.SplitAfter(good, "\n") {
		f.Add([]byte(line))
	}
	f.Add([]byte(good))
	f.Add([]byte("{}\n[]\n\x00"))
	n := fresh(f)
	f.Fuzz(func(t *testing.T, text []byte) {
		ctx := context.Background()
		if _, err := n.db.Exec("DELETE FROM entry"); err != nil {
			t.Fatal(err)
		}
		added, known, err := n.Import(ctx, bytes.NewReader(text))
		if err != nil {
			var at *LineError
			if !errors.As(err, &at) || added+known != 0 {
				t.Fatalf("%d, %d: %v", added, known, err)
			}
			return
		}
		again := exported(t, n, Filter{})
		if a, k, err := n.Import(ctx, strings.NewReader(again)); err != nil || a != 0 || k != added {
			t.Fatalf("its own export: %d added, %d of %d known, %v", a, k, added, err)
		}
		if third := exported(t, n, Filter{}); third != again {
			t.Fatal("exports of one notebook differ")
		}
	})
}

func TestCSV(t *testing.T) {
	var b bytes.Buffer
	count, err := mixed(t).ExportCSV(context.Background(), &b, Filter{})
	if err != nil || count != 1+4+1+1 {
		t.Fatal(count, err)
	}
	if !strings.HasPrefix(b.String(), "id,time_utc,kind,") || strings.Count(b.String(), "\r\n") < count {
		t.Errorf("not the form of RFC 4180, section 2: %q", b.String()[:80])
	}
	rows, err := csv.NewReader(&b).ReadAll() // checks that all have as many cells
	if err != nil || len(rows) != count+1 {
		t.Fatal(len(rows), err)
	}
	cell := func(row int, name string) string { return rows[row][slices.Index(rows[0], name)] }
	for name, want := range map[string]string{
		"label": "C12", "time_utc": "2026-03-14T12:00:00.000000Z", "frequency_hz": "1000", "series_c_f": "1e-07", "series_c_u_f": "1e-10",
		"series_l_h": "", "d": "0.0003", "d_u": "1e-05", "re_ohm": "0.5", "findings": "hum", "trusted": "true", "part_v_rms": "0.2",
	} {
		if got := cell(1, name); got != want {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
	// What could be taken for a formula is marked as a text; see plain.
	if got := cell(2, "label"); got != "'=1+2; \"C,1\"\nsecond line" {
		t.Errorf("label %q", got)
	}
	if got := cell(3, "state") + cell(3, "modulus_ohm"); got != "no-signal" {
		t.Errorf("a refused reading: %q", got)
	}
}
