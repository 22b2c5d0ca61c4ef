package testkit

import (
	"encoding/binary"
	"errors"
	"os"
	"testing"
)

// ReadRecording reads a two-channel WAV file of 16 or 24-bit samples with a plain
// header; it is here because this package may not import the one that reads all.
func ReadRecording(t testing.TB, path string) (x [][]float64, rateHz float64) {
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
	bits := 0
	for at := 12; at+8 <= len(data); {
		id, size := string(data[at:at+4]), int(binary.LittleEndian.Uint32(data[at+4:]))
		body := data[at+8 : min(len(data), at+8+size)]
		switch id {
		case "fmt ":
			bits = int(binary.LittleEndian.Uint16(body[14:]))
			if bits != 16 && bits != 24 || body[2] != 2 {
				return nil, 0, errors.New("not two channels of 16 or 24 bits")
			}
			rateHz = float64(binary.LittleEndian.Uint32(body[4:]))
		case "data":
			w := bits / 8
			for i := 0; i+2*w <= len(body); i += 2 * w {
				for ch := range x {
					x[ch] = append(x[ch], sample(body[i+w*ch:i+w*ch+w]))
				}
			}
			return x, rateHz, nil
		}
		at += 8 + size + size&1
	}
	return nil, 0, errors.New("no data chunk")
}

// sample reads a little-endian integer of whole bytes, full scale 1.
func sample(b []byte) float64 {
	v := int32(0)
	for i, c := range b {
		v |= int32(c) << (32 - 8*(len(b)-i))
	}
	return float64(v) / (1 << 31)
}
