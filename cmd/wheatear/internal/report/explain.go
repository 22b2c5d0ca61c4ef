package report

import (
	"fmt"
	"io"
	"math"
	"math/cmplx"
	"strconv"
	"strings"

	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/impedance"
)

func modulus(p complex128) float64 { return cmplx.Abs(p) }

// explain tells the way from the recording to the reading, step by step.
func (m *Measurement) explain(w io.Writer, r *Reading) {
	fmt.Fprintf(w, "How %s at %s was read\n\n", r.Observations[0].File, nominal(r.NominalHz))
	line := func(name, text string) { Wrap(w, "  "+padRight(name, 12), text) }
	m.explainInputs(line, r)
	m.explainCorrection(line, r)
	m.explainUncertainty(line, r)
}

// explainInputs tells what the two inputs heard.
func (m *Measurement) explainInputs(line func(name, text string), r *Reading) {
	tone := r.Observations[0].Analysis.Tone(r.NominalHz)
	turn := cmplx.Rect(1, -cmplx.Phase(tone.Phasors[strongest(tone.Phasors)]))
	for i, p := range tone.Phasors {
		p *= turn
		u := math.Sqrt(max(tone.Cov.At(2*i, 2*i), tone.Cov.At(2*i+1, 2*i+1)))
		line("input "+strconv.Itoa(i+1), fmt.Sprintf("%s, of full scale: in phase (0°) %s, quadrature (90°) %s; that is %s at %s.",
			m.Jig.Channels[i], digits(real(p), u), digits(imag(p), u), Tie(dbfs(modulus(p))), Tie(angle(p))))
	}
}

func strongest(list []complex128) int {
	best := 0
	for i, p := range list {
		if modulus(p) > modulus(list[best]) {
			best = i
		}
	}
	return best
}

// explainCorrection tells how the two become an impedance.
func (m *Measurement) explainCorrection(line func(name, text string), r *Reading) {
	tone := r.Observations[0].Analysis.Tone(r.NominalHz)
	volts := [2]complex128{tone.Phasors[0], tone.Phasors[1]}
	for i := range volts {
		if m.Jig.FullScaleVolt != nil {
			volts[i] *= complex(m.Jig.FullScaleVolt[i], 0)
		}
	}
	part, reference := m.Jig.Channels.Inverse(volts[0], volts[1])
	ratio := part / reference
	line("ratio", fmt.Sprintf("voltage of the part over that of the reference: %.5g at %s.", modulus(ratio), Tie(angle(ratio))))
	raw := m.Jig.Channels.PartOhm(volts[0], volts[1], fixture.Circuit{ReferenceOhm: complex(m.Jig.ReferenceOhm, 0)})
	line("uncorrected", fmt.Sprintf("times the reference of %s: %s.", Tie(rough4(m.Jig.ReferenceOhm)), ohms(raw)))
	reading := r.Corrected.Reading
	if !valued(reading.Re) {
		return
	}
	z := complex(reading.Re.Value, reading.Im.Value)
	by := "what is usual of jigs, as there is no calibration"
	if m.Cal != nil {
		by = strings.Join(m.standards(r.NominalHz), ", ")
	}
	moved := cmplx.Abs(z-raw) / cmplx.Abs(z)
	line("corrected", fmt.Sprintf("by %s: %s, which moves it by %s of |Z|.", by, ohms(z), Tie(rough(100*moved, "%"))))
	line("Z", fmt.Sprintf("real part %s, imaginary part %s.", Tie(full(reading.Re, "Ω")), Tie(full(reading.Im, "Ω"))))
	if reason := reading.Fitting.Reason; reason != "" {
		line("equivalent", fmt.Sprintf("%s: %s.", reading.Fitting.Circuit, reason))
	}
}

// standards are those of the calibrated frequency nearest to this one.
func (m *Measurement) standards(freqHz float64) []string {
	best := m.Cal.Points[0]
	for _, p := range m.Cal.Points {
		if math.Abs(math.Log(p.FreqHz/freqHz)) < math.Abs(math.Log(best.FreqHz/freqHz)) {
			best = p
		}
	}
	return best.Standards
}

// explainUncertainty tells what limits the reading and what would change that.
func (m *Measurement) explainUncertainty(line func(name, text string), r *Reading) {
	output, name := fixture.OutRe, "real part"
	if kind(r.Corrected.Reading) != impedance.Resistor {
		output, name = fixture.OutIm, "imaginary part"
	}
	list := r.Result.Budget(output)
	if len(list) == 0 {
		return
	}
	first := list[0]
	line("limited by", fmt.Sprintf("%s, %s of the variance of the %s. %s", first.Label, Tie(percent(first.Share)), name, why(first.Label)))
	line("frequency", m.otherFrequency(r, first.Label))
	line("reference", m.otherReference(r, first.Label))
}

// digits writes a share of full scale to the digits that its noise leaves.
func digits(v, u float64) string {
	place := 6
	if u > 0 {
		place = min(max(int(math.Ceil(-math.Log10(u))), 1), 9)
	}
	return unsigned(strconv.FormatFloat(v, 'f', place, 64))
}

func angle(z complex128) string {
	return unsigned(strconv.FormatFloat(cmplx.Phase(z)*180/math.Pi, 'f', 3, 64)) + "°"
}

func rough4(ohm float64) string { return strconv.FormatFloat(ohm, 'g', 6, 64) + " Ω" }

func ohms(z complex128) string {
	sign := "+"
	if imag(z) < 0 {
		sign = "-"
	}
	return Tie(fmt.Sprintf("%.5g Ω %s j %.5g Ω", real(z), sign, math.Abs(imag(z))))
}
