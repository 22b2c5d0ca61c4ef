package notebook

import (
	"context"
	"math"
	"slices"
	"strings"
	"time"
)

// Past is one quantity of one label over time.
type Past struct {
	Label    string
	FreqHz   float64
	Quantity string
	Unit     string
	Points   []PastPoint // the oldest first
	Others   int         // trusted readings of the label at other frequencies or of other quantities
	Trend    *Trend      // nil for too few points
	Choices  []Chosen    // frequencies and quantities that there are trusted readings of, those with most first
}

// Chosen is one frequency and quantity of a label, and how many readings there are.
type Chosen struct {
	FreqHz   float64
	Quantity string
	Readings int
}

// PastPoint is one reading of it.
type PastPoint struct {
	ID    int64
	Time  time.Time
	Value float64
	U     float64 // standard uncertainty
	Low   float64 // 95 % interval, may be infinite
	High  float64

	basis string // sum of what it rests on
}

// Choice says which quantity of a label is meant. What is not set is chosen: the
// frequency and the quantity that most readings have.
type Choice struct {
	FreqHz       float64 // within a part in a thousand
	Quantity     string  // Cs, Cp, … or |Z|; C, L or R for either circuit
	Since, Until time.Time
}

// sameTone is how far apart, relatively, two frequencies may be and still count as
// one: a tone may be moved by that much to keep clear of the mains.
const sameTone = 1e-3

// History returns the trusted readings of a label over time, of all kinds of
// entries, and their trend.
func (n *Notebook) History(ctx context.Context, label string, c Choice) (*Past, error) {
	all, err := n.past(ctx, label, c)
	if err != nil {
		return nil, n.explain(err)
	}
	past := &Past{Label: label}
	past.choose(all, c)
	past.Trend = TrendOf(past.Points)
	return past, nil
}

// reading is one of any frequency and quantity.
type reading struct {
	PastPoint
	freqHz         float64
	quantity, unit string
}

func (n *Notebook) past(ctx context.Context, label string, c Choice) ([]reading, error) {
	since, until := int64(math.MinInt64), int64(math.MaxInt64)
	if !c.Since.IsZero() {
		since = c.Since.UnixMicro()
	}
	if !c.Until.IsZero() {
		until = c.Until.UnixMicro()
	}
	rows, err := n.db.QueryContext(ctx, `SELECT e.id, e.at_us, e.basis, p.freq_hz, p.quantity, p.unit, p.value, p.u, coalesce(p.low, -9e999), coalesce(p.high, 9e999) FROM entry e JOIN point p ON p.entry = e.id
		WHERE e.label = ? AND e.at_us >= ? AND e.at_us < ? AND p.trusted AND p.value IS NOT NULL AND p.u IS NOT NULL
		ORDER BY e.at_us, e.id, p.n`, label, since, until)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var all []reading
	for rows.Next() {
		var r reading
		var us int64
		if err := rows.Scan(&r.ID, &us, &r.basis, &r.freqHz, &r.quantity, &r.unit, &r.Value, &r.U, &r.Low, &r.High); err != nil {
			return nil, err
		}
		r.Time = atMicro(us)
		all = append(all, r)
	}
	return all, rows.Err()
}

// choose takes what is meant, or what most readings have.
func (p *Past) choose(all []reading, c Choice) {
	p.Choices = choices(all)
	var best Chosen
	for _, g := range p.Choices {
		if (c.FreqHz <= 0 || near(g.FreqHz, c.FreqHz)) && (c.Quantity == "" || g.Quantity == c.Quantity || strings.TrimRight(g.Quantity, "sp") == c.Quantity) {
			best = g
			break
		}
	}
	p.FreqHz, p.Quantity = best.FreqHz, best.Quantity
	for _, r := range all {
		if r.quantity != best.Quantity || !near(r.freqHz, best.FreqHz) {
			p.Others++
			continue
		}
		p.Unit = r.unit
		p.Points = append(p.Points, r.PastPoint)
	}
}

// choices counts readings by frequency and quantity. Of those with as many readings the
// one that was first read comes first.
func choices(all []reading) []Chosen {
	at := map[Chosen]int{}
	var list []Chosen
	for _, r := range all {
		g := Chosen{FreqHz: r.freqHz, Quantity: r.quantity}
		i, ok := at[g]
		if !ok {
			i = len(list)
			at[g], list = i, append(list, g)
		}
		list[i].Readings++
	}
	slices.SortStableFunc(list, func(a, b Chosen) int { return b.Readings - a.Readings })
	return list
}

func near(a, b float64) bool { return math.Abs(a-b) <= sameTone*b }
