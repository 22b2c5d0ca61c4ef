package tell

import (
	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/result"
)

// Document tells a document of any type; nothing of one that is unknown.
func Document(doc any) []block.Block {
	switch doc := doc.(type) {
	case *result.Measurement:
		return Measurement(doc)
	case *result.Sweep:
		return Sweep(doc)
	case *result.Comparison:
		return Comparison(doc)
	case *result.Levels:
		return Levels(doc)
	case *result.Fit:
		return Fit(doc)
	case *result.Quick:
		return Quick(doc)
	case *result.Identity:
		return Identity(doc)
	case *result.Spot:
		return Spot(doc)
	case *result.Sorted:
		return Sorted(doc)
	case *result.Plan:
		return Plan(doc)
	case *result.Parts:
		return Parts(doc)
	case *result.Tray:
		return Tray(doc)
	case *result.Calibration:
		return Calibration(doc)
	case *result.Setup:
		return Setup(doc)
	case *result.Verification:
		return Verification(doc)
	case *result.FullScale:
		return FullScale(doc)
	case *result.Demo:
		return Demo(doc)
	case *result.Devices:
		return Devices(doc)
	case *result.Stimulus:
		return Stimulus(doc)
	case *result.Watched:
		return Watched(doc)
	case *result.Demodulation:
		return Demodulation(doc)
	case *result.NotebookList:
		return NotebookList(doc)
	case *result.NotebookShow:
		return NotebookShow(doc)
	case *result.NotebookHistory:
		return NotebookHistory(doc)
	case *result.NotebookImport:
		return NotebookImport(doc)
	case *result.NotebookPrune:
		return NotebookPrune(doc)
	case *result.NotebookCheck:
		return NotebookCheck(doc)
	}
	return nil
}
