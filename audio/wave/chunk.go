package wave

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"slices"
)

// unknown32 in a size field means "see ds64", or that nobody went back to fill it in.
const unknown32 = math.MaxUint32

// knownChunks are names that may follow a chunk whose pad byte was forgotten, or
// a data chunk that is really empty.
var knownChunks = []string{
	"fmt ", "data", "fact", "LIST", "JUNK", "junk", "bext", "cue ", "smpl", "inst",
	"PEAK", "PAD ", "iXML", "axml", "chna", "id3 ", "ID3 ", "FLLR", "levl",
}

// chunk is a chunk's header.
type chunk struct {
	at   int64 // byte of the file at which its name stands
	id   string
	size uint32 // as the field says
}

func isKnown(id []byte) bool { return slices.Contains(knownChunks, string(id)) }

// next reads a chunk header; io.EOF means that the file ends before it.
func (s *source) next() (chunk, error) {
	var head [8]byte
	c := chunk{at: s.pos}
	n, err := s.read(head[:])
	if err == io.EOF && n > 0 {
		return c, &FormatError{Offset: c.at, Err: fmt.Errorf("%w: the file ends in the header of a chunk", ErrNoData)}
	}
	if err != nil {
		return c, err
	}
	c.id, c.size = string(head[:4]), binary.LittleEndian.Uint32(head[4:])
	if !isName(head[:4]) {
		return c, &FormatError{Offset: c.at, Err: fmt.Errorf("%w: expected the name of a chunk, found bytes %x", ErrNoData, head[:4])}
	}
	return c, nil
}

// isName says whether the four bytes can be the name of a chunk: plain letters
// and spaces.
func isName(id []byte) bool {
	for _, b := range id {
		if b < ' ' || b > '~' {
			return false
		}
	}
	return len(id) == 4
}

// ds64 holds the 64-bit sizes of an RF64 file (EBU Tech 3306).
type ds64 struct {
	data  int64
	table map[string]int64 // other chunks beyond 4 GiB
}

const (
	ds64Size   = 28 // without a table
	ds64Entry  = 12
	ds64Prefix = ds64Size + 64*ds64Entry // as much of a table as is looked at
)

// parseDS64 reads the body of a ds64 chunk, nil where it is too short to hold sizes.
func parseDS64(body []byte) *ds64 {
	if len(body) < 16 {
		return nil
	}
	le := binary.LittleEndian
	d := &ds64{data: clampSize(le.Uint64(body[8:])), table: map[string]int64{}}
	if len(body) < ds64Size {
		return d
	}
	n := le.Uint32(body[24:])
	for e := body[ds64Size:]; len(e) >= ds64Entry && n > 0; e, n = e[ds64Entry:], n-1 {
		d.table[string(e[:4])] = clampSize(le.Uint64(e[4:]))
	}
	return d
}

func clampSize(n uint64) int64 { return int64(min(n, math.MaxInt64)) }

// size is the length of a chunk's body, -1 where nothing tells it. A 64-bit size
// counts only where the field says that it should.
func (d *ds64) size(c chunk) int64 {
	if c.size != unknown32 {
		return int64(c.size)
	}
	if d == nil {
		return -1
	}
	if c.id == "data" {
		return d.data
	}
	if n, ok := d.table[c.id]; ok {
		return n
	}
	return -1
}
