package cli

import (
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"example.org/wheatear/lockin/fixture"
)

// addJig adds the flags of every command that reads parts.
func addJig(flags *pflag.FlagSet, jig, calibration *string) {
	flags.StringVar(jig, "jig", "", "jig `FILE` (default that of the current bench)")
	flags.StringVar(calibration, "calibration", "", "calibration `FILE` as calibrate writes it, or none (default the newest of the bench that fits)")
}

// readJig reads a jig file, and from the verification beside it what the jig was found
// to be where the file does not say.
func readJig(file string) (*fixture.Jig, error) {
	jig, stated, err := readJigFile(file)
	if err != nil {
		return nil, err
	}
	verified, err := readVerified(verifiedFile(file))
	if err != nil || verified == nil {
		return jig, err
	}
	verified.Apply(jig, stated)
	if f, stale := verified.Stale(time.Now()); stale {
		f.File = verifiedFile(file)
		jig.Doubts = append(jig.Doubts, f)
	}
	return jig, nil
}

// readJigFile reads a jig file alone, and which keys it states.
func readJigFile(file string) (*fixture.Jig, map[string]bool, error) {
	if file == "" {
		return nil, nil, usagef("which jig? Add --jig FILE, or run wheatear setup once: its jig is used from then on")
	}
	data, err := os.ReadFile(file)
	if err != nil {
		return nil, nil, err
	}
	jig, err := fixture.ParseJig(file, data)
	if err == nil && jig.Name == file {
		jig.Name = strings.TrimSuffix(filepath.Base(file), filepath.Ext(file))
	}
	return jig, fixture.StatedKeys(data), err
}

// readCalibration reads a calibration; without a file there is none.
func readCalibration(file string) (*fixture.Calibration, error) {
	if file == "" {
		return nil, nil
	}
	data, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	return fixture.ParseCalibration(file, data)
}
