package notebook

import (
	"context"
	"errors"
	"reflect"
	"strings"
	"testing"
	"time"
)

func TestWhatIsAddedIsThere(t *testing.T) {
	ctx := context.Background()
	n := fresh(t)
	e := capacitor(0, "C12", 100e-9, 50e-12)
	e.Note = "hand soldered, \"left\" one"
	e.Records = []Record{{SHA256: strings.Repeat("a", 64), Name: "C12.wav"}}
	add(t, n, e)
	got, err := n.Get(ctx, e.ID)
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(got, e) {
		t.Errorf("got\n%+v\nadded was\n%+v", got, e)
	}
	if got.Kind != Reading || got.JigName != "test jig" || !got.Trusted || len(got.Points) != 1 || *got.Points[0].Value != 100e-9 || got.Points[0].Quantity != "Cs" {
		t.Errorf("taken out of the result: %+v", got.Summary)
	}
	if d := got.Document(CalibrationFile); d == nil || d.Text != `{"version": 1}` || got.Document("tray") != nil {
		t.Errorf("documents: %+v", got.Documents)
	}
	if _, err := n.Get(ctx, e.ID+1); !errors.Is(err, ErrUnknown) {
		t.Errorf("an entry that is not there: %v", err)
	}
}

func TestTheSameIsAddedOnce(t *testing.T) {
	n := fresh(t)
	add(t, n, capacitor(0, "C12", 100e-9, 50e-12))
	again := capacitor(0, "another label", 100e-9, 50e-12)
	again.Command = capacitor(0, "C12", 1, 1).Command
	if added, err := n.Add(context.Background(), again); err != nil || added || again.ID != 1 {
		t.Errorf("added %v as %d, %v", added, again.ID, err)
	}
	add(t, n, capacitor(1, "C12", 100e-9, 50e-12)) // the same figures at another time
	if got := len(listed(t, n, Filter{})); got != 2 {
		t.Errorf("%d entries", got)
	}
}

func TestSummaries(t *testing.T) {
	for _, tc := range []struct {
		name, json string
		want       Summary
	}{
		{"calibration", `{"schema": "wheatear.calibrate/1", "frequencies_hz": [1000], "findings": []}`,
			Summary{Kind: Calibration, Schema: "wheatear.calibrate/1", Trusted: true, Findings: []string{}}},
		{"jig with a finding", `{"schema": "wheatear.setup/1", "jig": "j", "findings": [{"code": "swapped", "severity": "invalid"}]}`,
			Summary{Kind: Jig, Schema: "wheatear.setup/1", JigName: "j", Findings: []string{"swapped"}}},
		{"comparison", `{"schema": "wheatear.compare/1", "verdict": "differs", "readings": [{"trusted": true, "state": "ok"}]}`,
			Summary{Kind: Comparison, Schema: "wheatear.compare/1", Trusted: true, Verdict: "differs", Findings: []string{}, Points: []Point{{State: "ok", Trusted: true, Quantity: "|Z|", Unit: "Ω"}}}},
		{"worst verdict, one refused", `{"schema": "wheatear.measure/1", "readings": [{"verdict": {"outcome": "pass"}, "trusted": true}, {"verdict": {"outcome": "undecided"}}]}`,
			Summary{Kind: Reading, Schema: "wheatear.measure/1", Verdict: "undecided", Findings: []string{}, Points: []Point{{State: "no-signal", Trusted: true, Quantity: "|Z|", Unit: "Ω"}, {State: "no-signal", Quantity: "|Z|", Unit: "Ω"}}}},
		{"a kind that is not known yet", `{"schema": "wheatear.fit/1"}`, Summary{Kind: "fit", Schema: "wheatear.fit/1", Trusted: true, Findings: []string{}}},
	} {
		_, got, err := summarise([]byte(tc.json))
		if err != nil || !reflect.DeepEqual(got, tc.want) {
			t.Errorf("%s: %+v, %v; want %+v", tc.name, got, err, tc.want)
		}
	}
	for _, json := range []string{"", "[]", "{}", `{"schema": "other/1"}`, `{"schema": "wheatear./1"}`, `{"schema": "wheatear.x"}`, `{"schema": "wheatear.x/1"} {}`, `{"schema": 1}`} {
		if _, _, err := summarise([]byte(json)); err == nil {
			t.Errorf("%q is accepted as a result", json)
		}
	}
}

