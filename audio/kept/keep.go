package kept

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"sync"

	"example.org/wheatear/audio"
)

// Keep returns a card that writes every run of another one into a directory, which
// it makes if need be: run-1, run-2 and so on, behind those that are there. A run
// that cannot be kept fails, so that nobody believes it was.
func Keep(card audio.Card, dir string) audio.Card { return &keeper{card: card, dir: dir} }

type keeper struct {
	card audio.Card
	dir  string

	mu   sync.Mutex
	next int // number of the next run; 0 before the first
}

// Run implements [audio.Card].
func (k *keeper) Run(ctx context.Context, cfg audio.Config, stimulus []float64) (*audio.Record, error) {
	rec, err := k.card.Run(ctx, cfg, stimulus)
	full, bad := cfg.WithDefaults(len(stimulus))
	if bad != nil {
		return rec, err // no settings to keep
	}
	r := Run{Config: full, StimulusFrames: len(stimulus), Record: rec, Err: err}
	if d, ok := k.card.(audio.Describer); ok {
		r.Device = d.Describe()
	}
	base, failed := k.take()
	if failed == nil {
		failed = Write(base, r)
	}
	if failed != nil && err == nil {
		return nil, failed
	}
	return rec, err
}

// take gives out the next free name.
func (k *keeper) take() (string, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if err := os.MkdirAll(k.dir, 0o700); err != nil {
		return "", fmt.Errorf("kept: %w", err)
	}
	for {
		k.next++
		base := runName(k.dir, k.next)
		if _, err := os.Stat(base + ".json"); os.IsNotExist(err) {
			return base, nil
		} else if err != nil {
			return "", fmt.Errorf("kept: %w", err)
		}
	}
}

func runName(dir string, n int) string { return filepath.Join(dir, fmt.Sprintf("run-%d", n)) }
