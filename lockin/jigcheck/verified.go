package jigcheck

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"time"

	"example.org/wheatear/lockin/internal/errkind"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
)

// VerifiedSchema is what a file of verifications says it is.
const VerifiedSchema = "wheatear.verified/1"

// Verified is what an examination found out about a jig: what takes the place of the
// defaults of its jig file, and what later examinations are compared with. Figures of
// 0 were not measured.
type Verified struct {
	Schema string  `json:"schema"`
	Date   string  `json:"date"` // RFC 3339
	Jig    string  `json:"jig"`
	Card   string  `json:"card"`
	RateHz float64 `json:"rate_hz"`

	ContactOhm float64 `json:"contact_ohm"` // k = 1, as contact_repeatability
	StrayFarad float64 `json:"stray_f"`     // k = 1, as stray_repeatability
	Drift      float64 `json:"drift"`       // k = 1, as drift
	UsefulS    float64 `json:"useful_s"`    // averaging beyond does not help; 0: no end was seen

	NoiseRMS     [2]float64 `json:"noise_rms"` // re full scale
	NoiseU       [2]float64 `json:"noise_u"`
	HumRMS       [2]float64 `json:"hum_rms"`
	HumU         [2]float64 `json:"hum_u"`
	Gain         float64    `json:"gain"`
	DelaySamples float64    `json:"delay_samples"`
	Faults       []string   `json:"faults"` // codes of what was found

	Earlier []Verified `json:"earlier,omitempty"` // newest first
}

// mostEarlier is how many earlier verifications a file keeps.
const mostEarlier = 20

// mostVerifiedBytes is how large a file may be.
const mostVerifiedBytes = 1 << 20

// Keep puts the earlier verifications behind this one, newest first.
func (v *Verified) Keep(earlier *Verified) {
	if earlier == nil {
		return
	}
	list := append([]Verified{*earlier}, earlier.Earlier...)
	list[0].Earlier = nil
	v.Earlier = list[:min(len(list), mostEarlier)]
}

// Encode writes the file.
func (v *Verified) Encode() ([]byte, error) {
	text, err := json.MarshalIndent(v, "", " ")
	if err != nil {
		return nil, errkind.Errorf(ErrEvidence, "jigcheck: %w", err)
	}
	return append(text, '\n'), nil
}

// ParseVerified reads a file of verifications. The name is used in errors only.
//
// Errors: what is no such file or of a later program, figures that are negative or not
// finite, a date that is none.
func ParseVerified(name string, data []byte) (*Verified, error) {
	fail := func(err error) (*Verified, error) {
		return nil, errkind.Errorf(ErrEvidence, "jigcheck: %s: %w; verify the jig anew, or delete the file", name, err)
	}
	if len(data) > mostVerifiedBytes {
		return fail(errors.New("too large for verifications of a jig"))
	}
	var v Verified
	dec := json.NewDecoder(bytes.NewReader(data))
	if err := dec.Decode(&v); err != nil {
		return fail(err)
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return fail(errors.New("something follows its end"))
	}
	if v.Schema != VerifiedSchema {
		return fail(fmt.Errorf("schema %q, want %q", v.Schema, VerifiedSchema))
	}
	if err := v.check(); err != nil {
		return fail(err)
	}
	if len(v.Earlier) > mostEarlier {
		return fail(fmt.Errorf("%d earlier verifications, %d are the most", len(v.Earlier), mostEarlier))
	}
	for i := range v.Earlier {
		if err := v.Earlier[i].check(); err != nil {
			return fail(fmt.Errorf("earlier verification %d: %w", i+1, err))
		}
		if v.Earlier[i].Earlier != nil {
			return fail(fmt.Errorf("earlier verification %d holds others", i+1))
		}
	}
	return &v, nil
}

// check judges every figure.
func (v *Verified) check() error {
	if _, err := time.Parse(time.RFC3339, v.Date); err != nil {
		return fmt.Errorf("date %q is none", v.Date)
	}
	for _, f := range []struct {
		name        string
		value, most float64
	}{
		{"contact_ohm", v.ContactOhm, 1e3}, {"stray_f", v.StrayFarad, 1e-6}, {"drift", v.Drift, 1}, {"useful_s", v.UsefulS, 1e9},
		{"noise_rms", v.NoiseRMS[0], 10}, {"noise_rms", v.NoiseRMS[1], 10}, {"noise_u", v.NoiseU[0], 10}, {"noise_u", v.NoiseU[1], 10},
		{"hum_rms", v.HumRMS[0], 10}, {"hum_rms", v.HumRMS[1], 10}, {"hum_u", v.HumU[0], 10}, {"hum_u", v.HumU[1], 10},
		{"gain", v.Gain, 1e6}, {"rate_hz", v.RateHz, 1e9},
	} {
		if !(f.value >= 0 && f.value <= f.most) {
			return fmt.Errorf("%s is %g; 0 to %g is possible", f.name, f.value, f.most)
		}
	}
	if !(math.Abs(v.DelaySamples) < 1e6) {
		return fmt.Errorf("delay_samples is %g", v.DelaySamples)
	}
	return nil
}

// Apply puts what was measured in the place of the defaults of a jig file, except
// where the file states the value itself. What this verification did not measure comes
// from the last one that did.
func (v *Verified) Apply(jig *fixture.Jig, stated map[string]bool) {
	if jig == nil {
		return
	}
	for _, k := range []struct {
		key   string
		value func(*Verified) float64
		field *float64
	}{
		{"contact_repeatability", func(v *Verified) float64 { return v.ContactOhm }, &jig.ContactOhm},
		{"stray_repeatability", func(v *Verified) float64 { return v.StrayFarad }, &jig.StrayFarad},
		{"drift", func(v *Verified) float64 { return v.Drift }, &jig.Drift},
	} {
		if last := v.last(k.value); last != nil && !stated[k.key] {
			*k.field = k.value(last)
		}
	}
}

// last is the newest verification that measured something; nil where none did.
func (v *Verified) last(figure func(*Verified) float64) *Verified {
	if figure(v) > 0 {
		return v
	}
	for i := range v.Earlier {
		if figure(&v.Earlier[i]) > 0 {
			return &v.Earlier[i]
		}
	}
	return nil
}

// staleDays is the age at which a verification is an old one: common practice, no
// source.
const staleDays = 180

// Stale is the finding of a verification that is old at this time, or whose jig was
// used with another rate since.
func (v *Verified) Stale(now time.Time) (finding.Finding, bool) {
	date, err := time.Parse(time.RFC3339, v.Date)
	days := now.Sub(date).Hours() / 24
	if err != nil || days < staleDays {
		return finding.Finding{}, false
	}
	return finding.Finding{Code: finding.Stale, Severity: finding.Warning,
		Detail: fmt.Sprintf("the verification of the jig is %.0f days old; its contact, stray and drift enter the uncertainty", days),
		Advice: "verify the jig anew (wheatear verify)"}, true
}
