package wave

import (
	"encoding/binary"
	"encoding/hex"
	"fmt"

	"example.org/wheatear/audio"
)

const (
	tagPCM        = 1
	tagFloat      = 3
	tagExtensible = 0xFFFE

	plainSize      = 16 // format chunk without an extension
	extensionSize  = 22
	extensibleSize = plainSize + 2 + extensionSize
)

// guidTail ends every sub-format whose first two bytes are a format tag.
const guidTail = "\x00\x00\x00\x00\x10\x00\x80\x00\x00\xAA\x00\x38\x9B\x71"

// tagNames lets a refusal say what the file holds.
var tagNames = map[uint16]string{
	0: "unknown", 2: "ADPCM", 6: "A-law", 7: "mu-law", 0x11: "IMA ADPCM",
	0x31: "GSM 6.10", 0x50: "MPEG layer 1 or 2", 0x55: "MPEG layer 3",
}

// parseFormat reads the body of a format chunk. What the chunk says twice and
// differently comes back as remarks.
func parseFormat(body []byte) (Format, []audio.Event, error) {
	if len(body) < plainSize {
		return Format{}, nil, fmt.Errorf("%w: format chunk of %d bytes, at least %d needed", ErrFormat, len(body), plainSize)
	}
	le := binary.LittleEndian
	tag, bits := le.Uint16(body), int(le.Uint16(body[14:]))
	f := Format{
		RateHz:    float64(le.Uint32(body[4:])),
		Channels:  int(le.Uint16(body[2:])),
		Bits:      bits,
		Container: wholeBytes(bits),
		Frames:    -1,
	}
	var events []audio.Event
	if tag == tagExtensible {
		var err error
		if tag, events, err = parseExtension(&f, body); err != nil {
			return Format{}, nil, err
		}
	}
	if err := f.checkRead(tag); err != nil {
		return Format{}, nil, err
	}
	return f, append(events, f.lies(le.Uint32(body[8:]), le.Uint16(body[12:]))...), nil
}

// parseExtension reads what an extensible header adds and returns the real tag.
func parseExtension(f *Format, body []byte) (uint16, []audio.Event, error) {
	if len(body) < extensibleSize {
		return 0, nil, fmt.Errorf("%w: extensible format chunk of %d bytes, at least %d needed", ErrFormat, len(body), extensibleSize)
	}
	le := binary.LittleEndian
	var events []audio.Event
	if n := le.Uint16(body[16:]); n < extensionSize {
		events = append(events, remark("extension of the format chunk says %d bytes, %d are there and used", n, extensionSize))
	}
	guid := body[24:40]
	if string(guid[2:]) != guidTail {
		return 0, nil, fmt.Errorf("%w: sub-format %s; integer or float PCM is", ErrUnsupported, hex.EncodeToString(guid))
	}
	tag := le.Uint16(guid)
	valid := int(le.Uint16(body[18:]))
	switch {
	case tag != tagPCM || valid == f.Bits:
	case valid == 0 || valid > f.Container:
		events = append(events, remark("%d valid bits in a container of %d; %d taken", valid, f.Container, f.Bits))
	default:
		f.Bits = valid
	}
	return tag, events, nil
}

// checkRead refuses formats that cannot be, or cannot be read, and sets Float.
func (f *Format) checkRead(tag uint16) error {
	switch {
	case tag != tagPCM && tag != tagFloat:
		name := tagNames[tag]
		if name != "" {
			name = " (" + name + ")"
		}
		return fmt.Errorf("%w: tag %#04x%s; integer or float PCM is", ErrUnsupported, tag, name)
	case f.Channels == 0:
		return fmt.Errorf("%w: no channels", ErrFormat)
	case f.Channels > audio.MostChannels:
		return fmt.Errorf("%w: %d channels; no card has more than %d", ErrFormat, f.Channels, audio.MostChannels)
	case f.RateHz < audio.LeastRateHz || f.RateHz > audio.MostRateHz:
		return fmt.Errorf("%w: a rate of %.0f Hz; those of cards lie between %.0f and %.0f", ErrFormat, f.RateHz, audio.LeastRateHz, audio.MostRateHz)
	}
	f.Float = tag == tagFloat
	return f.checkWidth()
}

// lies compares the two redundant fields with what they should say.
func (f Format) lies(byteRate uint32, align uint16) []audio.Event {
	var events []audio.Event
	frame := f.frameBytes()
	if align != uint16(frame) {
		events = append(events, remark("block size says %d bytes, %d channels of %d bits take %d; used %d",
			align, f.Channels, f.Container, frame, frame))
	}
	if want := uint32(uint64(f.RateHz) * uint64(frame)); byteRate != want {
		events = append(events, remark("byte rate says %d, %.0f Hz times %d bytes is %d; the rate is used",
			byteRate, f.RateHz, frame, want))
	}
	return events
}

func remark(format string, args ...any) audio.Event {
	return audio.Event{Kind: audio.Remark, Frame: -1, Detail: fmt.Sprintf(format, args...)}
}
