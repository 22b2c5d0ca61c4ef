package lockin

// Result collects the outputs of a [Demodulator]. The zero value is ready.
type Result struct {
	// Phasors are peak amplitudes: [output][channel][tone][harmonic]. Their time origin
	// is frame 0 of the stream or, locked to a reference, its phase, h-fold for
	// harmonic h.
	Phasors []complex128
	Marks   []Mark // one per output
}

// At returns the phasors of one output: [channel][tone][harmonic]. It panics where
// there is no such output. Outputs of demodulators of different widths cannot be told
// apart in one Result.
func (r *Result) At(output int) []complex128 {
	width := len(r.Phasors) / len(r.Marks)
	return r.Phasors[output*width : (output+1)*width : (output+1)*width]
}

// Clear drops the outputs and keeps the memory.
func (r *Result) Clear() { r.Phasors, r.Marks = r.Phasors[:0], r.Marks[:0] }

// Mark says what an output stands on.
type Mark struct {
	Frame  int64   // the output holds the frames before this one
	FreqHz float64 // of the lock or of the first tone; NaN with External
	Flags  Flags
}

// OK reports whether the output can be used as it is: settled, and locked since the
// output before.
func (m Mark) OK() bool { return m.Flags&(Settled|Locked) == Settled|Locked }

// Flags of an output.
type Flags uint8

const (
	// Settled: less than 1e-4 is left of the start, of a gap, of Retune, or of a lock
	// that was found. What the mixer leaves at twice the tone is not counted: see
	// Response.ImageDB.
	Settled Flags = 1 << iota
	// Locked: the reference was followed ever since the last output. Always set without
	// a Lock.
	Locked
	// Held: the reference was gone for some time since the last output; its frequency
	// went on.
	Held
	// Lost: frames are missing since the last output.
	Lost
)

// String returns the names of the flags.
func (f Flags) String() string {
	s := ""
	for i, name := range []string{"settled", "locked", "held", "lost"} {
		if f&(1<<i) != 0 {
			if s != "" {
				s += "|"
			}
			s += name
		}
	}
	return s
}
