package wave

import (
	"errors"
	"fmt"
	"io"

	"example.org/wheatear/audio"
)

// strangers are other kinds of file that people try, by how they begin.
var strangers = map[string]string{
	"RIFX": "a big-endian RIFX file", "FORM": "an AIFF file", "fLaC": "a FLAC file",
	"OggS": "an Ogg file", "caff": "a CAF file", "riff": "a Wave64 file",
}

// readHeader walks the chunks up to the first sample.
func (r *Reader) readHeader() error {
	if err := r.readMagic(); err != nil {
		return err
	}
	var sizes *ds64
	for {
		c, err := r.src.next()
		if err == io.EOF {
			return &FormatError{Offset: r.src.pos, Err: r.missing()}
		}
		if err != nil {
			return err
		}
		size := sizes.size(c)
		switch {
		case c.id == "data":
			return r.beginData(c, size)
		case size < 0:
			return &FormatError{c.at, c.id, fmt.Errorf("%w: the size of this chunk is left open, what follows cannot be found", ErrNoData)}
		case c.id == "ds64" && sizes == nil:
			sizes, err = r.readDS64(c, size)
		case c.id == "fmt " && r.format.Channels == 0:
			err = r.readFormat(c, size)
		}
		if err == nil {
			err = r.leave(c, size)
		}
		if err != nil {
			return err
		}
	}
}

func (r *Reader) missing() error {
	if r.format.Channels == 0 {
		return fmt.Errorf("%w: the file ends without a format chunk", ErrNoData)
	}
	return fmt.Errorf("%w: the file ends after its header", ErrNoData)
}

// readMagic reads the twelve bytes at the start.
func (r *Reader) readMagic() error {
	var head [12]byte
	n, err := r.src.read(head[:])
	if err != nil && err != io.EOF {
		return err
	}
	switch id := string(head[:4]); {
	case n == 0:
		return &FormatError{Err: fmt.Errorf("%w: the file is empty", ErrNotWave)}
	case strangers[id] != "":
		return &FormatError{Err: fmt.Errorf("%w but %s; convert it to WAV", ErrNotWave, strangers[id])}
	case id != "RIFF" && id != "RF64" && id != "BW64":
		return &FormatError{Err: fmt.Errorf("%w: it begins with bytes %x", ErrNotWave, head[:min(n, 4)])}
	case n < len(head):
		return &FormatError{Offset: int64(n), Err: fmt.Errorf("%w: the file ends after %d bytes", ErrNotWave, n)}
	case string(head[8:]) != "WAVE":
		return &FormatError{Offset: 8, Err: fmt.Errorf("%w: RIFF of kind %q", ErrNotWave, head[8:])}
	}
	return nil
}

// head reads the start of a chunk's body, at most limit bytes.
func (r *Reader) head(c chunk, size, limit int64) ([]byte, error) {
	body := make([]byte, min(size, limit))
	n, err := r.src.read(body)
	if err == io.EOF {
		return nil, &FormatError{c.at, c.id, fmt.Errorf("%w: the file ends after %d of the %d bytes of this chunk", ErrNoData, n, size)}
	}
	return body, err
}

func (r *Reader) readDS64(c chunk, size int64) (*ds64, error) {
	body, err := r.head(c, size, ds64Prefix)
	if err != nil {
		return nil, err
	}
	d := parseDS64(body)
	if d == nil {
		r.events = append(r.events, remark("chunk ds64 of %d bytes holds no sizes and is ignored", size))
	}
	return d, nil
}

func (r *Reader) readFormat(c chunk, size int64) error {
	body, err := r.head(c, size, extensibleSize)
	if err != nil {
		return err
	}
	f, events, err := parseFormat(body)
	if err != nil {
		return &FormatError{c.at, c.id, err}
	}
	r.format = f
	r.events = append(r.events, events...)
	return nil
}

// leave goes to the end of a chunk, and past its pad byte.
func (r *Reader) leave(c chunk, size int64) error {
	err := r.src.skip(size - (r.src.pos - c.at - 8))
	if errors.Is(err, io.EOF) {
		return &FormatError{c.at, c.id, fmt.Errorf("%w: the file ends within the %d bytes of this chunk", ErrNoData, size)}
	}
	if err != nil || size&1 == 0 {
		return err
	}
	if isKnown(r.src.peek(4)) {
		r.events = append(r.events, remark("chunk %q at byte %d lacks its pad byte", c.id, c.at))
		return nil
	}
	if err = r.src.skip(1); err == io.EOF {
		return nil // the next header will not be there either
	}
	return err
}

// beginData settles how many bytes of samples to read.
func (r *Reader) beginData(c chunk, size int64) error {
	if r.format.Channels == 0 {
		return &FormatError{c.at, c.id, ErrNoFormat}
	}
	if size == 0 {
		// An unfinished recording, unless another chunk stands right here.
		if next := r.src.peek(4); len(next) > 0 && !isKnown(next) {
			size = -1
		}
	}
	if r.left = size; size < 0 {
		r.event(audio.Remark, -1, "the header leaves the length open (%#x); length taken from the file's end", c.size)
	}
	r.countFrames()
	return r.checkTail()
}

// countFrames tells the length from the file's real one.
func (r *Reader) countFrames() {
	there := r.src.left()
	if there < 0 {
		return
	}
	if r.left >= 0 {
		there = min(there, r.left)
	}
	r.format.Frames = there / int64(r.format.frameBytes())
}

// checkTail looks behind the data of a file that can seek: sizes that wrapped
// around at 4 GiB leave samples there that no chunk owns.
func (r *Reader) checkTail() error {
	here, end := r.src.pos, r.src.left()
	if r.src.seek == nil || r.left < 0 || r.left > end-5 {
		return nil
	}
	if err := r.src.jump(here + r.left + r.left&1); err != nil {
		return err
	}
	if !isName(r.src.peek(4)) {
		r.event(audio.Remark, r.format.Frames, "%d bytes after the data belong to no chunk and are not used; the recording may be longer than its header says", end-r.left)
	}
	return r.src.jump(here)
}
