package record
import ("testing";"math/rand/v2";"math/cmplx";"example.org/wheatear/lockin/internal/drawnjig")
func TestZZ(t *testing.T) {
	for _, tones := range [][]float64{{300},{300,600,900}} {
	for _, turn := range []bool{true,false} {
		r := turnedRecord(300, 0.34, drawnjig.Hum{})
		r.Tones = nil
		for i, f := range tones { r.Tones = append(r.Tones, drawnjig.Tone{FreqHz: f, Amplitude: 0.2, Phase: 0.3*float64(i*i)}) }
		r.Before = 0.3
		r.Noise = [2]float64{2e-6,2e-6}
		if !turn { r.TurnAtS = 0 }
		for seed := range uint64(3) {
		x := r.Samples(rand.New(rand.NewPCG(seed, 1)))
		a := analyzed(t, Signal{RateHz: 8000, Channels: x}, Config{TonesHz: tones, MainsHz: 50})
		for _, tone := range a.Tones {
		t.Logf("%g turn %v %d: [%d %d) off %.3g u %.2g LineU %.2g  %v %v %.9f u%.2g", tone.NominalHz, turn, a.Turn, a.First, a.End, cmplx.Abs(tone.Phasors[1]/tone.Phasors[0]/0.5i-1), tone.ratioU(), tone.LineU, a.Findings, a.Mains.FreqHz, cmplx.Abs(tone.Phasors[0])/.2-1, tone.FreqUHz)
		}
		}
	}}
}
