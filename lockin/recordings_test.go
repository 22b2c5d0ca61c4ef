package lockin

import (
	"encoding/binary"
	"errors"
	"os"
	"testing"
)

// readRecording reads a two-channel WAV file of 16-bit samples with a plain
// header; it is here because this package may not import the one that reads all.
func readRecording(t testing.TB, path string) (x [][]float64, rateHz float64) {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	x, rateHz, err = parseRecording(data)
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return x, rateHz
}

func parseRecording(data []byte) (x [][]float64, rateHz float64, err error) {
	x = make([][]float64, 2)
	for at := 12; at+8 <= len(data); {
		id, size := string(data[at:at+4]), int(binary.LittleEndian.Uint32(data[at+4:]))
		body := data[at+8 : min(len(data), at+8+size)]
		switch id {
		case "fmt ":
			if binary.LittleEndian.Uint16(body[14:]) != 16 || body[2] != 2 {
				return nil, 0, errors.New("not two channels of 16 bits")
			}
			rateHz = float64(binary.LittleEndian.Uint32(body[4:]))
		case "data":
			for i := 0; i+4 <= len(body); i += 4 {
				for ch := range x {
					v := int16(binary.LittleEndian.Uint16(body[i+2*ch:]))
					x[ch] = append(x[ch], float64(v)/32768)
				}
			}
			return x, rateHz, nil
		}
		at += 8 + size + size&1
	}
	return nil, 0, errors.New("no data chunk")
}
