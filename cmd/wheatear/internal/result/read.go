package result

import (
	"encoding/json"
	"errors"
)

// ErrUnknown says that a document is of no schema of this version of the program.
var ErrUnknown = errors.New("result: the document is of no schema that this version knows")

// Read reads a document into its type, by the schema that it says it is of.
func Read(text []byte) (any, error) {
	var head struct {
		Schema string `json:"schema"`
	}
	if err := json.Unmarshal(text, &head); err != nil {
		return nil, err
	}
	switch head.Schema {
	case MeasurementSchema:
		return ReadMeasurement(text)
	case SweepSchema:
		return ReadSweep(text)
	case ComparisonSchema:
		return ReadComparison(text)
	case LevelsSchema:
		return ReadLevels(text)
	case PartsSchema:
		return read[Parts](text)
	case TraySchema:
		return read[Tray](text)
	}
	return nil, ErrUnknown
}

// read reads a document that has one version.
func read[T any](text []byte) (*T, error) {
	doc := new(T)
	return doc, json.Unmarshal(text, doc)
}
