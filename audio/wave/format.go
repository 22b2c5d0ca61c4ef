package wave

import "fmt"

// Format describes the samples of a file.
type Format struct {
	RateHz    float64 // frames per second
	Channels  int
	Bits      int   // resolution; 32 or 64 for floating point
	Container int   // bits a sample occupies, 0 in a Writer's format: the fewest whole bytes
	Float     bool  // IEEE floating point instead of integers
	Frames    int64 // length; from a Reader -1 where only reading can tell
}

// String describes the format in a line, such as "48000 Hz, 2 channels, 24 bit in 32".
func (f Format) String() string {
	kind := fmt.Sprintf("%d bit", f.Bits)
	if f.Float {
		kind += " float"
	} else if f.Container > 0 && f.Container != f.Bits {
		kind += fmt.Sprintf(" in %d", f.Container)
	}
	return fmt.Sprintf("%.0f Hz, %d channels, %s", f.RateHz, f.Channels, kind)
}

// frameBytes is the size of one frame, from what its parts take.
func (f Format) frameBytes() int { return f.Channels * f.Container / 8 }

// checkWidth says why samples of this width cannot be handled.
func (f Format) checkWidth() error {
	switch {
	case f.Bits <= 0:
		return fmt.Errorf("%w: %d bits per sample", ErrFormat, f.Bits)
	case f.Float && (f.Bits != 32 && f.Bits != 64 || f.Container != f.Bits):
		return fmt.Errorf("%w: %d bit floating point in %d bits; 32 and 64 are", ErrUnsupported, f.Bits, f.Container)
	case !f.Float && f.Container > 32:
		return fmt.Errorf("%w: %d bit integers; up to 32 bits are", ErrUnsupported, f.Container)
	case f.Bits > f.Container:
		return fmt.Errorf("%w: %d bits in a container of %d", ErrFormat, f.Bits, f.Container)
	}
	return nil
}

// wholeBytes rounds bits up to whole bytes.
func wholeBytes(bits int) int { return (bits + 7) / 8 * 8 }
