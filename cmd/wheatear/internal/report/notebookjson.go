package report

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/notebook"
)

// notebookListDoc is the schema wheatear.notebook.list/1.
type notebookListDoc struct {
	Schema  string     `json:"schema"`
	File    string     `json:"file"`
	Total   int        `json:"total"`
	Entries []entryDoc `json:"entries"`
}

type entryDoc struct {
	ID       int64      `json:"id"`
	Key      string     `json:"key"`
	Time     time.Time  `json:"time"`
	Kind     string     `json:"kind"`
	Label    string     `json:"label"`
	Note     string     `json:"note"`
	Jig      string     `json:"jig"`
	Trusted  bool       `json:"trusted"`
	Verdict  *string    `json:"verdict"`
	Findings []string   `json:"findings"`
	Files    []string   `json:"files"`
	Points   []pointDoc `json:"points"`
}

type pointDoc struct {
	FreqHz   float64  `json:"frequency_hz"`
	State    string   `json:"state"`
	Trusted  bool     `json:"trusted"`
	Quantity string   `json:"quantity"`
	Unit     string   `json:"unit"`
	Value    *float64 `json:"value"`
	U        *float64 `json:"u"`
	Low      *float64 `json:"low"`
	High     *float64 `json:"high"`
}

// notebookShowDoc is the schema wheatear.notebook.show/1.
type notebookShowDoc struct {
	Schema string `json:"schema"`
	entryDoc
	Command string          `json:"command"`
	RestsOn []documentDoc   `json:"rests_on"`
	Kept    []string        `json:"kept"`
	Result  json.RawMessage `json:"result"`
}

type documentDoc struct {
	Role   string `json:"role"`
	Name   string `json:"name"`
	SHA256 string `json:"sha256"`
	Text   string `json:"text"`
}

func entryOf(e *notebook.Entry) entryDoc {
	d := entryDoc{ID: e.ID, Key: e.Key, Time: e.Time, Kind: string(e.Kind), Label: e.Label, Note: e.Note, Jig: e.JigName, Trusted: e.Trusted,
		Findings: listed(e.Findings), Files: listed(e.Files), Points: []pointDoc{}}
	if e.Verdict != "" {
		d.Verdict = &e.Verdict
	}
	for _, p := range e.Points {
		d.Points = append(d.Points, pointDoc(p))
	}
	return d
}

// NotebookListJSON writes a list for programs.
func NotebookListJSON(w io.Writer, file string, entries []*notebook.Entry, total int) error {
	doc := notebookListDoc{Schema: "wheatear.notebook.list/1", File: file, Total: total, Entries: []entryDoc{}}
	for _, e := range entries {
		doc.Entries = append(doc.Entries, entryOf(e))
	}
	return writeJSON(w, doc)
}

// NotebookEntryJSON writes an entry for programs.
func NotebookEntryJSON(w io.Writer, e *notebook.Entry, files []string) error {
	doc := notebookShowDoc{Schema: "wheatear.notebook.show/1", entryDoc: entryOf(e), Command: e.Command, RestsOn: []documentDoc{}, Kept: listed(files), Result: e.Result}
	for _, d := range e.Documents {
		doc.RestsOn = append(doc.RestsOn, documentDoc{d.Role, d.Name, d.SHA256, d.Text})
	}
	return writeJSON(w, doc)
}

// notebookHistoryDoc is the schema wheatear.notebook.history/1.
type notebookHistoryDoc struct {
	Schema   string    `json:"schema"`
	Label    string    `json:"label"`
	FreqHz   *float64  `json:"frequency_hz"`
	Quantity *string   `json:"quantity"`
	Unit     *string   `json:"unit"`
	Points   []pastDoc `json:"points"`
	Others   int       `json:"others"`
	Trend    *trendDoc `json:"trend"`
}

type pastDoc struct {
	ID    int64     `json:"id"`
	Time  time.Time `json:"time"`
	Value float64   `json:"value"`
	U     float64   `json:"u"`
	Low   *float64  `json:"low"`
	High  *float64  `json:"high"`
}

