package audiotest

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"
	"time"

	"example.org/wheatear/audio"
)

// rules is the contract, clause by clause.
var rules = []rule{
	{"complete", "a measurement relies on getting exactly the frames it asked for", ruleComplete},
	{"silence", "an empty stimulus is how the noise of a card is recorded", ruleSilence},
	{"defaults", "the zero Config must work, and its meaning is stated in one place", ruleDefaults},
	{"refuse", "settings that no card could follow are a mistake of the caller, to be named at once", ruleRefuse},
	{"stimulus kept whole", "the caller plays the same stimulus many times and may change it after Run", ruleStimulus},
	{"own records", "a record belongs to the caller; the next run must not write into it", ruleOwnRecords},
	{"second run", "a calibration makes many runs on one card", ruleSecondRun},
	{"input order", "which wire is which must not depend on the card", ruleInputOrder},
	{"cancelled before", "what was cancelled before it began has no record, and takes no time", ruleCancelledBefore},
	{"cancelled on the way", "what was recorded before is good and must not be lost", ruleCancelled},
	{"deadline", "a time limit ends a run as cancelling does", ruleDeadline},
	{"run after cancel", "a run that was cut short must leave the card usable", ruleRunAfterCancel},
	{"two at once", "two runs at once must not mix or hang", ruleTwoAtOnce},
	{"monitor", "what is shown while a run lasts must be what is recorded", ruleMonitor},
	{"monitor stops", "finishing early is decided on what is shown", ruleMonitorStops},
	{"devices", "a list of devices is what people choose from", ruleDevices},
	{"describe", "a kept record says what device it is from", ruleDescribe},
}

func ruleComplete(s *session) error {
	for _, frames := range []int{1, 7, s.cfg.Frames, s.cfg.Frames + 1} {
		cfg := s.cfg
		cfg.Frames = frames
		if _, err := s.run(cfg); err != nil {
			return fmt.Errorf("%d frames: %w", frames, err)
		}
	}
	return nil
}

func ruleSilence(s *session) error {
	rec, err := s.card.Run(context.Background(), s.cfg, nil)
	if err != nil {
		return fmt.Errorf("Run without a stimulus failed: %w", err)
	}
	return checkComplete(rec, s.cfg)
}

func ruleDefaults(s *session) error {
	cfg := s.o.Config
	cfg.Frames = 0
	want, err := cfg.WithDefaults(len(s.tone))
	if err != nil {
		return err
	}
	rec, err := s.card.Run(context.Background(), cfg, s.tone)
	if err != nil {
		return fmt.Errorf("Run failed: %w", err)
	}
	return checkComplete(rec, want)
}

func ruleRefuse(s *session) error {
	for _, spoil := range []func(*audio.Config){
		func(c *audio.Config) { c.RateHz = -48000 },
		func(c *audio.Config) { c.RateHz = math.NaN() },
		func(c *audio.Config) { c.Frames = -1 },
		func(c *audio.Config) { c.Inputs = []int{} },
		func(c *audio.Config) { c.Inputs = []int{0, 1} },
		func(c *audio.Config) { c.Inputs = []int{1, 1} },
		func(c *audio.Config) { c.Outputs = []int{-1} },
	} {
		cfg := s.cfg
		spoil(&cfg)
		rec, err := s.card.Run(context.Background(), cfg, s.tone)
		if bad := checkFailed(rec, err); bad != nil {
			return fmt.Errorf("settings %+v: %w", cfg, bad)
		}
		if !errors.Is(err, audio.ErrConfig) {
			return fmt.Errorf("settings %+v: the error %q does not wrap ErrConfig", cfg, err)
		}
	}
	cfg := s.cfg
	cfg.Inputs = []int{1, 10001}
	rec, err := s.card.Run(context.Background(), cfg, s.tone)
	if bad := checkFailed(rec, err); bad != nil {
		return fmt.Errorf("input 10001: %w", bad)
	}
	if !errors.Is(err, audio.ErrChannels) {
		return fmt.Errorf("input 10001: the error %q does not wrap ErrChannels", err)
	}
	return nil
}

func ruleStimulus(s *session) error {
	before := slices.Clone(s.tone)
	if _, err := s.run(s.cfg); err != nil {
		return err
	}
	if !slices.Equal(before, s.tone) {
		return errors.New("Run changed the stimulus")
	}
	return nil
}

