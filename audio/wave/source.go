package wave

import (
	"bufio"
	"fmt"
	"io"
)

// source counts bytes and skips them by seeking where that can be done.
type source struct {
	buf  *bufio.Reader
	raw  io.Reader
	seek io.Seeker // nil for a pipe
	base int64     // where the file starts, for seek
	pos  int64     // bytes taken
	end  int64     // real length of the file, -1 where unknown
}

func newSource(r io.Reader) (*source, error) {
	s := &source{buf: bufio.NewReader(r), raw: r, end: -1}
	seek, ok := r.(io.Seeker)
	if !ok {
		return s, nil
	}
	// A pipe may have a Seek method that fails, a device one that means nothing.
	here, err := seek.Seek(0, io.SeekCurrent)
	if err != nil {
		return s, nil
	}
	end, err := seek.Seek(0, io.SeekEnd)
	if err != nil {
		return s, nil
	}
	if _, err := seek.Seek(here, io.SeekStart); err != nil {
		return nil, fmt.Errorf("wave: seeking back to byte %d: %w", here, err)
	}
	if end > here {
		s.seek, s.base, s.end = seek, here, end-here
	}
	return s, nil
}

// left is the number of bytes that follow, -1 where unknown.
func (s *source) left() int64 {
	if s.end < 0 {
		return -1
	}
	return max(0, s.end-s.pos)
}

// read fills p. It returns fewer bytes only together with an error, and io.EOF,
// unchanged, is the only one that means the end.
func (s *source) read(p []byte) (int, error) {
	const patience = 100 // empty reads in a row before a reader is given up
	n, idle := 0, 0
	for n < len(p) {
		k, err := s.buf.Read(p[n:])
		n += k
		s.pos += int64(k)
		if err == io.EOF {
			if n == len(p) {
				return n, nil
			}
			return n, io.EOF
		}
		if err != nil {
			return n, fmt.Errorf("wave: reading at byte %d: %w", s.pos, err)
		}
		if idle++; k > 0 {
			idle = 0
		}
		if idle >= patience {
			return n, fmt.Errorf("wave: reading at byte %d: %w", s.pos, io.ErrNoProgress)
		}
	}
	return n, nil
}

// skip passes over n bytes; io.EOF says that fewer are there.
func (s *source) skip(n int64) error {
	if s.end >= 0 && n > s.left() {
		return io.EOF
	}
	if s.seek != nil && n > int64(s.buf.Buffered()) {
		return s.jump(s.pos + n)
	}
	k, err := io.CopyN(io.Discard, s.buf, n)
	s.pos += k
	if err != nil && err != io.EOF {
		return fmt.Errorf("wave: reading at byte %d: %w", s.pos, err)
	}
	return err
}

// jump goes to byte pos of a file that can seek.
func (s *source) jump(pos int64) error {
	if _, err := s.seek.Seek(s.base+pos, io.SeekStart); err != nil {
		return fmt.Errorf("wave: seeking to byte %d: %w", pos, err)
	}
	s.buf.Reset(s.raw)
	s.pos = pos
	return nil
}

// peek returns the next n bytes without taking them, fewer at the end.
func (s *source) peek(n int) []byte {
	p, _ := s.buf.Peek(n)
	return p
}
