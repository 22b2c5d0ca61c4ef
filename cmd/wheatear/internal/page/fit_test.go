package page

import (
	"math"
	"net/http"
	"strings"
	"testing"
)

// A sweep of the snubber is known for the capacitor and the resistor that it is, with
// the truth in the intervals; after a new start, too.
func TestFit(t *testing.T) {
	t.Parallel()
	notShort(t)
	folder := t.TempDir()
	s := ready(t, Options{Folder: folder})
	if status, text := s.call("GET", "/api/sweep/fit", ""); status != http.StatusConflict {
		t.Errorf("without a sweep: %d %s", status, text)
	}
	s.calibrateBySelf("100..10k/5")
	s.ok("tray/part", `{"name": "valve-snubber"}`)
	s.ok("sweep", `{"at": "100..10k/5", "together": true}`)
	s.idle()
	for _, start := range []string{"first", "second"} {
		v, err := s.Fit("Rs + C")
		if err != nil {
			t.Fatal(err)
		}
		for _, want := range []struct {
			name  string
			value float64
		}{{"Rs", 102}, {"C", 97.3e-9}} {
			for _, got := range v.Fits[0].Values {
				if got.Name == want.name && !(got.Quantity.Low <= want.value && want.value <= got.Quantity.High) {
					t.Errorf("%s start: %s is %s, true %g", start, got.Name, got.Text, want.value)
				}
			}
		}
		if len(v.Fits[0].Values) != 2 || len(v.Curve) < 100 || math.Abs(v.Curve[0].FreqHz/100-1) > 0.1 || v.Check == "" {
			t.Errorf("%s start: %+v", start, v)
		}
		s.stop()
		s = serve(t, Options{Folder: folder})
	}
	v, err := s.Fit("")
	if err != nil || len(v.Fits) < 2 || v.Words == "" {
		t.Errorf("chosen: %+v, %v", v, err)
	}
	if v.Identity == nil || v.Identity.Confidence == "" || len(v.Identity.Reasons) == 0 {
		t.Errorf("what it is: %+v", v.Identity)
	}
	if len(v.Residuals) != 5 || math.Abs(v.Residuals[2].Modulus) > 0.01 {
		t.Errorf("residuals %+v", v.Residuals)
	}
	if status, text := s.call("GET", "/api/sweep/file/html?circuit=Rs+%2B+C", ""); status != http.StatusOK || !strings.Contains(text, "Circuit Rs &#43; C") || !strings.Contains(text, ">capacitance in series<") {
		t.Errorf("the report of the fit: %d %.200s", status, text)
	}
	if status, text := s.call("GET", "/api/sweep/file/cir?circuit=Rs+%2B+C", ""); status != http.StatusOK || !strings.Contains(text, ".subckt part") {
		t.Errorf("for simulators: %d %s", status, text)
	}
	if status, text := s.call("GET", "/api/sweep/fit?circuit=R+%2B", ""); status != http.StatusBadRequest || !strings.Contains(text, "character") {
		t.Errorf("no circuit: %d %s", status, text)
	}
}
