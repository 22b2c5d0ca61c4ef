package wave

import (
	"encoding/binary"
	"fmt"
	"math"
)

// layout is all that a file has in front of its samples. Its length does not
// depend on the number of frames, so that it can be written again at the end.
type layout struct {
	Format
	slot bool // room for a ds64 chunk, JUNK while it is not needed
}

// maxPlain is the largest size a RIFF file can state; one more means "unknown".
const maxPlain = math.MaxUint32 - 1

// bytes returns the header for a number of frames, -1 where nobody knows it.
func (l layout) bytes(frames int64) []byte {
	riff, data := l.sizes(frames)
	big := l.big(frames)
	id, riff32, data32, frames32 := "RIFF", uint32(riff), uint32(data), uint32(frames)
	if big {
		id = "RF64"
	}
	if big || frames < 0 {
		riff32, data32, frames32 = unknown32, unknown32, unknown32
	}
	le := binary.LittleEndian
	b := le.AppendUint32([]byte(id), riff32)
	b = append(b, "WAVE"...)
	if l.slot {
		b = appendSlot(b, big, riff, data, frames)
	}
	b = l.appendFormat(b)
	if l.Float {
		b = le.AppendUint32(append(b, "fact\x04\x00\x00\x00"...), frames32)
	}
	return le.AppendUint32(append(b, "data"...), data32)
}

// sizes returns the length of all behind the first size field, and of the samples.
func (l layout) sizes(frames int64) (riff, data int64) {
	data = frames * int64(l.frameBytes())
	return int64(l.size()) - 8 + data + data&1, data
}

// big says whether so many frames are more than 32-bit sizes can state.
func (l layout) big(frames int64) bool {
	riff, _ := l.sizes(frames)
	return frames >= 0 && riff > maxPlain
}

// appendSlot adds the ds64 chunk, or the room for one (EBU Tech 3306).
func appendSlot(b []byte, big bool, riff, data, frames int64) []byte {
	le := binary.LittleEndian
	if !big {
		b = le.AppendUint32(append(b, "JUNK"...), ds64Size)
		return append(b, make([]byte, ds64Size)...)
	}
	b = le.AppendUint32(append(b, "ds64"...), ds64Size)
	for _, n := range []int64{riff, data, frames} {
		b = le.AppendUint64(b, uint64(n))
	}
	return le.AppendUint32(b, 0)
}

// extensible says whether the plain header cannot hold the format.
func (l layout) extensible() bool { return l.Channels > 2 || l.Bits != l.Container }

func (l layout) formatSize() int {
	switch {
	case l.extensible():
		return extensibleSize
	case l.Float:
		return plainSize + 2
	}
	return plainSize
}

// size is the length of the header.
func (l layout) size() int {
	n := 12 + 8 + l.formatSize() + 8
	if l.slot {
		n += 8 + ds64Size
	}
	if l.Float {
		n += 12
	}
	return n
}

func (l layout) appendFormat(b []byte) []byte {
	le := binary.LittleEndian
	sub := uint16(tagPCM)
	if l.Float {
		sub = tagFloat
	}
	tag, size := sub, l.formatSize()
	if l.extensible() {
		tag = tagExtensible
	}
	b = le.AppendUint32(append(b, "fmt "...), uint32(size))
	b = le.AppendUint16(b, tag)
	b = le.AppendUint16(b, uint16(l.Channels))
	b = le.AppendUint32(b, uint32(l.RateHz))
	b = le.AppendUint32(b, uint32(l.RateHz)*uint32(l.frameBytes()))
	b = le.AppendUint16(b, uint16(l.frameBytes()))
	b = le.AppendUint16(b, uint16(l.Container))
	if size == plainSize {
		return b
	}
	b = le.AppendUint16(b, uint16(size-plainSize-2))
	if !l.extensible() {
		return b
	}
	b = le.AppendUint16(b, uint16(l.Bits))
	b = le.AppendUint32(b, speakers(l.Channels))
	return append(le.AppendUint16(b, sub), guidTail...)
}

// speakers is the channel mask: front left and right for two, else unassigned,
// since the inputs of a card are no loudspeakers.
func speakers(channels int) uint32 {
	if channels == 2 {
		return 3
	}
	return 0
}

// checkWrite fills in the container and refuses what no header can state.
func (f Format) checkWrite() (Format, error) {
	if f.Container == 0 {
		f.Container = wholeBytes(f.Bits)
	}
	if err := f.checkWidth(); err != nil {
		return f, fmt.Errorf("wave: %w", err)
	}
	frame := int64(f.Channels) * int64(f.Container/8)
	switch {
	case f.Container%8 != 0:
		return f, fmt.Errorf("wave: %w: a container of %d bits, whole bytes are needed", ErrFormat, f.Container)
	case f.Channels < 1 || frame > math.MaxUint16:
		return f, fmt.Errorf("wave: %w: %d channels of %d bits, a frame has 1 to %d bytes", ErrFormat, f.Channels, f.Container, math.MaxUint16)
	case !(f.RateHz >= 1) || f.RateHz != math.Trunc(f.RateHz) || f.RateHz*float64(frame) > math.MaxUint32:
		return f, fmt.Errorf("wave: %w: rate %g Hz, a whole number is needed, at most %d bytes per second", ErrFormat, f.RateHz, uint32(math.MaxUint32))
	case f.Frames > math.MaxInt64/frame-1024:
		return f, fmt.Errorf("wave: %w: %d frames", ErrFormat, f.Frames)
	}
	return f, nil
}
