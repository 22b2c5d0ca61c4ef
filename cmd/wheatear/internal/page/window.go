package page

import (
	"example.org/wheatear/lockin/record"
)

// window holds the last frames of a stream. The memory is allocated once.
type window struct {
	rateHz float64
	ring   [2][]float64
	next   int   // where the next frame goes
	frames int64 // taken so far
}

func newWindow(rateHz float64, frames int) *window {
	w := &window{rateHz: rateHz}
	for ch := range w.ring {
		w.ring[ch] = make([]float64, frames)
	}
	return w
}

// add takes a block of two channels of equal length.
func (w *window) add(block [][]float64) {
	n := len(block[0])
	for ch := range w.ring {
		at := w.next
		for _, v := range block[ch] {
			w.ring[ch][at] = v
			if at++; at == len(w.ring[ch]) {
				at = 0
			}
		}
	}
	w.next = (w.next + n) % len(w.ring[0])
	w.frames += int64(n)
}

// full reports whether the window is full of frames after the first skip.
func (w *window) full(skip int64) bool { return w.frames >= skip+int64(len(w.ring[0])) }

// copyTo puts the frames in order of time into dst, which may be reused.
func (w *window) copyTo(dst *record.Signal) {
	dst.RateHz = w.rateHz
	if dst.Channels == nil {
		dst.Channels = make([][]float64, len(w.ring))
	}
	for ch := range w.ring {
		dst.Channels[ch] = append(append(dst.Channels[ch][:0], w.ring[ch][w.next:]...), w.ring[ch][:w.next]...)
	}
}
