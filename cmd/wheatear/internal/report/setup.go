package report

import (
	"fmt"
	"io"
	"math"
	"strconv"

	"example.org/wheatear/cmd/wheatear/internal/live"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
)

// Levels shows what the inputs heard of a quiet tone, and what to turn.
func Levels(w io.Writer, jig *fixture.Jig, l *live.Levels) {
	rows := [][]string{{"", "carries", "quiet tone", "at the level to be played", "noise"}}
	for i, in := range l.Inputs {
		rows = append(rows, []string{"input " + strconv.Itoa(jig.Inputs[i]), jig.Channels[i].String(),
			decibels(in.QuietDB), decibels(in.ExpectedDB), decibels(in.NoiseDB)})
	}
	fmt.Fprintln(w)
	columns(w, rows, padRight)
	fmt.Fprintln(w)
	if len(l.Findings) > 0 {
		Findings(w, l.Findings)
	}
	if l.Advice != "" {
		Wrap(w, "", l.Advice)
	} else if len(l.Findings) == 0 {
		Wrap(w, "", "The levels are good.")
	}
}

func decibels(db float64) string {
	if math.IsInf(db, -1) {
		return "nothing"
	}
	return fmt.Sprintf("%.1f dBFS", db)
}

// setupDoc is the schema wheatear.setup/1.
type setupDoc struct {
	Schema    string            `json:"schema"`
	File      string            `json:"file"`
	Jig       string            `json:"jig"`
	LevelDBFS *float64          `json:"level_dbfs"` // null where it is given in volts
	Inputs    []inputDoc        `json:"inputs"`
	Advice    string            `json:"advice"`
	Findings  []finding.Finding `json:"findings"`
}

type inputDoc struct {
	Input        int      `json:"input"`
	Carries      string   `json:"carries"`
	QuietDBFS    *float64 `json:"quiet_dbfs"`
	ExpectedDBFS *float64 `json:"expected_dbfs"`
	NoiseDBFS    *float64 `json:"noise_dbfs"`
}

// SetupJSON writes the outcome of setup for programs; levels is nil where nothing
// was played.
func SetupJSON(w io.Writer, file string, jig *fixture.Jig, levels *live.Levels) error {
	doc := setupDoc{Schema: "wheatear.setup/1", File: file, Jig: jig.Name, Inputs: []inputDoc{}, Findings: []finding.Finding{}}
	if !jig.Card.Level.Volts {
		doc.LevelDBFS = &jig.Card.Level.Value
	}
	if levels != nil {
		for i, in := range levels.Inputs {
			doc.Inputs = append(doc.Inputs, inputDoc{jig.Inputs[i], jig.Channels[i].String(), orNull(in.QuietDB), orNull(in.ExpectedDB), orNull(in.NoiseDB)})
		}
		doc.Advice, doc.Findings = levels.Advice, listed(levels.Findings)
	}
	return writeJSON(w, doc)
}
