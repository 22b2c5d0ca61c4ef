package lockin

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"
)

// Every setting that cannot be: an error of the exported kind that names the field.
func TestNewRefusesAndNamesTheField(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	good := func(c Config) Config { c.RateHz = 48000; return c }
	tone := []float64{1000}
	for _, c := range []struct {
		field string
		cfg   Config
	}{
		{"RateHz", Config{TonesHz: tone}},
		{"RateHz", Config{TonesHz: tone, RateHz: -1}},
		{"RateHz", Config{TonesHz: tone, RateHz: nan}},
		{"RateHz", Config{TonesHz: tone, RateHz: inf}},
		{"want one", Config{RateHz: 48000}},
		{"want one", good(Config{TonesHz: tone, External: true})},
		{"want one", good(Config{TonesHz: tone, Lock: Lock{NearHz: 1000}})},
		{"Channels", good(Config{TonesHz: tone, Channels: -1})},
		{"Channels", good(Config{TonesHz: tone, Channels: 1 << 40})},
		{"phasors", good(Config{TonesHz: make([]float64, 70_000)})},
		{"phasors", good(Config{TonesHz: make([]float64, 1000), Harmonics: make([]int, 1000)})},
		{"Every", good(Config{TonesHz: tone, Every: -1})},
		{"Every", good(Config{TonesHz: tone, Every: math.MaxInt})},
		{"FullScale", good(Config{TonesHz: tone, FullScale: -1})},
		{"FullScale", good(Config{TonesHz: tone, FullScale: nan})},
		{"Harmonics[1]", good(Config{TonesHz: tone, Harmonics: []int{1, 0}})},
		{"TonesHz[0]", good(Config{TonesHz: []float64{0}})},
		{"TonesHz[0]", good(Config{TonesHz: []float64{-1000}})},
		{"TonesHz[1]", good(Config{TonesHz: []float64{1000, 24000}})},
		{"TonesHz[0]", good(Config{TonesHz: []float64{30000}})},
		{"TonesHz[0]", good(Config{TonesHz: []float64{48000}})},
		{"TonesHz[0]", good(Config{TonesHz: []float64{nan}})},
		{"TonesHz[0]", good(Config{TonesHz: []float64{inf}})},
		{"harmonic 3", good(Config{TonesHz: []float64{9000}, Harmonics: []int{1, 3}})},
		{"harmonic 24", good(Config{TonesHz: []float64{1000}, Harmonics: []int{24}})},
		{"harmonic", good(Config{TonesHz: tone, Harmonics: []int{math.MaxInt}})},
		{"Lock.NearHz", good(Config{Lock: Lock{Channel: 1}, Channels: 2})},
		{"Lock.NearHz", good(Config{Lock: Lock{NearHz: 12001}})},
		{"Lock.NearHz", good(Config{Lock: Lock{NearHz: -5}})},
		{"Lock.NearHz", good(Config{Lock: Lock{NearHz: nan}})},
		{"Lock.Channel", good(Config{Lock: Lock{NearHz: 1000, Channel: 1}})},
		{"Lock.Channel", good(Config{Lock: Lock{NearHz: 1000, Channel: -1}})},
		{"Lock.RangeHz", good(Config{Lock: Lock{NearHz: 1000, RangeHz: 500}})},
		{"Lock.RangeHz", good(Config{Lock: Lock{NearHz: 1000, RangeHz: -1}})},
		{"Lock.RangeHz", good(Config{Lock: Lock{NearHz: 1000, RangeHz: nan}})},
		{"harmonic 3", good(Config{Lock: Lock{NearHz: 7000}, Harmonics: []int{3}})}, // 7000 + 1400 is too high
		{"Lock.LoopHz", good(Config{Lock: Lock{NearHz: 1000, LoopHz: 201}})},
		{"Lock.LoopHz", good(Config{Lock: Lock{NearHz: 1000, LoopHz: 1e-9}})},
		{"Lock.LoopHz", good(Config{Lock: Lock{NearHz: 1000, LoopHz: nan}})},
		{"TauS", good(Config{TonesHz: tone, Filter: Filter{TauS: -1}})},
		{"TauS", good(Config{TonesHz: tone, Filter: Filter{TauS: nan}})},
		{"TauS", good(Config{TonesHz: tone, Filter: Filter{TauS: 1e300}})},
		{"Poles", good(Config{TonesHz: tone, Filter: Filter{Poles: 9}})},
		{"Poles", good(Config{TonesHz: tone, Filter: Filter{Poles: -1}})},
		{"PassHz", good(Config{TonesHz: tone, Filter: Filter{PassHz: 20}})},
		{"PassHz", good(Config{TonesHz: tone, Filter: Filter{StopHz: 20}})},
		{"PassHz", good(Config{TonesHz: tone, Filter: Filter{PassHz: 20, StopHz: 20}})},
		{"PassHz", good(Config{TonesHz: tone, Filter: Filter{PassHz: 20, StopHz: 24001}})},
		{"PassHz", good(Config{TonesHz: tone, Filter: Filter{PassHz: nan, StopHz: 20}})},
		{"one kind", good(Config{TonesHz: tone, Filter: Filter{PassHz: 20, StopHz: 80, TauS: 1}})},
		{"StopDB", good(Config{TonesHz: tone, Filter: Filter{PassHz: 20, StopHz: 80, StopDB: 10}})},
		{"StopDB", good(Config{TonesHz: tone, Filter: Filter{PassHz: 20, StopHz: 80, StopDB: nan}})},
		{"taps", good(Config{TonesHz: tone, Filter: Filter{PassHz: 1e-6, StopHz: 1.0001e-6}})},
		{"taps", good(Config{TonesHz: tone, Every: 1, Filter: Filter{PassHz: 0.001, StopHz: 0.002}})},
		{"Cycles", good(Config{TonesHz: tone, Filter: Filter{Cycles: -1}})},
		{"Cycles", good(Config{TonesHz: tone, Filter: Filter{Cycles: 1 << 40}})},
		{"Cycles", good(Config{TonesHz: []float64{1e-9}, Filter: Filter{Cycles: 1}})},
		{"Cycles", good(Config{External: true, Filter: Filter{Cycles: 1}})},
		{"Cycles", good(Config{Lock: Lock{NearHz: 1000}, Filter: Filter{Cycles: 1}})},
		{"Every", good(Config{TonesHz: tone, Every: 47, Filter: Filter{Cycles: 1}})},
	} {
		start := time.Now()
		d, err := New[float64](c.cfg)
		if d != nil || !errors.Is(err, ErrConfig) || !strings.Contains(err.Error(), c.field) {
			t.Errorf("%+v: got %v, want an ErrConfig that says %q", c.cfg, err, c.field)
		}
		if _, err := c.cfg.Response(0); !errors.Is(err, ErrConfig) {
			t.Errorf("%+v: Response gives %v, want ErrConfig", c.cfg, err)
		}
		if took := time.Since(start); took > 2*time.Second {
			t.Logf("%s: refused only after %v", c.field, took)
		}
	}
	for _, reference := range []int{-1, 4} {
		if _, err := good(Config{TonesHz: []float64{100, 200}, Harmonics: []int{1, 2}}).Response(reference); !errors.Is(err, ErrConfig) {
			t.Errorf("Response(%d) of four: %v, want ErrConfig", reference, err)
		}
	}
}

