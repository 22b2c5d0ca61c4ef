package lockin

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"example.org/wheatear/lockin/internal/testkit"
)

// Every filter whose figures are stated, with one tone of 6 kHz.
func filterKinds() map[string]Config {
	tone := []float64{6000}
	return map[string]Config{
		"one pole":     {TonesHz: tone, Filter: Filter{TauS: 0.01, Poles: 1}, Every: 480},
		"four poles":   {TonesHz: tone, Filter: Filter{TauS: 0.004}},
		"dense":        {TonesHz: tone, Filter: Filter{TauS: 0.004}, Every: 4},
		"eight poles":  {TonesHz: tone, Filter: Filter{TauS: 0.003, Poles: 8}},
		"narrow":       {TonesHz: tone, Filter: Filter{PassHz: 20, StopHz: 80}},
		"narrow 120":   {TonesHz: tone, Filter: Filter{PassHz: 40, StopHz: 100, StopDB: 120}},
		"wide":         {TonesHz: tone, Filter: Filter{PassHz: 1000, StopHz: 1400}},
		"dump":         {TonesHz: tone, Filter: Filter{Cycles: 60}},
		"mean, poles":  {TonesHz: tone, Filter: Filter{Cycles: 600, TauS: 0.02, Poles: 2}, Every: 480},
		"external":     {External: true, Filter: Filter{PassHz: 20, StopHz: 80}},
		"external, 3p": {External: true, Filter: Filter{TauS: 0.004, Poles: 3}, Every: 100},
	}
}

func withRate(c Config) Config {
	c.RateHz = 48000
	return c
}

