package parts

import "testing"

func TestLikeliest(t *testing.T) {
	for text, want := range map[string]Unit{"0.05": Ohm, "100": Ohm, "4k7": Ohm, "10u": Farad, "100n": Farad, "22uH": Henry, "4700uF": Farad, "1 H": Henry} {
		readings, err := Read(text, None)
		if err != nil {
			t.Fatal(err)
		}
		if got := Likeliest(readings, text).Unit; got != want {
			t.Errorf("%s: %s, want %s", text, got, want)
		}
	}
}

func TestExpect(t *testing.T) {
	for text, want := range map[string]struct {
		value float64
		unit  Unit
	}{"10H": {10, Henry}, "1H": {1, Henry}, "47H/5%": {47, Henry}, "22uH": {22e-6, Henry}, "10 H": {10, Henry}, "4k7J": {4700, Ohm}, "100nK": {100e-9, Farad}, "0.05": {0.05, Ohm}} {
		m, err := Expect(text, None)
		if err != nil || m.Unit != want.unit || m.Value < want.value*0.999 || m.Value > want.value*1.001 {
			t.Errorf("%s: %v (%g %s), %v; want %g %s", text, m, m.Value, m.Unit, err, want.value, want.unit)
		}
	}
	if m, err := Expect("100", Farad); err != nil || m.Unit != Farad {
		t.Errorf("100 of a capacitor: %v, %v", m, err)
	}
	if _, err := Expect("what", None); err == nil {
		t.Error("no error")
	}
}