// The widest and the narrowest that are allowed are made at once.
func TestExtremesAreMade(t *testing.T) {
	tones := make([]float64, 1<<16)
	for i := range tones {
		tones[i] = 0.3 * float64(i+1)
	}
	for name, cfg := range map[string]Config{
		"65536 tones": {TonesHz: tones},
		"long tau":    {TonesHz: tones[:1], Filter: Filter{TauS: 1e7, Poles: 8}},
		"short tau":   {TonesHz: tones[:1], Filter: Filter{TauS: 1e-300, Poles: 8}},
		"long dump":   {TonesHz: []float64{1000}, Filter: Filter{Cycles: 80_000}},
		"long mean":   {TonesHz: []float64{1000}, Filter: Filter{Cycles: 80_000, Poles: 1}},
		"narrow lock": {Lock: Lock{NearHz: 1000, LoopHz: 0.011}},
		"rare":        {TonesHz: []float64{1000}, Every: 1 << 40},
		"narrow":      {TonesHz: []float64{1000}, Filter: Filter{PassHz: 0.1, StopHz: 0.4}},
		"wide":        {TonesHz: []float64{1000}, Filter: Filter{PassHz: 10_000, StopHz: 24_000}},
	} {
		cfg.RateHz = 48000
		start := time.Now()
		d, err := New[float64](cfg)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		var r Result
		d.Process(&r, Planar(make([]float64, 1000)))
		if _, err := cfg.Response(0); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		t.Logf("%s: %v", name, time.Since(start))
	}
}

func TestPanicsThatAreDocumented(t *testing.T) {
	tone := Config{RateHz: 48000, TonesHz: []float64{1000}}
	own := Config{RateHz: 48000, External: true}
	x := make([]float64, 4)
	for name, f := range map[string]func(){
		"unequal planes":  func() { Planar(x, x[1:]) },
		"broken frame":    func() { Interleaved(x, 3) },
		"no channels":     func() { Interleaved(x, 0) },
		"two channels":    func() { mustNew[float64](t, tone).Process(new(Result), Planar(x, x)) },
		"zero frames":     func() { mustNew[float64](t, tone).Process(new(Result), Frames[float64]{}) },
		"external":        func() { mustNew[float64](t, own).Process(new(Result), Planar(x)) },
		"not external":    func() { mustNew[float64](t, tone).ProcessWith(new(Result), Planar(x), make([]complex128, 4)) },
		"short reference": func() { mustNew[float64](t, own).ProcessWith(new(Result), Planar(x), make([]complex128, 3)) },
		"skip back":       func() { mustNew[float64](t, tone).Skip(-1) },
		"skip too far":    func() { mustNew[float64](t, tone).Skip(math.MaxInt64) },
		"no such output":  func() { new(Result).At(0) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			f()
		}()
	}
}

func TestRetuneRefuses(t *testing.T) {
	d := mustNew[float64](t, Config{RateHz: 48000, TonesHz: []float64{1000, 2000}})
	for _, tones := range [][]float64{{1000}, {1000, 24000}, {}, {1000, math.NaN()}} {
		if err := d.Retune(tones...); !errors.Is(err, ErrConfig) {
			t.Errorf("Retune(%v): %v, want ErrConfig", tones, err)
		}
	}
	if got := d.Config().TonesHz; got[0] != 1000 || got[1] != 2000 {
		t.Errorf("a refused Retune left tones %v", got)
	}
	if err := mustNew[float64](t, Config{RateHz: 48000, External: true}).Retune(1000); !errors.Is(err, ErrConfig) {
		t.Errorf("Retune of an External reference: %v", err)
	}
}
