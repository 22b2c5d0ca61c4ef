package report

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strconv"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/notebook"
	"example.org/wheatear/lockin/uncertain"
)

// NotebookHistory writes the readings of a part over time and their trend, the last
// rows of them.
func NotebookHistory(w io.Writer, p *notebook.Past, rows int) error {
	var b bytes.Buffer
	if len(p.Points) == 0 {
		Wrap(&b, "", fmt.Sprintf("There is no reading of %q that can be trusted.", p.Label))
		_, err := w.Write(b.Bytes())
		return err
	}
	first, last := p.Points[0].Time, p.Points[len(p.Points)-1].Time
	Wrap(&b, "", fmt.Sprintf("%s: %s %s, %s, %s to %s", p.Label, p.Quantity, Tie("at "+nominal(p.FreqHz)), plural(len(p.Points), "reading"), Tie(wallClock(first)), Tie(wallClock(last))))
	fmt.Fprintln(&b)
	shown := p.Points
	if rows > 0 && len(shown) > rows {
		fmt.Fprintf(&b, "  … %s before\n", plural(len(shown)-rows, "reading"))
		shown = shown[len(shown)-rows:]
	}
	for _, r := range shown {
		fmt.Fprintf(&b, "  %s  %s  entry %s\n", wallClock(r.Time), padRight(PastReads(r, p.Unit), 28), strconv.FormatInt(r.ID, 10))
	}
	fmt.Fprintln(&b)
	Wrap(&b, "", trendWords(p))
	if p.Others > 0 {
		Wrap(&b, "", fmt.Sprintf("%s of it at other frequencies or of other quantities; --at and --quantity choose.", plural(p.Others, "reading")))
	}
	_, err := w.Write(b.Bytes())
	return err
}

// PastReads is what a reading of a history reads as.
func PastReads(r notebook.PastPoint, unit string) string {
	return short(uncertain.Quantity{Value: r.Value, U: r.U, Low: r.Low, High: r.High}, unit)
}

// TrendWords says whether a part changes, and how fast.
func TrendWords(p *notebook.Past) string { return tight.Replace(trendWords(p)) }

func trendWords(p *notebook.Past) string {
	t := p.Trend
	if t == nil {
		return "Too few readings for a trend: it takes three of different times."
	}
	seconds, unit := pace(p.Points[len(p.Points)-1].Time.Sub(p.Points[0].Time))
	percent := func(v float64) string { return rough(100*seconds*v/math.Abs(t.Mean), "%") }
	if t.Significance() == notebook.NotSeen {
		return fmt.Sprintf("No change that can be told. One of more than %s %s, %s, would most likely have shown.",
			Tie(rough(seconds*t.Least, p.Unit)), unit, Tie(percent(t.Least)))
	}
	direction := "rises"
	if t.Slope < 0 {
		direction = "falls"
	}
	return fmt.Sprintf("It %s %s by %s %s, %s: a part that does not change shows as much with a chance of %s.",
		sureness[t.Significance()], direction, Tie(uncertain.Format(math.Abs(seconds*t.Slope), seconds*t.Least, p.Unit)), unit,
		Tie(percent(math.Abs(t.Slope))), Tie(unlikely(t.Chance)))
}

var sureness = map[notebook.Significance]string{
	notebook.Sure: "surely", notebook.Likely: "very likely", notebook.Perhaps: "perhaps",
}

// unlikely writes a small chance.
func unlikely(c float64) string {
	if c < 1e-6 {
		return "less than 0.0001 %"
	}
	return strconv.FormatFloat(100*c, 'g', 2, 64) + " %"
}

// pace is the stretch of time by which people would tell a change over so long.
func pace(over time.Duration) (seconds float64, unit string) {
	const day = 24 * time.Hour
	switch {
	case over < 3*day:
		return time.Hour.Seconds(), "per hour"
	case over < 60*day:
		return day.Seconds(), "per day"
	}
	return 365.25 * day.Seconds(), "per year"
}
