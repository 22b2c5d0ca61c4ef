package report

import (
	"fmt"
	"io"
	"slices"
	"strconv"

	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/uncertain"
)

// budget tells what the uncertainty of a reading is made of.
func budget(w io.Writer, r *Reading) {
	fmt.Fprintf(w, "What the uncertainty at %s is made of (k = 1, and share of the variance)\n\n", nominal(r.NominalHz))
	re, im := r.Result.Budget(fixture.OutRe), r.Result.Budget(fixture.OutIm)
	rows := [][]string{{"", "real part of Z", "", "imaginary part", ""}}
	for _, label := range labels(re, im) {
		row := []string{label}
		for _, list := range [][]uncertain.Contribution{re, im} {
			row = append(row, share(list, label)...)
		}
		rows = append(rows, row)
	}
	rows = append(rows, []string{"together", rough(r.Result.U(fixture.OutRe), "Ω"), "", rough(r.Result.U(fixture.OutIm), "Ω"), ""})
	columns(w, rows, padRight)
}

// labels lists the sources of both, those with the largest share first. What has
// less than a thousandth of either is left out.
func labels(lists ...[]uncertain.Contribution) []string {
	const least = 1e-3
	most := map[string]float64{}
	for _, list := range lists {
		for _, c := range list {
			most[c.Label] = max(most[c.Label], c.Share)
		}
	}
	var out []string
	for label, part := range most {
		if part >= least {
			out = append(out, label)
		}
	}
	slices.SortFunc(out, func(a, b string) int {
		if most[a] != most[b] {
			if most[a] > most[b] {
				return -1
			}
			return 1
		}
		if a < b {
			return -1
		}
		return 1
	})
	return out
}

// share is what one source adds, as cells of a row.
func share(list []uncertain.Contribution, label string) []string {
	for _, c := range list {
		if c.Label == label {
			return []string{rough(c.U, "Ω"), percent(c.Share)}
		}
	}
	return []string{"", ""}
}

// percent writes a share to the nearest percent.
func percent(part float64) string {
	if part < 0.005 {
		return "< 1 %"
	}
	return strconv.FormatFloat(100*part, 'f', 0, 64) + " %"
}
