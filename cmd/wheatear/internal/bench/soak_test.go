package bench

import (
	"io"
	"runtime"
	"syscall"
	"testing"
	"time"
)

// usage is what the process has taken at a moment.
type usage struct {
	cpu        time.Duration
	heap       uint64
	goroutines int
	updates    int64
}

func used(s *served) usage {
	runtime.GC()
	var mem runtime.MemStats
	runtime.ReadMemStats(&mem)
	var r syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &r); err != nil {
		s.t.Fatal(err)
	}
	return usage{
		cpu:  time.Duration(r.Utime.Nano() + r.Stime.Nano()),
		heap: mem.HeapAlloc, goroutines: runtime.NumGoroutine(), updates: s.counts.updates.Load(),
	}
}

// Ten minutes of live reading with a page that listens: under a quarter of a core, and
// nothing grows. Memory is compared over whole rounds of the stream, which is held
// while it lasts, and once the trend of five minutes is full.
func TestSoakLiveReading(t *testing.T) {
	if !*soak {
		t.Skip("takes ten minutes: -soak")
	}
	s := ready(t, Options{})
	s.calibrateBySelf("~1k")
	s.ok("tray/part", `{"name": "valve-snubber"}`)
	resp, err := still.Get(s.url + "/api/events")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	go io.Copy(io.Discard, resp.Body)
	s.ok("live", `{"at": "~1k"}`)
	const round = 30 * time.Second // as long as a stream
	measure := func(minutes float64) usage {
		most := usage{}
		for range int(minutes * float64(time.Minute/round)) {
			for range 6 {
				time.Sleep(round / 6)
				u := used(s)
				most.heap, most.goroutines = max(most.heap, u.heap), max(most.goroutines, u.goroutines)
			}
		}
		u := used(s)
		most.cpu, most.updates = u.cpu, u.updates
		return most
	}
	begin := used(s)
	early := measure(5.5)
	late := measure(4.5)
	took := 10 * time.Minute
	share := float64(late.cpu-begin.cpu) / float64(took)
	t.Logf("%.1f %% of a core, %.1f readings a second; at the most %.1f MB and %d goroutines until 5.5 minutes, %.1f MB and %d after",
		100*share, float64(late.updates-begin.updates)/took.Seconds(), float64(early.heap)/1e6, early.goroutines, float64(late.heap)/1e6, late.goroutines)
	if share > 0.25 {
		t.Errorf("%.1f %% of a core", 100*share)
	}
	if float64(late.heap) > 1.05*float64(early.heap) || float64(late.goroutines) > 1.05*float64(early.goroutines) {
		t.Errorf("grown: %+v, then %+v", early, late)
	}
}
