package result

import (
	"encoding/json"
	"math"
	"time"

	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/uncertain"
)

// What the documents of the notebook say they are.
const (
	NotebookListSchema    = "wheatear.notebook.list/1"
	NotebookShowSchema    = "wheatear.notebook.show/1"
	NotebookHistorySchema = "wheatear.notebook.history/1"
	NotebookImportSchema  = "wheatear.notebook.import/1"
	NotebookPruneSchema   = "wheatear.notebook.prune/1"
	NotebookCheckSchema   = "wheatear.notebook.check/1"
)

// NotebookList is the schema wheatear.notebook.list/1.
type NotebookList struct {
	Schema  string  `json:"schema"`
	File    string  `json:"file"`
	Total   int     `json:"total"` // how many there are in all
	Entries []Entry `json:"entries"`
}

// Entry is an entry of the notebook as a list shows it.
type Entry struct {
	ID       int64     `json:"id"`
	Key      string    `json:"key"` // the same in every notebook
	Time     time.Time `json:"time"`
	Kind     string    `json:"kind"`
	Label    string    `json:"label"`
	Note     string    `json:"note"`
	Jig      string    `json:"jig"`
	Trusted  bool      `json:"trusted"`
	Verdict  *string   `json:"verdict"`
	Findings []string  `json:"findings"` // codes
	Files    []string  `json:"files"`    // recordings, as they were named
	Points   []Point   `json:"points"`
}

// Point is the main figure of a reading.
type Point struct {
	FreqHz   float64  `json:"frequency_hz"` // nominal
	State    string   `json:"state"`
	Trusted  bool     `json:"trusted"`
	Quantity string   `json:"quantity"` // Cs, Cp, Ls, Lp, Rs, Rp, |Z| or |Y|
	Unit     string   `json:"unit"`     // F, H, S or Ω
	Value    *float64 `json:"value"`    // nil where there is none
	U        *float64 `json:"u"`        // standard uncertainty
	Low      *float64 `json:"low"`      // 95 % interval; nil where it is unbounded
	High     *float64 `json:"high"`
}

// What is the figure as a quantity.
func (p *Point) What() uncertain.Quantity {
	return (&Main{Value: p.Value, U: p.U, Low: p.Low, High: p.High}).quantity()
}

// NotebookShow is the schema wheatear.notebook.show/1: an entry with all that it rests on.
type NotebookShow struct {
	Schema string `json:"schema"`
	Entry
	Command string          `json:"command"`
	RestsOn []Kept          `json:"rests_on"`
	Kept    []string        `json:"kept"` // recordings, as files
	Result  json.RawMessage `json:"result"`
}

// Kept is a text that an entry rests on.
type Kept struct {
	Role   string `json:"role"`
	Name   string `json:"name"`
	SHA256 string `json:"sha256"`
	Text   string `json:"text"`
}

// Document reads the result. Levels of an old one are relative to full scale where the jig
// file gives no volts.
func (s *NotebookShow) Document() (any, error) {
	doc, err := Read(s.Result)
	levels, ok := doc.(*Levels)
	if !ok {
		return doc, err
	}
	for _, k := range s.RestsOn {
		if k.Role != "jig" {
			continue
		}
		jig, err := fixture.ParseJig(k.Name, []byte(k.Text))
		levels.Relative = levels.Relative || err == nil && jig.FullScaleVolt == nil
	}
	return doc, err
}

// NotebookHistory is the schema wheatear.notebook.history/1: one quantity of a part over time.
type NotebookHistory struct {
	Schema   string   `json:"schema"`
	Label    string   `json:"label"`
	FreqHz   *float64 `json:"frequency_hz"`
	Quantity *string  `json:"quantity"`
	Unit     *string  `json:"unit"`
	Points   []Past   `json:"points"` // the oldest first
	Others   int      `json:"others"` // readings of something else under that label
	Trend    *Trend   `json:"trend"`  // nil for too few readings
}

// Past is one reading of a history.
type Past struct {
	ID    int64     `json:"id"`
	Time  time.Time `json:"time"`
	Value float64   `json:"value"`
	U     float64   `json:"u"`
	Low   *float64  `json:"low"`
	High  *float64  `json:"high"`
}

// What is the reading as a quantity.
func (p *Past) What() uncertain.Quantity {
	return (&Main{Value: &p.Value, U: &p.U, Low: p.Low, High: p.High}).quantity()
}

// Trend is a straight line through the readings.
type Trend struct {
	Readings     int       `json:"readings"`
	Middle       time.Time `json:"middle"`
	Value        float64   `json:"value"`
	SlopePerS    float64   `json:"slope_per_s"`
	SlopeU       float64   `json:"slope_u_per_s"`
	Freedom      *float64  `json:"degrees_of_freedom"` // nil where the uncertainties are taken as known
	Chance       float64   `json:"chance"`             // of so large a slope if there were none
	Significance string    `json:"significance"`
}

// Slope is the change per second with its 95 % interval.
func (t *Trend) Slope() uncertain.Quantity {
	freedom := math.Inf(1)
	if t.Freedom != nil {
		freedom = *t.Freedom
	}
	half := t.SlopeU * uncertain.CoverageFactor(0.95, freedom)
	return uncertain.Quantity{Value: t.SlopePerS, U: t.SlopeU, Low: t.SlopePerS - half, High: t.SlopePerS + half}
}

// NotebookImport is the schema wheatear.notebook.import/1.
type NotebookImport struct {
	Schema string `json:"schema"`
	Added  int    `json:"added"`
	Known  int    `json:"known"`
}

// NotebookPrune is the schema wheatear.notebook.prune/1: what was, or would be, deleted.
type NotebookPrune struct {
	Schema  string     `json:"schema"`
	Entries int        `json:"entries"`
	Oldest  *time.Time `json:"oldest"`
	Newest  *time.Time `json:"newest"`
	Records int        `json:"records"` // recordings that no entry names any more
	Done    bool       `json:"done"`
}

// NotebookCheck is the schema wheatear.notebook.check/1: what is damaged.
type NotebookCheck struct {
	Schema   string    `json:"schema"`
	Entries  int       `json:"entries"` // looked at
	Records  int       `json:"records"` // kept recordings that agree with their sum
	Absent   int       `json:"absent"`  // recordings named but not kept
	Problems []Problem `json:"problems"`
}

// Problem is one thing that is damaged.
type Problem struct {
	Entry  int64  `json:"entry"` // 0 for none
	What   string `json:"what"`
	Mended bool   `json:"mended"`
}
