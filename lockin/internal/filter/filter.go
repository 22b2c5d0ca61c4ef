package filter

import "example.org/wheatear/lockin/internal/phase"

// Block is a run of frames without a gap, for every channel.
type Block struct {
	X   [][]float64 // [channel][frame]
	W   []Mixer     // [reference], one value a frame; not used by filters that mix by themselves
	End int64       // the frame of the stream after the last
	// Out has room for the outputs that the frames complete, one at every multiple of
	// the output interval: [output][channel][reference]. A filter whose Room ends at
	// outputs completes at most one.
	Out []complex128
}

// Mixer is exp(−jφ) for some frames.
type Mixer struct{ Re, Im []float64 }

// Filter is the state of one stream behind the multiplication.
type Filter interface {
	// Room returns how many frames the next block may have when it begins at a frame.
	Room(frame int64) int
	// Whole reports whether blocks must fill their Room where no gap ends them.
	Whole() bool
	Run(b Block)
	// Gap says that frames are missing behind the last block.
	Gap(frames int64)
	Reset()
}

// Tones are what the filters with a mixer of their own are made for: steps of phase in
// a frame, one per reference.
type Tones []phase.Turns

// at returns 2·exp(−jφ) of a reference at a frame: the mixer's factor of two makes a
// peak phasor of half a product.
func (t Tones) at(reference int, frame int64) complex128 {
	return 2 * t[reference].Times(uint64(frame)).Neg().Phasor()
}

// LongestBlock is how many frames a block holds at most: enough to make what is done
// once per block cheap, few enough for its weights to stay in the first-level cache.
const LongestBlock = 256

// untilMultiple returns the frames from a frame to the next multiple of every.
func untilMultiple(frame, every int64) int64 { return every - frame%every }
