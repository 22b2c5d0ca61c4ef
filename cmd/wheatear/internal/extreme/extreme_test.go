package extreme

import (
	"strings"
	"testing"
)

func TestCheck(t *testing.T) {
	for _, good := range []string{`{"a": [1, -2e-12, 1e59, 1e-303, 0], "b": "1e303"}`, `7`, ``, `{"a": `, `not JSON 1e303`} {
		if err := Check([]byte(good)); err != nil {
			t.Errorf("%s: %v", good, err)
		}
	}
	for _, bad := range []string{"1e303", "-1e303", "1e400", "1e61"} {
		err := Check([]byte("{\n\"a\": [1, {\"b\": " + bad + "}]}"))
		if err == nil || !strings.Contains(err.Error(), "line 2: "+bad) {
			t.Errorf("%s: %v", bad, err)
		}
	}
}
