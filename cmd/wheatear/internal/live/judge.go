package live

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/wheatear/audio"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/spectrum"
)

// passes lists what may be gone in the next record. Anything else that spoils one,
// such as clipping, would spoil that as well.
var passes = []finding.Code{finding.Dropout, finding.Unsettled, finding.NotFinite}

// judge sorts what the analysis found.
func (t *Take) judge() {
	for _, f := range t.Observation.Analysis.Findings {
		if f.Severity == finding.Invalid {
			f.File = t.Observation.File
			t.Spoilt = append(t.Spoilt, f)
		}
	}
	t.Driver = driverFinding(t.Record, t.Observation.File)
}

// passing reports whether another record is worth while: the level had not
// settled, or nothing but what may pass spoils this one.
func (t *Take) passing() bool {
	for _, f := range t.Spoilt {
		if !slices.Contains(passes, f.Code) {
			return false
		}
	}
	return len(t.Spoilt) > 0 || t.restless() != nil
}

// restless is the finding of a level that still moved, nil for none.
func (t *Take) restless() *finding.Finding {
	for i, f := range t.Observation.Analysis.Findings {
		if f.Code == finding.Unsettled {
			return &t.Observation.Analysis.Findings[i]
		}
	}
	return nil
}

// trouble says in a few words why a record is not to be used.
func (t *Take) trouble() string {
	list := t.Spoilt
	if f := t.restless(); len(list) == 0 && f != nil {
		list = []finding.Finding{*f}
	}
	var words []string
	more := map[finding.Code]int{}
	for _, f := range list {
		if more[f.Code]++; more[f.Code] == 1 {
			words = append(words, string(f.Code)+", "+f.Detail)
		}
	}
	for i, code := range firsts(list) {
		if n := more[code]; n > 1 {
			words[i] += fmt.Sprintf(" (and %d more of it)", n-1)
		}
	}
	return strings.Join(words, "; ")
}

// firsts are the codes of findings, each once.
func firsts(list []finding.Finding) (codes []finding.Code) {
	for _, f := range list {
		if !slices.Contains(codes, f.Code) {
			codes = append(codes, f.Code)
		}
	}
	return codes
}

// driverFinding counts what the driver said of lost samples. It is a hint: whether
// anything is lost the samples themselves show, and then there is a dropout.
func driverFinding(rec *audio.Record, file string) *finding.Finding {
	var first *audio.Event
	count := 0
	for i, e := range rec.Events {
		if e.Kind == audio.Overflow || e.Kind == audio.Underflow || e.Kind == audio.Gap {
			if count++; first == nil {
				first = &rec.Events[i]
			}
		}
	}
	if first == nil {
		return nil
	}
	f := finding.Finding{Code: finding.Dropout, Severity: finding.Note, File: file,
		Detail: fmt.Sprintf("the driver reported %d times that it lost or lacked samples, first: %s, %s; what the samples show counts",
			count, first.Kind, first.Detail),
		Advice: "close other programs; a faster machine or another port for the card may help"}
	if first.Frame >= 0 {
		at := float64(first.Frame) / rec.RateHz
		f.AtS = &at
	}
	return &f
}

// Doubts are the findings that forbid to take a record for the standard that it
// claims to be: spoilt, or an open that reads 50 ohm.
func (s *Session) Doubts(t *Take, freqsHz []float64) ([]finding.Finding, error) {
	if len(t.Spoilt) > 0 {
		return t.Spoilt, nil
	}
	_, findings, err := Calibrate(s.jig, []fixture.Observation{t.Observation}, freqsHz, fixture.About{})
	if err != nil {
		return nil, err
	}
	return slices.DeleteFunc(findings, func(f finding.Finding) bool { return f.Severity != finding.Invalid }), nil
}

const (
	faintDB   = -45. // an input that hears no more than this could hear better
	wantedDB  = -12.
	loudestDB = -3.
)

// LevelAdvice suggests another level where the record asks for one, else "". One that
// was cut short may hold too little of the tone to ask for anything.
func (s *Session) LevelAdvice(t *Take) string {
	if slices.ContainsFunc(t.Record.Events, func(e audio.Event) bool { return e.Kind == audio.Truncated }) {
		return ""
	}
	now := spectrum.AmplitudeDB(s.peak)
	heard := spectrum.AmplitudeDB(slices.Max(append([]float64{0}, t.Observation.Analysis.Peak...)))
	for _, f := range t.Observation.Analysis.Findings {
		if f.Code == finding.Clipped {
			return fmt.Sprintf("Turn the input down, or play more quietly: --level %.0fdBFS.", math.Floor(now-6))
		}
	}
	louder := math.Floor(math.Min(loudestDB, now+wantedDB-heard))
	if heard > faintDB || math.IsInf(heard, 0) || louder < now+3 {
		return ""
	}
	return fmt.Sprintf("The inputs hear %.0f dBFS at the most. Turn them up, or play louder: --level %.0fdBFS.", heard, louder)
}
