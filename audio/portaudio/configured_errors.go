//go:build portaudio && cgo

package portaudio

import (
	"fmt"

	"example.org/wheatear/audio"
)

// What keeps the sound library from being started at all.
var (
	errUnreadable = fmt.Errorf("%w: the system's sound configuration cannot be read; look for a mistake in ~/.asoundrc, "+
		"/etc/asound.conf and the file that ALSA_CONFIG_PATH names", audio.ErrNoDevice)
	errNoDefault = fmt.Errorf("%w: the system's sound configuration is missing, or has no device called \"default\"; "+
		"it is usually /usr/share/alsa/alsa.conf (Debian: apt install libasound2-data), "+
		"unless ALSA_CONFIG_PATH or ALSA_CONFIG_DIR names another", audio.ErrNoDevice)
)
