package trouble

import (
	"example.org/wheatear/lockin/internal/testkit"
	"math"
	"path/filepath"
	"testing"
)

// detected runs the detectors over one of the simulated recordings, whose tone of
// 1 kHz stands from 0.22 s to the end.
type detected struct {
	gaps    []Gap
	clipped [2]ClipFigures
	mono    monoFigures
}

func detectIn(t *testing.T, name string) detected {
	t.Helper()
	x, rateHz := testkit.ReadRecording(t, filepath.Join("..", "..", "..", "testdata", "recordings", name))
	var d detected
	d.gaps = FindBreaks(x, rateHz, []float64{1000}, 0, len(x[0]))
	first, end := int(0.22*rateHz), len(x[0])-64
	if len(d.gaps) > 0 {
		first, end = LongestSound(d.gaps, first, end)
	}
	turns := 1000 / rateHz
	var noise [2][]float64
	for ch := range x {
		s, ok := fitSines(x[ch], first, end, []float64{turns})
		if !ok {
			t.Fatal("no fit")
		}
		noise[ch] = s.residual(x[ch], first, end)
		tone := make([]float64, end-first)
		for i := range tone {
			tone[i] = x[ch][first+i] - noise[ch][i] - s.dc
		}
		d.clipped[ch] = FindClipping(x[ch][first:end], x[ch][first:end], tone, 16)
	}
	d.mono = FindMono(x[0][first:end], x[1][first:end], noise[0], noise[1])
	return d
}

func TestRecordingsShowTheirFaults(t *testing.T) {
	for _, c := range []struct {
		file    string
		clipped bool
		mono    bool
		kind    gapKind
		frames  float64
		at      int
	}{
		{file: "f01-clipped/part-good.wav"},
		{file: "f01-clipped/part-clips-hard.wav", clipped: true},
		{file: "f01-clipped/part-just-clips.wav", clipped: true},
		{file: "f02-dropout/part-good.wav"},
		{file: "f02-dropout/part-cut.wav", kind: GapMissing, frames: 239, at: 18768},
		{file: "f02-dropout/part-zeros.wav", kind: gapZero, frames: 128, at: 14321},
		{file: "f04-mono/part-good.wav"},
		{file: "f04-mono/part-copy.wav", mono: true},
		{file: "f04-mono/part-mix.wav", mono: true},
	} {
		d := detectIn(t, c.file)
		if d.clipped[0].Clipped != c.clipped || d.clipped[1].Clipped {
			t.Errorf("%s: clipping %+v", c.file, d.clipped)
		}
		if d.mono.Mono != c.mono {
			t.Errorf("%s: mono %+v", c.file, d.mono)
		}
		if (len(d.gaps) > 0) != (c.kind != "") {
			t.Errorf("%s: breaks %+v", c.file, d.gaps)
		} else if c.kind != "" {
			g := d.gaps[0]
			off := g.Frames - c.frames
			if g.Modulo > 0 { // known up to whole periods, within 0.01 sample at 80 dB
				off = math.Remainder(off, g.Modulo)
			}
			if len(d.gaps) != 1 || g.Kind != c.kind || testkit.AbsInt(g.Frame-c.at) > 1 || math.Abs(off) > 0.01 {
				t.Errorf("%s: breaks %+v", c.file, d.gaps)
			}
		}
	}
}

// BenchmarkDetectors takes all detectors over one second of two channels.
func BenchmarkDetectors(b *testing.B) {
	r := breakBase()
	r.Silence, r.Bits = 0, 24
	x := r.Make(1)
	end := len(x[0])
	var tone, noise [2][]float64
	for ch := range x {
		tone[ch] = fittedTones(b, x[ch], r)
		noise[ch] = make([]float64, end)
		for i, v := range x[ch] {
			noise[ch][i] = v - tone[ch][i]
		}
	}
	for b.Loop() {
		FindBreaks(x, r.RateHz, r.TonesHz, 0, end)
		for ch := range x {
			ExamineSamples(x[ch], r.RateHz)
			FindClipping(x[ch], x[ch], tone[ch], 24)
		}
		FindMono(x[0], x[1], noise[0], noise[1])
		FindSettling(x, noise[:], nil, r.RateHz, 1000, 0, end)
		FindResampling(x, noise[:], r.RateHz, r.TonesHz)
	}
}
