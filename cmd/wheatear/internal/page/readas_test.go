package page

import (
	"math"
	"net/http"
	"strings"
	"testing"
)

// A part is read as it is asked for and held against its marking; nonsense is refused
// with what to write.
func TestReadAs(t *testing.T) {
	s := ready(t, Options{})
	s.calibrateBySelf("~1k")
	s.ok("tray/part", `{"name": "valve-snubber"}`) // 97.3 nF and 102 Ω
	for _, c := range []struct {
		as, marked, symbol, outcome, says string
	}{
		{"", "", "Cs", "", ""},
		{"Cp", "", "Cp", "", ""},
		{"R", "", "Rs", "", ""},
		{"Z", "", "|Z|", "", ""},
		{"", "100nF/10%", "Cs", "pass", "2.7 % below the 100 nF marked, within its tolerance"},
		{"", "110nF/5%", "Cs", "fail", "12 % below the 110 nF marked, outside its tolerance"},
		{"", "1k/1%", "Cs", "fail", "90 % below the 1 kΩ marked, outside its tolerance"},
	} {
		var kept []*Kept
		decodeInto(t, s.ok("readings", `{"at": "~1k", "as": "`+c.as+`", "marked": "`+c.marked+`"}`), &kept)
		sheet := kept[0].Sheet
		if sheet.Symbol != c.symbol {
			t.Errorf("as %q, marked %q: %q, want %s", c.as, c.marked, sheet.Symbol, c.symbol)
		}
		if v := sheet.Verdict; (v == nil) != (c.outcome == "") || v != nil && (v.Outcome != c.outcome || strings.ReplaceAll(v.Text, "\u00a0", " ") != c.says) {
			t.Errorf("marked %q: %+v, want %s: %s", c.marked, v, c.outcome, c.says)
		} else if v != nil && (v.Offset == nil || math.Abs(*v.To-0.1) > 0.1 || *v.Low > *v.Offset || *v.High < *v.Offset) {
			t.Errorf("marked %q: shares %+v", c.marked, v)
		}
	}
	for body, says := range map[string]string{
		`{"at": "~1k", "as": "henry"}`:     "read as",
		`{"at": "~1k", "marked": "100nF"}`: "write it as 100nF/5%",
		`{"at": "~1k", "marked": "often"}`: "marked as",
	} {
		for _, path := range []string{"live", "readings"} {
			if status, text := s.call("POST", "/api/"+path, body); status != http.StatusBadRequest || !strings.Contains(text, says) {
				t.Errorf("%s %s: %d %s, want %q", path, body, status, text, says)
			}
		}
	}
}
