package touchstone

import (
	"bytes"
	"testing"
)

func TestWriteRefusesWhatIsNotThere(t *testing.T) {
	n := &Network{FreqHz: []float64{1}, Ohm: []complex128{1}}
	var b bytes.Buffer
	for name, err := range map[string]error{
		"form": Write(&b, n, Form(99)), "nil network": Write(&b, nil, Ohms), "nil writer": Write(nil, n, Ohms),
	} {
		if err == nil || b.Len() > 0 {
			t.Errorf("%s: %v, %d bytes", name, err, b.Len())
		}
	}
}
