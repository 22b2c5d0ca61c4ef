//go:build portaudio && cgo && linux

package portaudio

import (
	"runtime"
	"strings"
	"time"
)

// stalling is the library with a thread that sleeps once in each run, for 0.4 s in
// the first input call after 1.5 s of the record.
type stalling struct{ native }

func (d stalling) open(p params, t *take) (stream, error) {
	if p.in != nil {
		inner, slept := t.now, false
		t.now = func() time.Duration {
			if t.recorded.Load() > int64(1.5*t.perSecond) && calledBy("onInput") && !slept {
				slept = true
				time.Sleep(400 * time.Millisecond)
			}
			return inner()
		}
	}
	return d.native.open(p, t)
}

// calledBy says whether a method of that name is among the callers.
func calledBy(method string) bool {
	pc := make([]uintptr, 10)
	frames := runtime.CallersFrames(pc[:runtime.Callers(1, pc)])
	for {
		f, more := frames.Next()
		if strings.HasSuffix(f.Function, "."+method) {
			return true
		}
		if !more {
			return false
		}
	}
}
