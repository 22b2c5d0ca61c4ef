// Impedance reads a part from one recording without the command and without a
// calibration: what the jig is, is told in a few lines; what is not known of it
// enters the uncertainty.
//
//	go run ./examples/impedance part.wav 1000
package main

import (
	"fmt"
	"io"
	"log"
	"os"
	"strconv"

	"example.org/wheatear/audio/wave"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/record"
	"example.org/wheatear/lockin/uncertain"
)

const jigText = `
name = "bench"
channels = ["total", "part"]   # input 1 sees part and reference together, input 2 the part
reference = "1k"
reference_tolerance = "0.1%"
`

func main() {
	freqHz, err := strconv.ParseFloat(os.Args[2], 64)
	if err != nil {
		log.Fatal(err)
	}
	if err := run(os.Stdout, os.Args[1], freqHz); err != nil {
		log.Fatal(err)
	}
}

func run(w io.Writer, path string, freqHz float64) error {
	file, err := os.Open(path)
	if err != nil {
		return err
	}
	defer file.Close()
	rec, err := wave.ReadAll(file, nil)
	if err != nil {
		return err
	}
	heard, err := record.Analyze(record.Signal{RateHz: rec.RateHz, Channels: rec.Channels, Bits: rec.Bits},
		record.Config{TonesHz: []float64{freqHz}})
	if err != nil {
		return err
	}
	jig, err := fixture.ParseJig("bench", []byte(jigText))
	if err != nil {
		return err
	}
	part, err := fixture.MeasureUncalibrated(jig, []fixture.Observation{{Role: fixture.PartRole, File: path, Analysis: heard}}, freqHz, fixture.Options{})
	if err != nil {
		return err
	}
	r := part.Reading
	fmt.Fprintln(w, "R ", uncertain.FormatQuantity(r.Series.R, "Ω"))
	fmt.Fprintln(w, "C ", uncertain.FormatQuantity(r.Series.C, "F"))
	fmt.Fprintln(w, "D ", uncertain.FormatQuantity(r.D, ""))
	for _, f := range part.Findings {
		fmt.Fprintf(w, "%s: %s\n", f.Code, f.Detail)
	}
	return nil
}
