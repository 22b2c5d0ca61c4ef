package report

import (
	"errors"
	"strings"
)

// Plain drops the names of packages before what errors say: they help whoever
// programs with them, not whoever types a command.
func Plain(err error) string {
	text := err.Error()
	for {
		word, rest, ok := strings.Cut(text, ": ")
		if !ok || !packages[word] {
			break
		}
		text = rest
	}
	for name := range packages {
		text = strings.ReplaceAll(text, ": "+name+": ", ": ")
	}
	if _, rest, ok := strings.Cut(text, notBuilt); ok && errors.Is(err, errors.ErrUnsupported) {
		return rest
	}
	return text
}

// notBuilt is how the error begins of a program without sound cards; the rest of it
// says what to do.
var notBuilt = errors.ErrUnsupported.Error() + ": "

var packages = map[string]bool{
	"wave": true, "audio": true, "batch": true, "lockin": true, "fixture": true, "jigcheck": true,
	"parts": true, "impedance": true, "uncertain": true, "circuit": true,
	"live": true, "bench": true, "virtual": true, "portaudio": true, "kept": true, "notebook": true,
}
