package impedance

import (
	"errors"

	"example.org/wheatear/lockin/internal/errkind"
)

// ErrConfig is wrapped by errors about settings.
var ErrConfig = errors.New("impedance: this setting cannot be used")

// Config is what may be chosen about a reading. The zero value is ready to use.
type Config struct {
	Trials int    // length of the Monte Carlo run; 0 means 10000
	Seed   uint64 // of the run; any value, 0 included, gives the same reading every time

	// ReferenceOhm is what the part was measured against: nothing within a decade of it is
	// called an open or a short. 0 where unknown: any part may then be.
	ReferenceOhm float64

	// The habits of the trade (common practice, no source): series elements are
	// shown for low |Z| and parallel ones for high |Z|.
	SeriesBelowOhm   float64 // 0 means 10
	ParallelAboveOhm float64 // 0 means 10000
}

// defaultConfig is the zero Config with what it stands for.
var defaultConfig, _ = Config{}.withDefaults()

// leastTrials leaves 25 trials beyond each end of a 95 % interval.
const leastTrials = 1000

func (cfg Config) withDefaults() (Config, error) {
	if cfg.Trials == 0 {
		cfg.Trials = 10000
	}
	if cfg.SeriesBelowOhm == 0 {
		cfg.SeriesBelowOhm = 10
	}
	if cfg.ParallelAboveOhm == 0 {
		cfg.ParallelAboveOhm = 10000
	}
	if cfg.Trials < leastTrials {
		return cfg, errkind.Errorf(ErrConfig, "impedance: %d trials are too few for an interval: use %d or more", cfg.Trials, leastTrials)
	}
	if !(cfg.ReferenceOhm >= 0) || !finite(cfg.ReferenceOhm) {
		return cfg, errkind.Errorf(ErrConfig, "impedance: a reference of %g ohm: use one of 0 or more", cfg.ReferenceOhm)
	}
	if !(cfg.SeriesBelowOhm > 0) || !(cfg.ParallelAboveOhm >= cfg.SeriesBelowOhm) {
		return cfg, errkind.Errorf(ErrConfig, "impedance: series below %g ohm and parallel above %g ohm: use positive limits in this order",
			cfg.SeriesBelowOhm, cfg.ParallelAboveOhm)
	}
	return cfg, nil
}
