package cli

import (
	"math"
	"math/cmplx"
	"strings"

	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/jigcheck"
	"example.org/wheatear/lockin/record"
)

// stepFile is one --recording of verify.
type stepFile struct {
	step   jigcheck.Step
	ohm    *fixture.Load
	playDB float64 // NaN where it is not said
	tape   source
}

// parseStepFile reads STEP=FILE, STEP:1k/0.1%=FILE or levels@-12dBFS=FILE.
func parseStepFile(text string) (s stepFile, file string, err error) {
	what, file, ok := strings.Cut(text, "=")
	if !ok || file == "" {
		return s, "", usagef("--recording %s: write it as STEP=FILE, such as idle=silence.wav", text)
	}
	s.playDB = math.NaN()
	what, db, leveled := strings.Cut(what, "@")
	if leveled {
		var l level
		if err := l.Set(db); err != nil {
			return s, "", &statusError{Usage, err}
		}
		s.playDB = l.db
	}
	name, value, valued := strings.Cut(what, ":")
	if valued {
		load, err := parseLoad(value)
		if err != nil {
			return s, "", &statusError{Usage, err}
		}
		s.ohm = &load
	}
	if s.step, ok = jigcheck.ParseStep(name); !ok {
		return s, "", usagef("--recording %s: there is no step %q; wheatear verify --help lists them", text, name)
	}
	needs := s.step == jigcheck.Load || s.step == jigcheck.Check || s.step == jigcheck.Reference
	if needs && s.ohm == nil {
		return s, "", usagef("--recording %s: of which resistor? Write it as %s:1k/0.1%%=FILE", text, name)
	}
	return s, file, nil
}

// single reports whether a step has one tone of its own.
func single(s jigcheck.Step) bool { return s == jigcheck.Levels || s == jigcheck.Long }

// verifyRecordings takes the evidence from files.
func (a *app) verifyRecordings(v *verification) error {
	var list []stepFile
	var sources []source
	for _, text := range v.flags.recordings {
		s, file, err := parseStepFile(text)
		if err != nil {
			return err
		}
		if v.skips(s.step) {
			continue
		}
		s.tape = a.tapes([]string{file}, v.jig)[0]
		list = append(list, s)
		if s.step != jigcheck.Idle && !single(s.step) && s.step != jigcheck.Terminated1 && s.step != jigcheck.Terminated2 {
			sources = append(sources, s.tape)
		}
	}
	freqs, err := v.tonesOf(sources)
	if err != nil {
		return err
	}
	clock := 0.0
	for _, s := range list {
		rec, seconds, err := v.stepOf(s, freqs)
		if err != nil {
			return err
		}
		rec.AtS = clock
		clock += seconds
		v.evidence.Recordings = append(v.evidence.Recordings, rec)
	}
	return nil
}

// tonesOf settles the tones of the steps with several.
func (v *verification) tonesOf(sources []source) ([]float64, error) {
	at := v.flags.at
	if len(sources) == 0 {
		return nil, nil
	}
	if len(at.requests) == 0 {
		if err := at.Set("all"); err != nil {
			return nil, err
		}
	}
	return tones(at, sources[:1], v.jig.MainsHz, nil)
}

// stepOf analyses one recording as its step needs.
func (v *verification) stepOf(s stepFile, freqs []float64) (jigcheck.Recording, float64, error) {
	rec := jigcheck.Recording{Step: s.step, File: s.tape.name(), Load: s.ohm}
	heard, err := s.tape.listen()
	if err != nil {
		return rec, 0, err
	}
	if s.step == jigcheck.Reference {
		rec.Other, rec.Load = s.ohm, v.firstLoad()
		if rec.Load == nil {
			return rec, 0, usagef("the step reference needs to know the load that is in: add --load 1k/0.1%%, or a recording load:1k/0.1%%=FILE")
		}
	}
	sig := signalOf(heard)
	if s.step == jigcheck.Idle || s.step == jigcheck.Long {
		rec.Signal = sig
	}
	if s.step != jigcheck.Idle {
		cfg := record.Config{MainsHz: v.jig.MainsHz, TonesHz: freqs}
		if single(s.step) {
			if cfg.TonesHz, err = v.singleTone(s.tape); err != nil {
				return rec, 0, err
			}
		}
		if rec.Analysis, err = analyse(s.tape, cfg); err != nil {
			return rec, 0, err
		}
		if !v.stated(rec.Analysis) {
			rec.Analysis.ClockUPPM = 0 // of a tone taken as it was found the clocks are not known
		}
		rec.Played = playedLevel(rec.Analysis, s.playDB)
	}
	return rec, float64(heard.Frames()) / heard.RateHz, nil
}

// singleTone is the strongest tone of a recording, by the frequency that --at says where
// it says one so near. Its harmonics are then not taken for tones of their own.
func (v *verification) singleTone(tape source) ([]float64, error) {
	found, err := analyse(tape, record.Config{MainsHz: v.jig.MainsHz})
	if err != nil {
		return nil, err
	}
	best, strongest := 0.0, 0.0
	for _, t := range found.Tones {
		for _, p := range t.Phasors {
			if a := cmplx.Abs(p); a > strongest {
				best, strongest = t.FreqHz, a
			}
		}
	}
	if best == 0 {
		return nil, nil // the analysis will say what there is instead
	}
	for _, r := range v.flags.at.requests {
		if math.Abs(r.FreqHz/best-1) < nearTone {
			return []float64{r.FreqHz}, nil
		}
	}
	return []float64{best}, nil
}

// nearTone is how far, relative, a tone may be from where --at says: what two clocks make.
const nearTone = 2e-3

// stated reports whether --at says where the tones of a recording were played.
func (v *verification) stated(a *record.Analysis) bool {
	for _, t := range a.Tones {
		for _, r := range v.flags.at.requests {
			if !r.All && !r.Movable && r.FreqHz == t.NominalHz {
				return true
			}
		}
	}
	return false
}

// firstLoad is the load that is in when nothing else is said.
func (v *verification) firstLoad() *fixture.Load {
	if len(v.loads) > 0 {
		return &v.loads[0]
	}
	for _, text := range v.flags.recordings {
		if s, _, err := parseStepFile(text); err == nil && s.step == jigcheck.Load {
			return s.ohm
		}
	}
	return nil
}

// playedLevel is a tone as it was played, where that was said.
func playedLevel(a *record.Analysis, db float64) []fixture.Played {
	if math.IsNaN(db) || len(a.Tones) == 0 {
		return nil
	}
	return []fixture.Played{{FreqHz: a.Tones[0].NominalHz, Amplitude: math.Pow(10, db/20)}}
}