func TestEntriesThatAreRefused(t *testing.T) {
	n := fresh(t)
	timeless, changed, far := capacitor(0, "C1", 1e-7, 1e-10), capacitor(0, "C1", 1e-7, 1e-10), capacitor(0, "C1", 1e-7, 1e-10)
	timeless.Time = time.Time{}
	changed.Documents[0].Text += "x"
	far.Time = far.Time.AddDate(9000, 0, 0)
	for _, e := range []*Entry{timeless, changed, far, someResult(0, "{}")} {
		if _, err := n.AddAll(context.Background(), []*Entry{capacitor(1, "C2", 1e-7, 1e-10), e}); err == nil || !strings.HasPrefix(err.Error(), "notebook: entry 2: notebook: ") {
			t.Errorf("%v", err)
		}
	}
	if got := len(listed(t, n, Filter{})); got != 0 {
		t.Errorf("%d entries of lists that were refused", got)
	}
}

func TestFilters(t *testing.T) {
	n := fresh(t)
	for i, label := range []string{"C12", "C13", "board-7 C12", "R[1]"} {
		e := capacitor(i, label, 100e-9, 50e-12)
		e.Note = []string{"", "warm, after an hour", "100% sure", "\"quoted\""}[i]
		add(t, n, e)
	}
	add(t, n, someResult(10, `{"schema": "wheatear.calibrate/1", "findings": []}`),
		someResult(11, `{"schema": "wheatear.measure/1", "readings": [{"verdict": {"outcome": "fail"}, "trusted": true}]}`))
	for _, tc := range []struct {
		f    Filter
		want string
	}{
		{Filter{}, "6 5 4 3 2 1"},
		{Filter{Limit: 2}, "6 5"},
		{Filter{Limit: 2, Skip: 3}, "3 2"},
		{Filter{Label: "C12"}, "1"},
		{Filter{Label: "C1*"}, "2 1"},
		{Filter{Label: "*C12"}, "3 1"},
		{Filter{Label: "C1?"}, "2 1"},
		{Filter{Label: "R[1]"}, "4"},
		{Filter{Label: "R[*"}, "4"},
		{Filter{Kind: Reading}, "6 4 3 2 1"},
		{Filter{Kind: Calibration}, "5"},
		{Filter{Verdict: "fail"}, "6"},
		{Filter{Since: noon.Add(2 * time.Minute), Until: noon.Add(10 * time.Minute)}, "4 3"},
		{Filter{Text: "warm"}, "2"},
		{Filter{Text: "after war"}, "2"}, // words in any order, beginnings
		{Filter{Text: "board-7"}, "3"},
		{Filter{Text: "c12"}, "3 1"},
		{Filter{Text: "c12 sure"}, "3"},
		{Filter{Text: "hum"}, "4 3 2 1"}, // a finding
		{Filter{Text: `"`}, ""},
		{Filter{Text: "a OR c12"}, ""}, // no operator, a word that is nowhere
		{Filter{Text: "c12 NEAR( *"}, ""},
		{Filter{Text: "nowhere"}, ""},
	} {
		var got []string
		for _, e := range listed(t, n, tc.f) {
			got = append(got, string(rune('0'+e.ID)))
		}
		if s := strings.Join(got, " "); s != tc.want {
			t.Errorf("%+v: %q, want %q", tc.f, s, tc.want)
		}
		if count, err := n.Count(context.Background(), tc.f); tc.f.Limit == 0 && (err != nil || count != len(got)) {
			t.Errorf("%+v: counted %d, %v", tc.f, count, err)
		}
	}
}

func TestDescribe(t *testing.T) {
	ctx := context.Background()
	n := fresh(t)
	add(t, n, capacitor(0, "C12", 100e-9, 50e-12))
	key := listed(t, n, Filter{})[0].Key
	if err := n.Describe(ctx, 1, "C13", "it was the other one"); err != nil {
		t.Fatal(err)
	}
	got := listed(t, n, Filter{Text: "other c13"})
	if len(got) != 1 || got[0].Key != key || len(listed(t, n, Filter{Label: "C12"})) != 0 {
		t.Errorf("%+v", got)
	}
	if err := n.Describe(ctx, 2, "", ""); !errors.Is(err, ErrUnknown) {
		t.Errorf("%v", err)
	}
	if err := n.Check(ctx); err != nil {
		t.Error(err)
	}
}

func TestManyPoints(t *testing.T) {
	n := fresh(t)
	var list []*Entry
	for i := range 1203 { // more than are fetched in one go
		list = append(list, capacitor(i, "C1", 1e-7+float64(i)*1e-12, 1e-10))
	}
	if added, err := n.AddAll(context.Background(), list); err != nil || added != len(list) {
		t.Fatal(added, err)
	}
	for i, e := range listed(t, n, Filter{}) {
		if want := list[len(list)-1-i]; len(e.Points) != 1 || *e.Points[0].Value != *want.Points[0].Value {
			t.Fatalf("entry %d: %+v", i, e.Points)
		}
	}
}