type trendDoc struct {
	Readings     int       `json:"readings"`
	Middle       time.Time `json:"middle"`
	Value        float64   `json:"value"`
	SlopePerS    float64   `json:"slope_per_s"`
	SlopeU       float64   `json:"slope_u_per_s"`
	Freedom      *float64  `json:"degrees_of_freedom"`
	Chance       float64   `json:"chance"`
	Significance string    `json:"significance"`
}

// NotebookHistoryJSON writes a history for programs.
func NotebookHistoryJSON(w io.Writer, p *notebook.Past) error {
	doc := notebookHistoryDoc{Schema: "wheatear.notebook.history/1", Label: p.Label, Points: []pastDoc{}, Others: p.Others}
	if len(p.Points) > 0 {
		doc.FreqHz, doc.Quantity, doc.Unit = &p.FreqHz, &p.Quantity, &p.Unit
	}
	for _, r := range p.Points {
		doc.Points = append(doc.Points, pastDoc{r.ID, r.Time, r.Value, r.U, orNull(r.Low), orNull(r.High)})
	}
	if t := p.Trend; t != nil {
		doc.Trend = &trendDoc{t.Readings, t.Middle, t.Mean, t.Slope, t.U, nil, t.Chance, string(t.Significance())}
		if !math.IsInf(t.Freedom, 0) {
			doc.Trend.Freedom = &t.Freedom
		}
	}
	return writeJSON(w, doc)
}

// notebookImportDoc is the schema wheatear.notebook.import/1, notebookPruneDoc is
// wheatear.notebook.prune/1.
type notebookImportDoc struct {
	Schema string `json:"schema"`
	Added  int    `json:"added"`
	Known  int    `json:"known"`
}

type notebookPruneDoc struct {
	Schema  string     `json:"schema"`
	Entries int        `json:"entries"`
	Oldest  *time.Time `json:"oldest"`
	Newest  *time.Time `json:"newest"`
	Records int        `json:"records"`
	Done    bool       `json:"done"`
}

// NotebookImportJSON writes how many entries an import brought, for programs.
func NotebookImportJSON(w io.Writer, added, known int) error {
	return writeJSON(w, notebookImportDoc{"wheatear.notebook.import/1", added, known})
}

// NotebookPrunedJSON writes what was, or would be, taken away, for programs.
func NotebookPrunedJSON(w io.Writer, p notebook.Pruned, done bool) error {
	doc := notebookPruneDoc{Schema: "wheatear.notebook.prune/1", Entries: p.Entries, Records: p.Records, Done: done}
	if p.Entries > 0 {
		doc.Oldest, doc.Newest = &p.Oldest, &p.Newest
	}
	return writeJSON(w, doc)
}

type notebookCheckDoc struct {
	Schema   string               `json:"schema"`
	Entries  int                  `json:"entries"`
	Records  int                  `json:"records"`
	Absent   int                  `json:"absent"`
	Problems []notebookCheckedDoc `json:"problems"`
}

type notebookCheckedDoc struct {
	Entry  int64  `json:"entry"`
	What   string `json:"what"`
	Mended bool   `json:"mended"`
}

// NotebookCheckJSON writes what looking through the notebook has found, for programs.
func NotebookCheckJSON(w io.Writer, x *notebook.Examined) error {
	doc := notebookCheckDoc{"wheatear.notebook.check/1", x.Entries, x.Records, x.Absent, []notebookCheckedDoc{}}
	for _, p := range x.Problems {
		doc.Problems = append(doc.Problems, notebookCheckedDoc(p))
	}
	return writeJSON(w, doc)
}

// NotebookCheck writes the same for people.
func NotebookCheck(w io.Writer, x *notebook.Examined, mend bool) {
	for _, p := range x.Problems {
		where := ""
		if p.Entry != 0 {
			where = fmt.Sprintf("entry %d: ", p.Entry)
		}
		outcome := ""
		switch {
		case p.Mended:
			outcome = "; mended"
		case mend:
			outcome = "; not mended"
		}
		Wrap(w, "", where+p.What+outcome)
	}
	if len(x.Problems) == 0 {
		fmt.Fprint(w, "no faults found: ")
	}
	fmt.Fprintf(w, "%d entries, %d kept recordings looked at", x.Entries, x.Records)
	if x.Absent > 0 {
		fmt.Fprintf(w, "; %d recordings named are not kept here", x.Absent)
	}
	fmt.Fprintln(w)
}
