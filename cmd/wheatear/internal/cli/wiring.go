package cli

import (
	"os"
	"path/filepath"

	"example.org/wheatear/cmd/wheatear/internal/wiring"
)

// drawWirings writes one drawing per wiring into a directory.
func (a *app) drawWirings(dir string) error {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	for _, w := range wiring.All() {
		name := filepath.Join(dir, w.Slug()+".svg")
		if err := writeFile(name, w.SVG); err != nil {
			return err
		}
		a.say("Drawn: %s.", name)
	}
	return nil
}
