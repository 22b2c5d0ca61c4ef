// Impedance reads a part from recordings of an open, a short, a load and the part. The
// calibration stays in memory.
//
//	go run ./examples/impedance FOLDER part.wav
package main

import (
	"fmt"
	"log"
	"os"
	"path/filepath"

	"example.org/wheatear/audio/wave"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/record"
	"example.org/wheatear/lockin/uncertain"
)

const freqHz = 120

func main() {
	// Input 1 is connected across part and reference together, input 2 across the part.
	jig, err := fixture.NewJig(fixture.Pair{{Carries: fixture.Total}, {Carries: fixture.Part}}, 22)
	check(err)
	jig.ReferenceTolerance = 0.005
	load := &fixture.Load{Ohm: 10, Tolerance: 0.0005}
	cal, err := fixture.Calibrate(jig, []fixture.Observation{
		{Role: fixture.Open, Analysis: heard("open.wav")},
		{Role: fixture.Short, Analysis: heard("short.wav")},
		{Role: fixture.LoadRole, Load: load, Analysis: heard("load.wav")},
	}, []float64{freqHz}, fixture.About{})
	check(err)
	part, err := fixture.Measure(jig, cal, []fixture.Observation{{Role: fixture.PartRole, Analysis: heard(os.Args[2])}}, freqHz, fixture.Options{})
	check(err)
	fmt.Println("Cs ", uncertain.FormatQuantity(part.Reading.Series.C, "F"))
	fmt.Println("ESR", uncertain.FormatQuantity(part.Reading.Series.R, "Ω"))
	for _, f := range part.Findings {
		fmt.Printf("%s: %s\n", f.Code, f.Detail)
	}
}

// heard analyses a recording of the folder.
func heard(name string) *record.Analysis {
	file, err := os.Open(filepath.Join(os.Args[1], name))
	check(err)
	defer file.Close()
	rec, err := wave.ReadAll(file, nil)
	check(err)
	analysis, err := record.Analyze(record.Signal{RateHz: rec.RateHz, Channels: rec.Channels, Bits: rec.Bits}, record.Config{TonesHz: []float64{freqHz, 10e3}})
	check(err)
	return analysis
}

func check(err error) {
	if err != nil {
		log.Fatal(err)
	}
}
