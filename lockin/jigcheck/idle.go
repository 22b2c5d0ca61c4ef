package jigcheck

import (
	"fmt"
	"math"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/record"
	"example.org/wheatear/lockin/spectrum"
	"example.org/wheatear/lockin/spectrum/welch"
)

// leastIdle is the shortest silence that tells of noise.
const leastIdle = 2048

// silence is what both inputs hear while nothing is played.
type silence struct {
	noise  [2]quantity // rms re full scale, hum taken out
	mains  float64     // Hz; 0 for none
	lines  [2][]hum
	humRMS [2]quantity
}

// hum is one mains line.
type hum struct {
	order int
	peak  float64
	u     float64
}

// idle tells of noise and hum.
func (x *exam) idle() {
	records := x.of(Idle)
	if len(records) == 0 {
		x.note("Noise and hum of the inputs by themselves were not measured: the step idle would tell.")
		return
	}
	s := listen(records[0].Signal, x.Jig.MainsHz)
	for ch := range 2 {
		x.figure("silence", "noise, rms, without hum", ch+1, 0, dbfs(s.noise[ch]), "dBFS")
		x.figure("silence", "hum, rms", ch+1, 0, dbfs(s.humRMS[ch]), "dBFS")
		for _, l := range s.lines[ch] {
			x.figure("silence", "mains line, peak", ch+1, float64(l.order)*s.mains, dbfs(normal(l.peak, l.u)), "dBFS")
		}
		x.out.Model.NoiseRMS[ch], x.out.Model.HumRMS[ch] = s.noise[ch].Value, s.humRMS[ch].Value
		x.out.Model.NoiseU[ch], x.out.Model.HumU[ch] = s.noise[ch].U, s.humRMS[ch].U
	}
	x.density(records[0].Signal)
	if x.auto {
		x.note("Noise and hum were not judged: an automatic gain lifts silence.")
		return
	}
	if x.out.Has(finding.Dropout) {
		x.note("Noise and hum were not judged: where samples are lost, hum cannot be taken out of noise.")
		return
	}
	x.judgeNoise(s)
	x.judgeHum(s)
}

// density is the noise near 1 kHz by Welch's method.
func (x *exam) density(sig record.Signal) {
	segment := 1
	for segment*2 <= min(8192, sig.Frames()/4) {
		segment *= 2
	}
	for ch := range 2 {
		d, f, err := welch.Density(sig.Channels[ch], sig.RateHz, segment, spectrum.Hann())
		if err != nil {
			return
		}
		x.out.Spectra = append(x.out.Spectra, Spectrum{f, d})
		var near []float64
		for i := range d {
			if f[i] > 800 && f[i] < 1250 {
				near = append(near, d[i])
			}
		}
		if m := median(near); m > 0 {
			x.figure("silence", "noise near 1 kHz, per √Hz", ch+1, 0, normal(spectrum.PowerDB(m), 0), "dBFS")
		}
	}
}

// dbfs puts an amplitude into decibels.
func dbfs(q quantity) quantity {
	db := func(v float64) float64 { return decibels(math.Max(v, 1e-15)) }
	return quantity{Value: db(q.Value), U: relativeDB(q.U / math.Max(q.Value, 1e-15)), Low: db(q.Low), High: db(q.High)}
}

func (x *exam) judgeNoise(s silence) {
	for ch := range 2 {
		own, other := s.noise[ch], s.noise[1-ch]
		if own.Value <= 0 || other.Value <= 0 {
			continue
		}
		over := normal(decibels(own.Value/other.Value), relativeDB(math.Hypot(own.U/own.Value, other.U/other.Value)))
		loud := dbfs(own)
		switch {
		case over.Value > 0 && beyond(over, ordinaryNoiseDB):
			x.fault(Fault{Code: finding.Noise, Channel: ch + 1, Value: loud, Unit: "dBFS", Limit: decibels(other.Value) + ordinaryNoiseDB,
				Detail: fmt.Sprintf("input %d has noise of %.1f dBFS rms (%.3g of full scale), %.1f dB above input %d", ch+1, loud.Value, own.Value, over.Value, 2-ch),
				Advice: "exchange the plugs: noise that stays is the input's, noise that goes along comes from lead or jig; try the line input instead of a microphone's"})
		case own.Value-widths*own.U > ordinaryNoise:
			x.fault(Fault{Code: finding.Noise, Channel: ch + 1, Value: loud, Unit: "dBFS", Limit: decibels(ordinaryNoise),
				Detail: fmt.Sprintf("input %d has noise of %.1f dBFS rms", ch+1, loud.Value),
				Advice: "turn the input down and the output up; use the line input instead of a microphone's"})
		}
	}
}

// judgeHum names hum that is too strong whatever it was before.
func (x *exam) judgeHum(s silence) {
	for ch, q := range s.humRMS {
		if loud := dbfs(q); beyond(q, ordinaryHum) {
			x.fault(Fault{Code: finding.Hum, Channel: ch + 1, FreqHz: s.mains, Value: loud, Unit: "dBFS", Limit: decibels(ordinaryHum),
				Detail: fmt.Sprintf("input %d has hum of %.1f dBFS rms at %.2f Hz and its multiples", ch+1, loud.Value, s.mains),
				Advice: "screen and twist the leads, keep supplies and mains leads away, use one ground point; readings are freed of hum, but it takes the room that the tone needs"})
		}
	}
}

// listen takes the mains lines out of a silence and weighs what is left.
func listen(sig record.Signal, mainsHz float64) silence {
	var s silence
	data := [2][]float64{centred(sig.Channels[0]), centred(sig.Channels[1])}
	s.mains = mains(data, sig.RateHz, mainsHz)
	for ch := range 2 {
		rest := data[ch]
		if s.mains > 0 {
			s.lines[ch] = takeLines(rest, sig.RateHz, s.mains)
		}
		sum, u := 0.0, 0.0
		for _, l := range s.lines[ch] {
			sum, u = sum+l.peak*l.peak/2, u+sq(l.peak*l.u/2)
		}
		if sum > 0 {
			s.humRMS[ch] = normal(math.Sqrt(sum), math.Sqrt(u/sum))
		}
		s.noise[ch] = noiseOf(rest)
	}
	return s
}

func centred(x []float64) []float64 {
	mean := 0.0
	for _, v := range x {
		mean += v / float64(len(x))
	}
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = v - mean
	}
	return out
}

// noiseOf is the rms of a record, with the uncertainty that eight parts of it show.
func noiseOf(x []float64) quantity {
	const pieces = 8
	var each []float64
	for k := range pieces {
		part := centred(x[k*len(x)/pieces : (k+1)*len(x)/pieces])
		sum := 0.0
		for _, v := range part {
			sum += v * v
		}
		each = append(each, sum/float64(len(part)))
	}
	mean, sd := spread(each)
	if mean <= 0 {
		return quantity{}
	}
	return normal(math.Sqrt(mean), sd/math.Sqrt(pieces)/2/math.Sqrt(mean))
}
