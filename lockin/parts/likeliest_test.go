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
