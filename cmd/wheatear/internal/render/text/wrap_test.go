package text

import (
	"strings"
	"testing"
)

func TestWrap(t *testing.T) {
	for _, tc := range []struct{ name, first, text, want string }{
		{"short", "", "a b", "a b\n"},
		{"empty", "note  ", "", "note\n"},
		{"hangs", "  → ", strings.Repeat("word ", 20), "  → " + strings.TrimSpace(strings.Repeat("word ", 15)) + "\n    " + strings.TrimSpace(strings.Repeat("word ", 5)) + "\n"},
		{"long word stays whole", "", "x " + strings.Repeat("y", 90), "x\n" + strings.Repeat("y", 90) + "\n"},
		{"a figure is not broken", "", strings.Repeat("z", 74) + " " + Tie("12 kΩ"), strings.Repeat("z", 74) + " 12 kΩ\n"},
		{"… but moved", "", strings.Repeat("z", 75) + " " + Tie("12 kΩ"), strings.Repeat("z", 75) + "\n12 kΩ\n"},
	} {
		var b strings.Builder
		Wrap(&b, tc.first, tc.text)
		if b.String() != tc.want {
			t.Errorf("%s: got %q, want %q", tc.name, b.String(), tc.want)
		}
	}
}
