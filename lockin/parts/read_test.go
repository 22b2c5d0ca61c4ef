package parts_test

import (
	"fmt"
	"testing"

	"example.org/wheatear/lockin/parts"
)

func TestRead(t *testing.T) {
	for _, c := range []struct {
		text string
		unit parts.Unit
		want string
	}{
		{"4n7K", parts.None, "[4n7K: 4.7 nF, 10 %]"},
		{"100nF 5%", parts.None, "[100nF 5%: 100 nF, 5 %]"},
		{"4.7 kΩ/1%", parts.None, "[4.7 kΩ/1%: 4.7 kΩ, 1 %]"},
		{"22uH ± 10 %", parts.None, "[22uH ± 10 %: 22 µH, 10 %]"},
		{"10k 100ppm", parts.Ohm, "[10k 100ppm: 10 kΩ, 0.01 %]"},
		{"0.1u", parts.None, "[0.1u: 100 nF 0.1u: 100 nH]"},
		{"4.7k", parts.None, "[4.7k: 4.7 kΩ]"},
		{"47000", parts.Ohm, "[47000: 47 kΩ]"},
		{"1e-9 F", parts.None, "[1e-9 F: 1 nF]"},
		{"1\u00a0nF\u00a05\u00a0%", parts.None, "[1\u00a0nF\u00a05\u00a0%: 1 nF, 5 %]"},
	} {
		got, err := parts.Read(c.text, c.unit)
		if err != nil || fmt.Sprint(got) != c.want {
			t.Errorf("%q: %v, %v; want %s", c.text, got, err, c.want)
		}
	}
	for _, c := range []struct {
		text   string
		column int
		says   string
	}{
		{"100n/5", 6, "write 5%"}, {"22uH ± x%", 8, "no number"}, {"100 MF", 5, "mega-farad"}, {"0.0 F", 1, "value of nothing"}, {"12345", 5, "three or four"},
		{"4.7q", 4, "not understood"}, {"1e-30", 1, "no such parts"}, {"1nF 200%", 5, "no tolerance"}, {"banana", 1, "no multiplier"},
	} {
		got, err := parts.Read(c.text, parts.None)
		if len(got) > 0 {
			t.Errorf("%q is read as %v", c.text, got)
			continue
		}
		checkRefusal(t, c.text, 0, err, c.column, c.says)
	}
}
