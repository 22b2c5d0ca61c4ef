package wave

import (
	"flag"
	"io"
	"math"
	"runtime"
	"testing"
	"time"
)

var soak = flag.Bool("soak", false, "run the long statistical tests")

// TestSoakAnHour streams an hour of 24 bit stereo at 192 kHz in constant memory.
func TestSoakAnHour(t *testing.T) {
	if !*soak {
		t.Skip("long; run with -soak")
	}
	const frames = 3600 * 192000
	f := stereo(1, 24)
	f.rate = 192000
	header := riffSized("RIFF", open32, ck("fmt ", f.body()), ckSized("data", nil, open32))
	r, err := NewReader(endless(header, 6*frames+5))
	if err != nil {
		t.Fatal(err)
	}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	start, total := time.Now(), 0
	dst := make([]float64, 2*8192)
	for err == nil {
		var n int
		n, err = r.Read(dst)
		total += n
	}
	runtime.ReadMemStats(&after)
	t.Logf("%d frames in %v, %d bytes allocated", total, time.Since(start), after.TotalAlloc-before.TotalAlloc)
	if err != io.EOF || total != frames || len(r.Events()) != 2 {
		t.Errorf("%d frames, %v, events %v; want %d", total, err, r.Events(), frames)
	}
	if n := after.TotalAlloc - before.TotalAlloc; n > 1<<20 {
		t.Errorf("%d bytes allocated", n)
	}
}

// TestSoakBeyond4GiB writes past 4 GiB and finds an RF64 header afterwards.
func TestSoakBeyond4GiB(t *testing.T) {
	if !*soak {
		t.Skip("long; run with -soak")
	}
	var out head
	w, err := NewWriter(&out, Format{RateHz: 192000, Channels: 2, Bits: 24})
	if err != nil {
		t.Fatal(err)
	}
	src := sine(2, 1<<20)
	frames := int64(0)
	for ; frames*6 < math.MaxUint32; frames += 1 << 20 {
		if err := w.Write(src); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	r, err := NewReader(pipe(out.kept[:80]))
	if err != nil {
		t.Fatal(err)
	}
	if string(out.kept[:4]) != "RF64" || r.left != 6*frames || out.end != 80+6*frames {
		t.Errorf("%q, %d bytes of data in a file of %d; want RF64 and %d", out.kept[:4], r.left, out.end, 6*frames)
	}
}