func ruleOwnRecords(s *session) error {
	first, err := s.run(s.cfg)
	if err != nil {
		return err
	}
	kept := make([][]float64, len(first.Channels))
	for i, ch := range first.Channels {
		kept[i] = slices.Clone(ch)
	}
	for i := range s.tone {
		s.tone[i] = -s.tone[i]
	}
	if _, err := s.run(s.cfg); err != nil {
		return err
	}
	if !sameSamples(first, &audio.Record{Channels: kept}) {
		return errors.New("the second run, or the stimulus, changed the first record")
	}
	return nil
}

func ruleSecondRun(s *session) error {
	first, err := s.run(s.cfg)
	if err != nil {
		return err
	}
	second, err := s.run(s.cfg)
	if err != nil {
		return fmt.Errorf("second run: %w", err)
	}
	if s.o.Repeats && !sameSamples(first, second) {
		return errors.New("the second run is not equal to the first, though the card is said to repeat")
	}
	return nil
}

func ruleInputOrder(s *session) error {
	if len(s.cfg.Inputs) < 2 {
		return errNotApplicable
	}
	first, err := s.run(s.cfg)
	if err != nil {
		return err
	}
	cfg := s.cfg
	cfg.Inputs = slices.Clone(cfg.Inputs)
	slices.Reverse(cfg.Inputs)
	second, err := s.run(cfg)
	if err != nil {
		return err
	}
	slices.Reverse(second.Channels)
	if s.o.Repeats && !sameSamples(first, second) {
		return fmt.Errorf("inputs %v are not those of %v in another order", cfg.Inputs, s.cfg.Inputs)
	}
	return nil
}

func ruleCancelledBefore(s *session) error {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	return s.within(func() error {
		rec, err := s.card.Run(ctx, s.long, s.drone)
		if bad := checkFailed(rec, err); bad != nil {
			return bad
		}
		if !errors.Is(err, context.Canceled) {
			return fmt.Errorf("the error %q does not wrap context.Canceled", err)
		}
		return nil
	})
}

// ended makes a long run and ends it on its way, with the error that a context has
// then.
func (s *session) ended(why error) error {
	ctx := &endable{Context: context.Background(), done: make(chan struct{}), why: why}
	return s.within(func() error {
		rec, err := s.runUntil(ctx, ctx.end)
		return checkCutShort(rec, err, s.long, why)
	})
}

// runUntil makes a long run and calls end when it has begun: when the card shows a
// first block, or CancelAfter later where it shows none.
func (s *session) runUntil(ctx context.Context, end func()) (*audio.Record, error) {
	if m, ok := s.card.(audio.Monitor); ok {
		return m.RunMonitored(ctx, s.long, s.drone, func(int64, [][]float64) bool {
			end()
			return true
		})
	}
	timer := time.AfterFunc(s.o.CancelAfter, end)
	defer timer.Stop()
	return s.card.Run(ctx, s.long, s.drone)
}

// endable is a context that ends when it is told to, as one that is cancelled or whose
// time is over.
type endable struct {
	context.Context
	once sync.Once
	done chan struct{}
	why  error
}

func (c *endable) end() { c.once.Do(func() { close(c.done) }) }

func (c *endable) Done() <-chan struct{} { return c.done }

func (c *endable) Err() error {
	select {
	case <-c.done:
		return c.why
	default:
		return nil
	}
}

func ruleCancelled(s *session) error { return s.ended(context.Canceled) }

func ruleDeadline(s *session) error { return s.ended(context.DeadlineExceeded) }

func ruleRunAfterCancel(s *session) error {
	if err := s.ended(context.Canceled); err != nil {
		return err
	}
	_, err := s.run(s.cfg)
	return err
}

func ruleTwoAtOnce(s *session) error {
	type end struct {
		rec *audio.Record
		err error
	}
	other := make(chan end, 1)
	go func() {
		rec, err := s.card.Run(context.Background(), s.cfg, s.tone)
		other <- end{rec, err}
	}()
	rec, err := s.card.Run(context.Background(), s.cfg, s.tone)
	served := 0
	for _, e := range []end{{rec, err}, <-other} {
		if errors.Is(e.err, audio.ErrBusy) && e.rec == nil {
			continue
		}
		if e.err != nil {
			return fmt.Errorf("one of two runs failed otherwise than with ErrBusy: %w", e.err)
		}
		if err := checkComplete(e.rec, s.cfg); err != nil {
			return err
		}
		served++
	}
	if served == 0 {
		return errors.New("both of two runs were refused")
	}
	return nil
}
