package uncertain

import (
	"encoding/json"
	"math"
	"testing"
)

var (
	nan = math.NaN()
	inf = math.Inf(1)
)

func sameFloat(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) }

func sameQuantity(a, b Quantity) bool {
	return sameFloat(a.Value, b.Value) && sameFloat(a.U, b.U) && sameFloat(a.Low, b.Low) && sameFloat(a.High, b.High)
}

func TestQuantityJSON(t *testing.T) {
	for _, c := range []struct {
		name string
		q    Quantity
		json string
	}{
		{"plain", Quantity{1, 0.01, 0.98, 1.02}, `{"value":1,"u":0.01,"low":0.98,"high":1.02}`},
		{"small", Quantity{1e-9, 1e-12, 0.9e-9, 1.1e-9}, `{"value":1e-9,"u":1e-12,"low":9e-10,"high":1.1e-9}`},
		{"exact zero", Quantity{}, `{"value":0,"u":0,"low":0,"high":0}`},
		{"absent", Absent(), `null`},
		{"bound below only", Quantity{nan, nan, 12e6, inf}, `{"value":null,"u":null,"low":12000000,"high":null}`},
		{"bound above only", Quantity{nan, nan, -inf, 0.5}, `{"value":null,"u":null,"low":null,"high":0.5}`},
		{"value without bounds", Quantity{3, nan, -inf, inf}, `{"value":3,"u":null,"low":null,"high":null}`},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := json.Marshal(c.q)
			if err != nil {
				t.Fatal(err)
			}
			if string(got) != c.json {
				t.Errorf("%s, want %s", got, c.json)
			}
			var back Quantity
			if err := json.Unmarshal(got, &back); err != nil {
				t.Fatal(err)
			}
			if !sameQuantity(back, c.q) {
				t.Errorf("read back as %+v, want %+v", back, c.q)
			}
		})
	}
}

// TestQuantityJSONInAField: what null must do inside an object, and what cannot
// be read.
func TestQuantityJSONInAField(t *testing.T) {
	var reading struct{ L, C Quantity }
	if err := json.Unmarshal([]byte(`{"L": null, "C": {}}`), &reading); err != nil {
		t.Fatal(err)
	}
	if !reading.L.IsAbsent() || !reading.C.IsAbsent() {
		t.Errorf("%+v", reading)
	}
	for _, bad := range []string{`{"L": "1k"}`, `{"L": {"value": "x"}}`, `{"L": [1]}`} {
		if err := json.Unmarshal([]byte(bad), &reading); err == nil {
			t.Errorf("%s was read as %+v", bad, reading.L)
		}
	}
	infinite, err := json.Marshal(Quantity{inf, inf, -inf, inf})
	if err != nil || string(infinite) != "null" {
		t.Errorf("%s, %v", infinite, err)
	}
}

// TestNormalQuantity: JCGM 100:2008, Table G.2: t_95(4) = 2.776445.
func TestNormalQuantity(t *testing.T) {
	q := NormalQuantity(10, 0.5, 4)
	within(t, "low", q.Low, 10-2.776445*0.5, 1e-6)
	within(t, "high", q.High, 10+2.776445*0.5, 1e-6)
	if q := NormalQuantity(10, 0, 0); q.Low != 10 || q.High != 10 {
		t.Errorf("exact: %+v", q)
	}
	if q := NormalQuantity(1, nan, 0); !math.IsNaN(q.Low) {
		t.Errorf("unknown u: %+v", q)
	}
}
