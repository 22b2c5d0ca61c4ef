package cli

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"math/cmplx"
	"os"
	"regexp"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/cmd/wheatear/internal/render/text"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/cmd/wheatear/internal/wiring"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/stimulus"
)

// meterHz is where a tone is played that a meter is to read: any AC voltmeter is good
// there, and it is clear of hum.
const meterHz = 175

// fullScale plays a tone for as long as it takes to read a meter, asks for the volts, and
// writes full_scale into the jig file.
func (a *app) fullScale(v *verification) error {
	io.WriteString(a.talk, wiring.Cautions()+"\n")
	w, err := a.openSession(v.flags.jig, v.jig, liveFlags{keep: v.flags.keep, level: v.flags.level}, "full scale")
	if err != nil {
		return err
	}
	defer a.closeSession(w)
	v.card = w.Card()
	if err := a.connectMeter(v, w); err != nil {
		return err
	}
	plan, err := w.PlanFor(a.ctx, []stimulus.ToneRequest{{FreqHz: meterHz, Movable: true}}, 0, v.flags.longS)
	if err != nil {
		return err
	}
	t, err := w.Take(a.ctx, live.Subject{Role: fixture.PartRole, Name: "full-scale"}, plan)
	a.progress.clear()
	if err != nil {
		return err
	}
	heard, err := heardBy(t, plan)
	if err != nil {
		return err
	}
	full, err := a.readMeter(v, heard)
	if err != nil {
		return err
	}
	text, err := writeFullScale(v.flags.jig, full)
	if err != nil {
		return err
	}
	jig, err := fixture.ParseJig(v.flags.jig, text)
	if err != nil {
		return err
	}
	return a.concludeFullScale(v, jig, heard, full)
}

// meterInput is the input whose node the meter is put to: total, or else part, one end of
// which is ground in most wirings.
func meterInput(jig *fixture.Jig) int {
	for _, c := range []fixture.Carries{fixture.Total, fixture.Part} {
		if i := jig.Channels.Index(c); i >= 0 {
			return i
		}
	}
	return 0
}

// connectMeter says where the meter goes and waits.
func (a *app) connectMeter(v *verification, w *work) error {
	if w.Simulated() {
		return w.PutResistor(v.jig.ReferenceOhm)
	}
	i := meterInput(v.jig)
	a.say("Connect a resistor of about %s as the part, and an AC voltmeter across what input %d carries (%s). A tone of %d Hz will sound for %.0f s: read the volts meanwhile.",
		text.Tie(parts.FormatValue(v.jig.ReferenceOhm, parts.Ohm)), v.jig.Inputs[i], v.jig.Channels[i], meterHz, v.flags.longS)
	_, err := a.ask("Press Enter to play, ctrl-C to leave.")
	return err
}

// heardBy is the peak that each input heard, re full scale.
func heardBy(t *live.Take, plan *stimulus.Plan) (heard [2]complex128, err error) {
	if len(t.Spoilt) > 0 {
		return heard, fmt.Errorf("the recording cannot be used: %s, %s", t.Spoilt[0].Code, t.Spoilt[0].Detail)
	}
	tone := t.Observation.Analysis.Tone(plan.Tones[0].FreqHz)
	if tone == nil || len(tone.Phasors) < 2 || !tone.Detected[0] || !tone.Detected[1] {
		return heard, fmt.Errorf("the tone is not heard by both inputs; check the cables, or play louder with --level")
	}
	return [2]complex128{tone.Phasors[0], tone.Phasors[1]}, nil
}

// readMeter takes the volts from the flag or a person, for one input or both.
func (a *app) readMeter(v *verification, heard [2]complex128) (full [2]float64, err error) {
	first := meterInput(v.jig)
	order := [2]int{first, 1 - first}
	given := strings.Split(v.flags.volts, ",")
	for n, i := range order {
		accept := func(text string) error {
			if text == "" && n == 1 {
				full[i] = full[first] // alike
				if v.earlier != nil && v.earlier.Gain > 0 {
					full[i] = v.alike(full[first], first)
				}
				return nil
			}
			volts, err := parts.ParsePositive(text, parts.Volt)
			full[i] = volts * math.Sqrt2 / cmplx.Abs(heard[i])
			return err
		}
		if v.flags.volts != "" {
			text := ""
			if n < len(given) {
				text = strings.TrimSpace(given[n])
			}
			if err := accept(text); err != nil {
				return full, &statusError{Usage, err}
			}
			continue
		}
		question := fmt.Sprintf("How many volts rms does the meter read across %s?", v.jig.Channels[i])
		if n == 1 {
			question += " (Enter: take both inputs as they were verified, or else alike)"
		}
		if err := a.choose(question, accept); err != nil {
			return full, err
		}
	}
	return full, nil
}

// alike is the full scale of the other input by the ratio of the gains that an earlier
// verification found, which was against the full scales of the file then.
func (v *verification) alike(full float64, first int) float64 {
	ratio := v.earlier.Gain // of input 2 over input 1
	if s := v.jig.FullScaleVolt; len(s) == 2 {
		ratio *= s[0] / s[1]
	}
	if first == 0 {
		return full / ratio
	}
	return full * ratio
}

var (
	fullScaleLine = regexp.MustCompile(`(?m)^[ \t]*full_scale[ \t]*=[^\n#]*(#[^\n]*)?$`)
	sectionLine   = regexp.MustCompile(`(?m)^[ \t]*\[`)
)

// writeFullScale puts full_scale into a jig file, in place of what it had, and leaves all
// else as it is, comments too.
func writeFullScale(file string, full [2]float64) ([]byte, error) {
	old, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	text := withFullScale(old, full)
	jig, err := fixture.ParseJig(file, text)
	if err != nil || len(jig.FullScaleVolt) != 2 {
		return nil, fmt.Errorf("%s: full_scale cannot be put into it; write it by hand: full_scale = [\"%.5gV\", \"%.5gV\"]", file, full[0], full[1])
	}
	return text, writeFile(file, func(w io.Writer) error {
		_, err := w.Write(text)
		return err
	})
}

func withFullScale(old []byte, full [2]float64) []byte {
	line := fmt.Sprintf("full_scale = [\"%.5gV\", \"%.5gV\"]", full[0], full[1])
	head, rest := old, []byte(nil)
	if at := sectionLine.FindIndex(old); at != nil {
		head, rest = old[:at[0]], old[at[0]:]
	}
	if at := fullScaleLine.FindSubmatchIndex(head); at != nil {
		comment := ""
		if at[2] >= 0 {
			comment = " " + string(head[at[2]:at[3]])
		}
		return bytes.Join([][]byte{head[:at[0]], []byte(line + comment), head[at[1]:], rest}, nil)
	}
	head = bytes.TrimRight(head, "\n")
	return bytes.Join([][]byte{head, []byte("\n" + line + "\n\n"), rest}, nil)
}

// concludeFullScale tells what level that is at the part.
func (a *app) concludeFullScale(v *verification, jig *fixture.Jig, heard [2]complex128, full [2]float64) error {
	p, q := jig.Channels.Inverse(heard[0]*complex(full[0], 0), heard[1]*complex(full[1], 0))
	volts, amperes := cmplx.Abs(p)/math.Sqrt2, cmplx.Abs(q)/math.Sqrt2/jig.ReferenceOhm
	doc := &result.FullScale{Schema: result.FullScaleSchema, Jig: jig.Name, File: v.flags.jig, Volts: full, Level: result.Level{PartVRMS: &volts, PartARMS: &amperes}}
	return a.show(doc, tell.FullScale(doc), v.flags.json, false)
}
