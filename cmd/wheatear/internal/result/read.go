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
	case FitSchema:
		return read[Fit](text)
	case IdentitySchema:
		return read[Identity](text)
	case QuickSchema:
		return read[Quick](text)
	case SpotSchema:
		return read[Spot](text)
	case SortedSchema:
		return read[Sorted](text)
	case PlanSchema:
		return read[Plan](text)
	case PartsSchema:
		return read[Parts](text)
	case TraySchema:
		return read[Tray](text)
	case CalibrationSchema:
		return read[Calibration](text)
	case SetupSchema:
		return read[Setup](text)
	case VerificationSchema:
		return read[Verification](text)
	case FullScaleSchema:
		return read[FullScale](text)
	case DemoSchema:
		return read[Demo](text)
	case DevicesSchema:
		return read[Devices](text)
	case StimulusSchema:
		return read[Stimulus](text)
	case WatchedSchema:
		return read[Watched](text)
	case DemodulationSchema:
		return read[Demodulation](text)
	case NotebookListSchema:
		return read[NotebookList](text)
	case NotebookShowSchema:
		return read[NotebookShow](text)
	case NotebookHistorySchema:
		return read[NotebookHistory](text)
	case NotebookImportSchema:
		return read[NotebookImport](text)
	case NotebookPruneSchema:
		return read[NotebookPrune](text)
	case NotebookCheckSchema:
		return read[NotebookCheck](text)
	}
	return nil, ErrUnknown
}

// read reads a document into its type. Readings without a main figure, as those of older
// versions, are given one.
func read[T any](text []byte) (*T, error) {
	doc := new(T)
	err := json.Unmarshal(text, doc)
	if d, ok := any(doc).(interface{ choose() }); ok && err == nil {
		d.choose()
	}
	return doc, err
}
