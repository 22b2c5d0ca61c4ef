package portaudio

import (
	"errors"
	"fmt"
	"strings"

	"example.org/wheatear/audio"
)

// errNotBuilt is the one line for a program without sound cards.
var errNotBuilt = fmt.Errorf("%w: built without sound cards; install PortAudio "+
	"(Debian: apt install gcc pkg-config portaudio19-dev; Fedora: dnf install gcc pkgconf portaudio-devel; "+
	"macOS: brew install pkg-config portaudio; Windows, in an MSYS2 UCRT64 shell: "+
	"pacman -S mingw-w64-ucrt-x86_64-gcc mingw-w64-ucrt-x86_64-pkgconf mingw-w64-ucrt-x86_64-portaudio), "+
	"then: CGO_ENABLED=1 go build -tags portaudio ./cmd/wheatear", errors.ErrUnsupported)

// errSilent is how a device looks that is gone: no error, only calls that stop.
var errSilent = fmt.Errorf("the device stopped delivering (unplugged, or the sound server ended): %w", audio.ErrLost)

// errNeverBegan is the same from the start.
var errNeverBegan = fmt.Errorf("the device never began to deliver (in use, unplugged, or the sound server hangs): %w", audio.ErrLost)

// errForgotten is what remains of the library when a JACK server that it met has ended.
var errForgotten = fmt.Errorf("the JACK server has ended; end this program and start it again: %w", audio.ErrLost)

// errMute stands for the words of a driver that has none.
var errMute = errors.New("the driver refuses without saying why; the device may have gone, or the server ended")

// wordsOfCause are what operating systems say, and what it means. The library
// hands such texts on where it has no error number of its own.
var wordsOfCause = []struct {
	words string
	cause error
}{
	{"busy", audio.ErrBusy},
	{"in use", audio.ErrBusy},
	{"unavailable", audio.ErrBusy},
	{"permission", audio.ErrDenied},
	{"not permitted", audio.ErrDenied},
	{"denied", audio.ErrDenied},
	{"no such", audio.ErrLost},
	{"host is down", audio.ErrLost},
	{"connection", audio.ErrLost},
	{"disconnected", audio.ErrLost},
	{"sample rate", audio.ErrRate},
	{"number of channels", audio.ErrChannels},
}

// translate gives an error of the library the cause that its words tell.
func translate(err error) error {
	if err == nil {
		return nil
	}
	if err.Error() == "" {
		return fmt.Errorf("%w%w", errMute, err)
	}
	text := strings.ToLower(err.Error())
	if strings.Contains(text, "unknown error") { // words, but none that say anything
		return fmt.Errorf("%w (%w)", errMute, err)
	}
	for _, w := range wordsOfCause {
		if strings.Contains(text, w.words) {
			return fmt.Errorf("%w (%w)", w.cause, err)
		}
	}
	return err
}
