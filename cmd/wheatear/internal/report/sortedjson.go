package report

import (
	"io"
)

// sortedDoc is the schema wheatear.sort/1.
type sortedDoc struct {
	Schema      string          `json:"schema"`
	Jig         string          `json:"jig"`
	Calibration *string         `json:"calibration"`
	Expected    string          `json:"expected"`
	File        string          `json:"file"`
	Parts       []sortedPartDoc `json:"parts"`
	Passed      int             `json:"passed"`
	Failed      int             `json:"failed"`
	Undecided   int             `json:"undecided"`
	Mean        *float64        `json:"mean"`
	MeanU       *float64        `json:"mean_u"`
	Spread      *float64        `json:"spread"`
	SpreadU     *float64        `json:"spread_u"`
	Measured    *float64        `json:"spread_measured"`
	Share       *float64        `json:"measurement_share"`
	Outliers    []int           `json:"outliers"`
}

type sortedPartDoc struct {
	Number  int      `json:"number"`
	Name    string   `json:"name"`
	Value   *float64 `json:"value"`
	U       *float64 `json:"u"`
	Low     *float64 `json:"low"`
	High    *float64 `json:"high"`
	Unit    string   `json:"unit"`
	Verdict string   `json:"verdict"`
	Risk    *float64 `json:"risk"`
	EnoughU *float64 `json:"u_to_decide"`
	Bin     *string  `json:"bin"`
	Chance  *float64 `json:"bin_chance"`
}

// SortedJSON writes the run for programs.
func SortedJSON(w io.Writer, s *Sorted) error {
	doc := sortedDoc{Schema: "wheatear.sort/1", Jig: s.Jig.Name, Expected: s.Text, File: s.File, Parts: []sortedPartDoc{}, Passed: s.Passed, Failed: s.Failed,
		Undecided: len(s.Parts) - s.Passed - s.Failed, Mean: orNull(s.Spread.Mean), MeanU: orNull(s.MeanU), Spread: orNull(s.Spread.SD), SpreadU: orNull(s.Spread.SDU),
		Measured: orNull(s.Spread.TotalSD), Share: orNull(s.Spread.Share), Outliers: []int{}}
	if s.Calibration != "" {
		doc.Calibration = &s.Calibration
	}
	for _, k := range s.Spread.Outliers {
		doc.Outliers = append(doc.Outliers, s.Parts[k].Number)
	}
	for _, p := range s.Parts {
		d := sortedPartDoc{p.Number, p.Name, orNull(p.Value), orNull(p.U), orNull(p.Low), orNull(p.High), s.Expected.Unit.String(), p.Verdict, orNull(p.Risk), orNull(p.EnoughU), nil, orNull(p.Chance)}
		if p.Bin != "" {
			d.Bin = &p.Bin
		}
		doc.Parts = append(doc.Parts, d)
	}
	return writeJSON(w, doc)
}
