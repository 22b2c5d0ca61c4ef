package cli

import (
	"os"
	"path/filepath"
	"strings"

	"example.org/wheatear/lockin/fixture"
)

// readJig reads a jig file.
func readJig(file string) (*fixture.Jig, error) {
	if file == "" {
		return nil, usagef("which jig? Add --jig FILE; wheatear help jig tells what goes into it")
	}
	data, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	jig, err := fixture.ParseJig(file, data)
	if err == nil && jig.Name == file {
		jig.Name = strings.TrimSuffix(filepath.Base(file), filepath.Ext(file))
	}
	return jig, err
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
