package report

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"example.org/wheatear/audio"
	"example.org/wheatear/audio/portaudio"
	"example.org/wheatear/cmd/wheatear/internal/live"
)

// Devices writes which devices there are, and which pair would serve; pair is nil
// for none.
func Devices(w io.Writer, list []portaudio.Device, simulated audio.Device, pair *live.Pair) error {
	var b bytes.Buffer
	rows := [][]string{{"", "name", "in", "out", "family", "rates"}}
	for _, d := range list {
		rows = append(rows, []string{strconv.Itoa(d.Number) + mark(d), d.Name, strconv.Itoa(d.Inputs), strconv.Itoa(d.Outputs), d.API, rates(d.RatesHz)})
	}
	rows = append(rows, []string{"", "simulated", strconv.Itoa(simulated.Inputs), strconv.Itoa(simulated.Outputs), simulated.API, ""})
	narrow(rows)
	columns(&b, rows, padLeft)
	if slices.ContainsFunc(list, func(d portaudio.Device) bool { return mark(d) != " " }) {
		fmt.Fprintln(&b, "\n* is what the system uses if nothing is asked for.")
	}
	if pair != nil {
		fmt.Fprintln(&b)
		pairText(&b, pair)
	}
	_, err := w.Write(b.Bytes())
	return err
}

// narrow shortens names so that a table of devices keeps its columns of numbers;
// the middle goes, since what tells devices apart stands at either end.
func narrow(rows [][]string) {
	const most = 40
	for _, row := range rows {
		if name := []rune(row[1]); len(name) > most {
			row[1] = string(name[:most/2]) + "…" + string(name[len(name)-most/2+1:])
		}
	}
}

func mark(d portaudio.Device) string {
	if d.DefaultInput || d.DefaultOutput {
		return "*"
	}
	return " "
}

// rates lists rates in kHz, the lowest and the highest of many.
func rates(hz []float64) string {
	var list []string
	for _, r := range hz {
		list = append(list, strconv.FormatFloat(r/1000, 'f', -1, 64))
	}
	if n := len(list); n > 3 {
		return list[0] + " to " + list[n-1] + " kHz"
	}
	if len(list) == 0 {
		return ""
	}
	return strings.Join(list, ", ") + " kHz"
}

// pairText says which pair would serve, as it is written in a jig file.
func pairText(w io.Writer, p *live.Pair) {
	Wrap(w, "", "This pair would serve: "+p.Why+".")
	fmt.Fprintf(w, "\n    [card]\n    backend = \"portaudio\"\n    input = %q\n", p.Input.FullName())
	if p.Output.Number != p.Input.Number {
		fmt.Fprintf(w, "    output = %q\n", p.Output.FullName())
	}
}

// devicesDoc is the schema wheatear.devices/1.
type devicesDoc struct {
	Schema    string       `json:"schema"`
	Devices   []deviceDoc  `json:"devices"`
	Pair      *pairDoc     `json:"pair"`
	Simulated audio.Device `json:"simulated"`
}

type deviceDoc struct {
	Number        int       `json:"number"`
	API           string    `json:"api"`
	Name          string    `json:"name"`
	Inputs        int       `json:"inputs"`
	Outputs       int       `json:"outputs"`
	RatesHz       []float64 `json:"rates_hz"`
	DefaultInput  bool      `json:"default_input"`
	DefaultOutput bool      `json:"default_output"`
	Note          string    `json:"note"`
}

type pairDoc struct {
	Input  string `json:"input"`
	Output string `json:"output"`
	Why    string `json:"why"`
}

// DevicesJSON writes the same for programs.
func DevicesJSON(w io.Writer, list []portaudio.Device, simulated audio.Device, pair *live.Pair) error {
	doc := devicesDoc{Schema: "wheatear.devices/1", Devices: []deviceDoc{}, Simulated: simulated}
	for _, d := range list {
		doc.Devices = append(doc.Devices, deviceDoc{d.Number, d.API, d.Name, d.Inputs, d.Outputs, listed(d.RatesHz),
			d.DefaultInput, d.DefaultOutput, d.Describe().Note})
	}
	if pair != nil {
		doc.Pair = &pairDoc{pair.Input.FullName(), pair.Output.FullName(), pair.Why}
	}
	return writeJSON(w, doc)
}
