package run

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/cells"
	"example.org/wheatear/cmd/wheatear/internal/extreme"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/uncertain"
)

// Part is one part of a run. NaN is what could not be told.
type Part struct {
	Number   int    // from 1
	Name     string // as it was put in or recorded
	At       time.Time
	Expected string
	FreqHz   float64
	Value    float64 // in the unit of the run, like the next ones
	U        float64
	OwnU     float64 // what it does not share with the other parts
	Low      float64 // of the 95 % interval
	High     float64
	Verdict  string  // pass, fail or undecided
	Risk     float64 // of the verdict being wrong
	EnoughU  float64 // with which an undecided one would be decided
	Bin      string
	Chance   float64 // of the bin

	// As and Main are what the part is told by: the value above, or what it is instead.
	// The zero Element is for what was not read, and for files of older versions.
	As   impedance.Element
	Main uncertain.Quantity
}

// units are the ends of names in the header.
var units = map[parts.Unit]string{parts.Ohm: "ohm", parts.Farad: "f", parts.Henry: "h"}

// Expectation is a part and its tolerance in short, as the file of a run has it.
func Expectation(m parts.Marking) string {
	return parts.Words(m.Value, m.Unit) + "/" + m.Tolerance.String()
}

// header is the first line; every name ends in its unit.
func header(unit parts.Unit) []string {
	u := "_" + units[unit]
	return []string{"number", "name", "time", "expected", "frequency_hz", "value" + u, "u" + u, "u_own" + u, "low_95" + u, "high_95" + u,
		"verdict", "risk", "u_to_decide" + u, "bin", "bin_chance", "main_si", "main_u_si", "main_low_si", "main_high_si", "main_element", "main_circuit"}
}

// oldColumns are those of files that say nothing of the main figure.
const oldColumns = 15

// row writes a part; what could not be told, and an end without bound, is an empty field.
func (p Part) row() []string {
	f := cells.Number
	row := []string{strconv.Itoa(p.Number), cells.Text(p.Name), p.At.UTC().Format(time.RFC3339), cells.Text(p.Expected), f(p.FreqHz), f(p.Value), f(p.U), f(p.OwnU), f(p.Low), f(p.High),
		p.Verdict, f(p.Risk), f(p.EnoughU), cells.Text(p.Bin), f(p.Chance)}
	if (p.As == impedance.Element{}) {
		return append(row, make([]string, 6)...)
	}
	return append(row, f(p.Main.Value), f(p.Main.U), f(p.Main.Low), f(p.Main.High), p.As.Letter(), string(p.As.Circuit))
}

func partOf(row []string) (p Part, err error) {
	number := func(text string) float64 {
		if text == "" {
			return math.NaN()
		}
		v, e := strconv.ParseFloat(text, 64)
		if (e != nil || !(math.Abs(v) <= extreme.Most)) && err == nil {
			err = fmt.Errorf("%q is no number", text)
		}
		return v
	}
	p = Part{Name: cells.Original(row[1]), Expected: cells.Original(row[3]), FreqHz: number(row[4]), Value: number(row[5]), U: number(row[6]), OwnU: number(row[7]),
		Low: number(row[8]), High: number(row[9]), Verdict: row[10], Risk: number(row[11]), EnoughU: number(row[12]), Bin: cells.Original(row[13]), Chance: number(row[14])}
	var e error
	if len(row) > oldColumns && row[oldColumns+4] != "" {
		if p.As, e = impedance.ParseElement(row[oldColumns+4]); e != nil && err == nil {
			err = fmt.Errorf("%q is no element", row[oldColumns+4])
		}
		p.As.Circuit = impedance.Circuit(row[oldColumns+5])
		p.Main = uncertain.Quantity{Value: number(row[oldColumns]), U: number(row[oldColumns+1]), Low: math.Inf(-1), High: math.Inf(1)}
		if low := number(row[oldColumns+2]); !math.IsNaN(low) {
			p.Main.Low = low
		}
		if high := number(row[oldColumns+3]); !math.IsNaN(high) {
			p.Main.High = high
		}
	}
	if p.Number, e = strconv.Atoi(row[0]); e != nil && err == nil {
		err = fmt.Errorf("%q is no number of a part", row[0])
	}
	if p.At, e = time.Parse(time.RFC3339, row[2]); e != nil && err == nil {
		err = fmt.Errorf("%q is no time", row[2])
	}
	return p, err
}

// oneLine keeps a name from spreading over lines, where a cut could not be told.
func oneLine(name string) string {
	return strings.NewReplacer("\r\n", " ", "\n", " ", "\r", " ").Replace(name)
}
