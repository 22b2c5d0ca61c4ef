package finding

import (
	"encoding/json"
	"reflect"
	"testing"
)

// A finding comes back from JSON as it was written.
func TestFindingComesBack(t *testing.T) {
	at := 0.25
	for _, want := range []Finding{
		{},
		{Code: Hum, Severity: Note, Detail: "mains lines removed", Advice: "shorter leads"},
		{Code: Dropout, Severity: Invalid, File: "part-1.wav", Channel: 2, FreqHz: 1000.5, AtS: &at, Detail: "a gap", Advice: "again"},
	} {
		text, err := json.Marshal(want)
		if err != nil {
			t.Fatal(err)
		}
		var got Finding
		if err := json.Unmarshal(text, &got); err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%s comes back as %+v, %v", text, got, err)
		}
	}
}
