package cli

import "testing"

func TestSizes(t *testing.T) {
	for _, c := range []struct {
		text, shown string
		want        bytesFlag
	}{
		{"2GB", "2GB", 2e9}, {"2 GB", "2GB", 2e9}, {"500MB", "500MB", 5e8}, {"1.5kB", "1.5kB", 1500}, {"1KB", "1kB", 1000}, {"7B", "7B", 7}, {"all", "all", 0},
	} {
		var got bytesFlag
		if err := got.Set(c.text); err != nil || got != c.want || got.String() != c.shown {
			t.Errorf("%s: %d, %s, %v", c.text, got, got.String(), err)
		}
	}
	for _, text := range []string{"", "2", "GB", "-1GB", "2 gigabytes", "0B", "0.5B", "1e9B", "99999999999TB", "NaNB", "2GBB"} {
		var got bytesFlag
		if err := got.Set(text); err == nil {
			t.Errorf("%q is taken for %d", text, got)
		}
	}
}
