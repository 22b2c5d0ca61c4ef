package page

import (
	"bytes"
	"fmt"
	"net/http"
	"runtime"
	"sync/atomic"
)

// counters count what happened since the program began.
type counters struct {
	updates  atomic.Int64 // live readings
	restarts atomic.Int64 // of the live stream, as something had changed
	records  atomic.Int64 // kept
	failed   atomic.Int64 // activities that ended in an error
}

// metric is one line of the text for scrapers.
type metric struct {
	name, kind, help string
	value            int64
}

func (b *Bench) metrics() []metric {
	var mem runtime.MemStats
	runtime.ReadMemStats(&mem)
	b.mu.Lock()
	busy, readings := int64(0), int64(0)
	if b.active != nil {
		busy = 1
	}
	if b.desk != nil {
		readings = int64(len(b.desk.readings))
	}
	b.mu.Unlock()
	return []metric{
		{"wheatear_live_readings_total", "counter", "Live readings made.", b.counts.updates.Load()},
		{"wheatear_live_restarts_total", "counter", "Live streams begun anew as a setting or the part had changed.", b.counts.restarts.Load()},
		{"wheatear_live_skipped_total", "counter", "Events that a page was too slow for.", b.hub.lost.Load()},
		{"wheatear_records_total", "counter", "Records made and kept.", b.counts.records.Load()},
		{"wheatear_failures_total", "counter", "Activities that ended in an error.", b.counts.failed.Load()},
		{"wheatear_readings", "gauge", "Readings kept for the jig in use.", readings},
		{"wheatear_card_in_use", "gauge", "1 while something has the card.", busy},
		{"wheatear_listeners", "gauge", "Pages that listen.", int64(b.hub.count())},
		{"go_goroutines", "gauge", "Goroutines.", int64(runtime.NumGoroutine())},
		{"go_memstats_heap_alloc_bytes", "gauge", "Bytes of the heap in use.", int64(mem.HeapAlloc)},
		{"go_memstats_sys_bytes", "gauge", "Bytes had from the system.", int64(mem.Sys)},
	}
}

// serveMetrics writes the counts in the text form that scrapers read.
func (b *Bench) serveMetrics(w http.ResponseWriter, _ *http.Request) {
	var out bytes.Buffer
	for _, m := range b.metrics() {
		fmt.Fprintf(&out, "# HELP %s %s\n# TYPE %s %s\n%s %d\n", m.name, m.help, m.name, m.kind, m.name, m.value)
	}
	w.Header().Set("Content-Type", "text/plain; version=0.0.4; charset=utf-8")
	w.Write(out.Bytes())
}