func responseOf(t *testing.T, c Config) Response {
	t.Helper()
	r, err := withRate(c).Response(0)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// atOffset demodulates a tone offsetHz beside the reference and returns the outputs.
func atOffset(t *testing.T, c Config, frames int, offsetHz float64) *Result {
	t.Helper()
	x := make([]float64, frames)
	ref := make([]complex128, frames)
	for i := range x {
		s := float64(i) / 48000
		x[i] = math.Cos(2 * math.Pi * (6000 + offsetHz) * s)
		ref[i] = cmplx.Rect(1, 2*math.Pi*math.Mod(6000*float64(i), 48000)/48000)
	}
	if !c.External {
		ref = nil
	}
	return run(t, mustNew[float64](t, withRate(c)), [][]float64{x}, ref, fixed(1000), false)
}

// A tone beside the reference comes out as At says, at any offset, in amplitude and
// phase: the image at twice the tone is the only thing besides.
func TestAtIsWhatAToneBesideDoes(t *testing.T) {
	for name, c := range filterKinds() {
		about := responseOf(t, c)
		frames := int(about.SettlingS(1e-9)*48000) + 20*about.Every
		for _, offset := range []float64{0, 0.3 * about.CutoffHz, about.CutoffHz, 2 * about.CutoffHz, -3.3 * about.CutoffHz, 48000/float64(about.Every) - 0.5*about.CutoffHz} {
			if math.Abs(offset) > 5000 {
				continue
			}
			r := atOffset(t, c, frames, offset)
			image := 1.01 * cmplx.Abs(about.At(12000+offset))
			for i := max(0, len(r.Marks)-5); i < len(r.Marks); i++ {
				want := about.At(offset) * cmplx.Rect(1, 2*math.Pi*offset*float64(r.Marks[i].Frame)/48000)
				if d := cmplx.Abs(r.At(i)[0] - want); d > 2e-9+image {
					t.Errorf("%s, %+.4g Hz: got %v, want %v, off by %.2g (image %.2g)", name, offset, r.At(i)[0], want, d, image)
					break
				}
			}
		}
	}
}

// At and the figures made of it: cutoff, delay.
func TestCutoffAndDelay(t *testing.T) {
	for name, c := range filterKinds() {
		r := responseOf(t, c)
		if db := decibels(r.At(r.CutoffHz)); math.Abs(db+3.0103) > 1e-3 {
			t.Errorf("%s: %.4f dB at the cutoff of %g Hz", name, db, r.CutoffHz)
		}
		h := 1e-3 * r.CutoffHz
		if delay := -cmplx.Phase(r.At(h)) / (2 * math.Pi * h); math.Abs(delay-r.DelayS) > 1e-5*r.DelayS {
			t.Errorf("%s: DelayS %g, phase says %g", name, r.DelayS, delay)
		}
		if d := cmplx.Abs(r.At(0) - 1); d > 1e-12 {
			t.Errorf("%s: gain at the tone off by %.2g", name, d)
		}
		if f := c.Filter; f.StopHz != 0 {
			stop := -max(f.StopDB, 80)
			for _, k := range []float64{1, 1.3, 2.7, 5, 11} {
				if db := decibels(r.At(k * f.StopHz)); k*f.StopHz < 24000 && db > stop+0.5 {
					t.Errorf("%s: %.1f dB at %g Hz, want %g", name, db, k*f.StopHz, stop)
				}
			}
			if ripple := cmplx.Abs(r.At(f.PassHz)); math.Abs(ripple-1) > 2*math.Pow(10, stop/20) {
				t.Errorf("%s: gain %.6f at the edge of the passband", name, ripple)
			}
		}
	}
}

// Interferers that fold onto the passband: none above AliasDB by more than a decibel, and
// the worst of them close to it.
func TestInterferersStayBelowAliasDB(t *testing.T) {
	for name, c := range filterKinds() {
		r := responseOf(t, c)
		if r.Every == 1 {
			continue
		}
		pass := c.Filter.PassHz
		if pass == 0 {
			pass = r.CutoffHz
		}
		out := 48000 / float64(r.Every)
		worst := math.Inf(-1)
		for zone := 1.0; zone*out <= 24000 && zone < 40; zone++ {
			for i := range 401 {
				worst = math.Max(worst, decibels(r.At(zone*out+pass*(float64(i)/200-1))))
			}
		}
		if math.Abs(worst-r.AliasDB) > 1 {
			t.Errorf("%s: worst alias %.2f dB, AliasDB says %.2f", name, worst, r.AliasDB)
		}
		if limit := -max(80, c.Filter.StopDB); c.Every == 0 && !c.Filter.dumps() && r.AliasDB > limit {
			t.Errorf("%s: the default interval leaves %.1f dB, want %g", name, r.AliasDB, limit)
		}
		// Run, not computed: the interferer that folds to half the passband.
		offset := out - pass/2
		res := atOffset(t, c, int(r.SettlingS(1e-6)*48000)+40*r.Every, offset)
		peak := 0.0
		for i := len(res.Marks) - 10; i < len(res.Marks); i++ {
			peak = math.Max(peak, cmplx.Abs(res.At(i)[0]))
		}
		if db := 20 * math.Log10(peak); db > math.Max(-160, math.Max(r.AliasDB, r.ImageDB))+1 {
			t.Errorf("%s: an interferer at %+.1f Hz left %.1f dB, AliasDB says %.1f", name, offset, db, r.AliasDB)
		}
	}
}

// White noise of σ leaves 2σ√(ENBW/rate) on each axis.
func TestNoiseIsThatOfENBW(t *testing.T) {
	seconds := 60
	if *testkit.Soak {
		seconds = 3000
	}
	for name, c := range filterKinds() {
		about := responseOf(t, c)
		d := mustNew[float64](t, withRate(c))
		rng := rand.New(rand.NewPCG(4, 4))
		x, ref := make([]float64, 4800), make([]complex128, 4800)
		for i := range ref {
			ref[i] = cmplx.Rect(1, 2*math.Pi*math.Mod(6000*float64(i), 48000)/48000)
		}
		sum, n := 0.0, 0.0
		var r Result
		for range seconds * 10 {
			for i := range x {
				x[i] = 0.1 * rng.NormFloat64()
			}
			r.Clear()
			if c.External {
				d.ProcessWith(&r, Planar(x), ref)
			} else {
				d.Process(&r, Planar(x))
			}
			for i, m := range r.Marks {
				if m.Flags&Settled != 0 {
					v := r.At(i)[0]
					sum += real(v)*real(v) + imag(v)*imag(v)
					n++
				}
			}
		}
		got := math.Sqrt(sum / n / 2)
		want := 2 * 0.1 * math.Sqrt(about.ENBWHz/48000)
		// Outputs are independent at most 2·ENBW times a second, on two axes.
		u := 1 / math.Sqrt(2*2*math.Min(2*about.ENBWHz, 48000/float64(about.Every))*float64(seconds))
		if math.Abs(got/want-1) > 4.5*u {
			t.Errorf("%s: noise %.5g per axis, want %.5g ± %.1f %%", name, got, want, 450*u)
		}
		t.Logf("%s: noise/√ENBW %.4f ± %.4f", name, got/want, u)
	}
}

// After SettlingS of a step no more than the share is left, and just before it more; an
// output called Settled holds less than 1e-4 but for the image.
func TestSettling(t *testing.T) {
	for name, c := range filterKinds() {
		if c.External {
			continue
		}
		about := responseOf(t, c)
		image := 1.5 * math.Pow(10, about.ImageDB/20)
		r := atOffset(t, c, int(1.5*about.SettlingS(1e-6)*48000)+10*about.Every, 0)
		first := true
		for i, m := range r.Marks {
			left := cmplx.Abs(r.At(i)[0] - 1)
			for _, eps := range []float64{0.1, 1e-2, 1e-3, 1e-4} {
				s := float64(m.Frame) / 48000
				if s >= about.SettlingS(eps)+1e-9 && left > eps*1.001+image {
					t.Errorf("%s: %.3g left after %.5g s, SettlingS(%g) is %.5g", name, left, s, eps, about.SettlingS(eps))
				}
				if c.Every == 4 && s < 0.97*about.SettlingS(eps)-20.0/48000 && left < 0.9*eps-image {
					t.Errorf("%s: only %.3g left after %.5g s, SettlingS(%g) is %.5g", name, left, s, eps, about.SettlingS(eps))
				}
			}
			if m.Flags&Settled != 0 && left > 1e-4+image {
				t.Errorf("%s: settled with %.3g left at frame %d", name, left, m.Frame)
			}
			if m.Flags&Settled != 0 && first {
				first = false
				if late := float64(m.Frame)/48000 - about.SettlingS(1e-4); late > 2*float64(about.Every)/48000 {
					t.Errorf("%s: called settled %.3g s late", name, late)
				}
			}
		}
		if first {
			t.Errorf("%s: never settled", name)
		}
	}
	if r := responseOf(t, filterKinds()["dump"]); !math.IsNaN(r.SettlingS(0)) || !math.IsNaN(r.SettlingS(1)) || !math.IsNaN((Response{}).SettlingS(0.1)) || (Response{}).At(3) != 0 {
		t.Error("absurd shares and the zero Response want NaN and 0")
	}
}

// Elementary figures of equal poles in continuous time, for τ = 1: noise bandwidths
// Γ(n−½)/(4√π Γ(n)), of which 1/4, 1/8, 3/32, 5/64 are in every handbook table of RC
// filters in a row; cutoffs √(2^(1/n) − 1)/2π; settling of the regularised gamma function.
func TestPolesAgainstTable(t *testing.T) {
	var rows []struct {
		Poles   int     `json:"poles"`
		ENBW    float64 `json:"enbw_tau"`
		F3dB    float64 `json:"f3db_tau"`
		Settle4 float64 `json:"settle_9999"`
	}
	testkit.ReadJSON(t, "lowpass.json", &rows)
	if len(rows) != 8 {
		t.Fatalf("%d rows, want 8", len(rows))
	}
	for _, row := range rows {
		c := Config{RateHz: 48000, TonesHz: []float64{6000}, Filter: Filter{TauS: 1, Poles: row.Poles}}
		r := responseOf(t, c)
		for what, v := range map[string][2]float64{
			"noise bandwidth": {r.ENBWHz, row.ENBW}, "cutoff": {r.CutoffHz, row.F3dB}, "settling": {r.SettlingS(1e-4), row.Settle4},
		} {
			// On samples each departs by some n/(τ·rate).
			if math.Abs(v[0]/v[1]-1) > 1e-4 {
				t.Errorf("%d poles, %s: got %.9g, want %.9g", row.Poles, what, v[0], v[1])
			}
		}
		if d := r.DelayS - float64(row.Poles); math.Abs(d) > 1e-4 {
			t.Errorf("%d poles: delay %g s, want %d", row.Poles, r.DelayS, row.Poles)
		}
	}
}

func TestDefaultsAreReadBack(t *testing.T) {
	c := mustNew[int16](t, Config{RateHz: 48000, TonesHz: []float64{1000}}).Config()
	if c.Channels != 1 || c.Filter.TauS != 0.1 || c.Filter.Poles != 4 || c.FullScale != 1<<15 || c.Harmonics[0] != 1 || c.Every < 1000 {
		t.Errorf("defaults %+v", c)
	}
	l := mustNew[float32](t, Config{RateHz: 48000, Lock: Lock{NearHz: 500}, Filter: Filter{PassHz: 20, StopHz: 80}}).Config()
	if l.Lock.RangeHz != 100 || l.Lock.LoopHz != 10 || l.Filter.StopDB != 80 || l.Every != 480 || l.FullScale != 1 {
		t.Errorf("defaults %+v", l)
	}
	c.TonesHz[0], c.Harmonics[0] = 5, 5 // a copy
}
