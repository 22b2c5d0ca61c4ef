package report

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/notebook"
	"example.org/wheatear/cmd/wheatear/internal/render/text"
	"example.org/wheatear/lockin/uncertain"
)

// wallClock writes when something was made, as the clock on the wall said.
func wallClock(t time.Time) string { return t.Local().Format("2006-01-02 15:04") }

// NotebookList writes entries, a line each; total is how many there are in all.
func NotebookList(w io.Writer, file string, entries []*notebook.Entry, total int) error {
	var b bytes.Buffer
	switch {
	case total == 0:
		Wrap(&b, "", "Nothing in "+file+" agrees with that.")
	case len(entries) < total:
		fmt.Fprintf(&b, "The newest %d of %s\n\n", len(entries), entriesOf(total))
	default:
		fmt.Fprintf(&b, "%s\n\n", entriesOf(total))
	}
	if len(entries) > 0 {
		listing(&b, entries)
	}
	_, err := w.Write(b.Bytes())
	return err
}

// entriesOf counts entries.
func entriesOf(n int) string { return plural(n, "entry") }

// listing is the table of entries. What is too long for a line is cut.
func listing(w io.Writer, entries []*notebook.Entry) {
	const longestLabel = 16
	rows := [][4]string{{"", "made", "what", "label"}}
	for _, e := range entries {
		rows = append(rows, [4]string{strconv.FormatInt(e.ID, 10), wallClock(e.Time), string(e.Kind), clip(e.Label, longestLabel)})
	}
	var widths [4]int
	for _, row := range rows {
		for i, cell := range row {
			widths[i] = max(widths[i], width(cell))
		}
	}
	for i, row := range rows {
		line := "  " + padLeft(row[0], widths[0])
		for c := 1; c < 4; c++ {
			line += "  " + padRight(row[c], widths[c])
		}
		last := "reads as"
		if i > 0 {
			last = inShort(entries[i-1])
		}
		fmt.Fprintln(w, strings.TrimRight(clip(line+"  "+last, Columns), " "))
	}
}

// clip cuts a text that takes more than n columns.
func clip(text string, n int) string {
	if width(text) <= n {
		return text
	}
	return string([]rune(text)[:n-1]) + "…"
}

// inShort is what an entry says, in a few words.
func inShort(e *notebook.Entry) string {
	var words []string
	if read := EntryReads(e); read != "" {
		words = append(words, read)
	}
	if e.Verdict != "" {
		words = append(words, e.Verdict)
	}
	if e.Note != "" {
		words = append(words, e.Note)
	}
	return strings.Join(words, ", ")
}

// EntryReads is what an entry reads as, or else the jig that it is about.
func EntryReads(e *notebook.Entry) string {
	switch p := e.Points; {
	case len(p) == 1:
		return nominal(p[0].FreqHz) + ": " + PointReads(p[0])
	case len(p) > 1:
		return fmt.Sprintf("%d readings, %s", len(p), stretch(p))
	}
	return e.JigName
}

// stretch is the frequency of points, or from which to which they go.
func stretch(points []notebook.Point) string {
	low, high := points[0].FreqHz, points[0].FreqHz
	for _, p := range points {
		low, high = min(low, p.FreqHz), max(high, p.FreqHz)
	}
	if low == high {
		return "all at " + place(low)
	}
	return threeOf(low) + " to " + threeOf(high)
}

// threeOf writes an end of a stretch with three digits.
func threeOf(freqHz float64) string { return uncertain.Format(round3(freqHz), 0, "Hz") }

// PointReads is what a point reads as.
func PointReads(p notebook.Point) string {
	switch {
	case !p.Trusted:
		return "refused"
	case (p.Value == nil || p.U == nil) && (p.Low == nil) != (p.High == nil):
		return short(quantityOf(math.NaN(), math.NaN(), p.Low, p.High), p.Unit) // a bound
	case p.Value == nil || p.U == nil:
		return p.State
	}
	return short(quantityOf(*p.Value, *p.U, p.Low, p.High), p.Unit)
}

// quantityOf is a quantity whose interval may be open.
func quantityOf(value, u float64, low, high *float64) uncertain.Quantity {
	q := uncertain.Quantity{Value: value, U: u, Low: math.Inf(-1), High: math.Inf(1)}
	if low != nil {
		q.Low = *low
	}
	if high != nil {
		q.High = *high
	}
	return q
}

// NotebookEntry writes one entry with all that it rests on.
func NotebookEntry(w io.Writer, e *notebook.Entry, files []string) error {
	var b bytes.Buffer
	of := ""
	if e.Label != "" {
		of = " of " + e.Label
	}
	Wrap(&b, "", fmt.Sprintf("Entry %d: %s%s, made %s", e.ID, e.Kind, of, Tie(wallClock(e.Time))))
	fmt.Fprintln(&b)
	line := func(name, text string) {
		if text != "" {
			Wrap(&b, "  "+padRight(name, 11)+"  ", text)
		}
	}
	line("note", e.Note)
	line("jig", e.JigName)
	for _, d := range e.Documents {
		line("rests on", fmt.Sprintf("%s %s, SHA-256 %.12s…", d.Role, d.Name, d.SHA256))
	}
	line("recordings", strings.Join(e.Files, ", "))
	line("kept", strings.Join(files, ", "))
	line("findings", strings.Join(e.Findings, ", "))
	line("verdict", e.Verdict)
	line("command", e.Command)
	fmt.Fprintln(&b)
	if err := text.Write(&b, EntryBlocks(e), text.Look{}); err != nil {
		return err
	}
	_, err := w.Write(b.Bytes())
	return err
}

// NotebookFiles tells which files of an entry were written.
func NotebookFiles(w io.Writer, names []string) {
	Wrap(w, "", "Written: "+strings.Join(names, ", ")+".")
}

// NotebookPruned says what was, or would be, taken away.
func NotebookPruned(w io.Writer, p notebook.Pruned, done bool) {
	switch {
	case p.Entries == 0 && p.Records == 0:
		Wrap(w, "", "There is nothing to take away.")
		return
	case !done:
		Wrap(w, "", fmt.Sprintf("%s would go, made from %s to %s. Nothing was changed; --yes does it.", entriesOf(p.Entries), Tie(wallClock(p.Oldest)), Tie(wallClock(p.Newest))))
		return
	}
	text := entriesOf(p.Entries) + " taken away"
	if p.Records > 0 {
		text += ", and " + plural(p.Records, "recording") + " that nothing rested on any more"
	}
	Wrap(w, "", text+".")
}
