package notebook

import (
	"context"
	"fmt"
	"path/filepath"
	"testing"
	"time"
)

// large is how many readings the benchmarks look through.
const large = 100_000

// filledUp is a notebook of large readings of a thousand parts.
func filledUp(b *testing.B) *Notebook {
	b.Helper()
	n := opened(b, filepath.Join(b.TempDir(), "n.db"), config{steps: steps, waitMs: waitMs})
	var list []*Entry
	began := time.Now()
	for i := range large {
		e := capacitor(i, fmt.Sprintf("board%03d-C%d", i%250, i/250%4), 1e-7*(1+1e-6*float64(i%97)), 1e-10)
		e.Command += fmt.Sprint(" #", i)
		if i%1000 == 7 {
			e.Note = "after the heat test"
		}
		if list = append(list, e); len(list) < 1000 {
			continue
		}
		if _, err := n.AddAll(context.Background(), list); err != nil {
			b.Fatal(err)
		}
		list = nil
	}
	b.Logf("%d entries added in %v, %d MB", large, time.Since(began).Round(time.Second), pages(b, n)*4096>>20)
	return n
}

func pages(b *testing.B, n *Notebook) (count int) {
	if err := n.db.QueryRow("PRAGMA page_count").Scan(&count); err != nil {
		b.Fatal(err)
	}
	return count
}

// BenchmarkLarge reports what a person waits for in a notebook of 100,000 readings.
// It takes a minute to write them.
func BenchmarkLarge(b *testing.B) {
	ctx := context.Background()
	n := filledUp(b)
	list := func(f Filter) func(b *testing.B) int {
		return func(b *testing.B) int {
			entries, err := n.List(ctx, f)
			if err != nil {
				b.Fatal(err)
			}
			if _, err := n.Count(ctx, f); err != nil {
				b.Fatal(err)
			}
			return len(entries)
		}
	}
	for _, bm := range []struct {
		name string
		do   func(b *testing.B) int
	}{
		{"list", list(Filter{Limit: 20})},
		{"list-days", list(Filter{Since: noon.Add(large / 2 * time.Minute), Limit: 20})},
		{"list-far-back", list(Filter{Limit: 20, Skip: large / 2})},
		{"list-label", list(Filter{Label: "board007-C1", Limit: 20})},
		{"list-labels", list(Filter{Label: "board00*", Limit: 20})},
		{"list-kind", list(Filter{Kind: Reading, Limit: 20})},
		{"search-rare", list(Filter{Text: "heat", Limit: 20})},
		{"search-part", list(Filter{Text: "board007", Limit: 20})},
		{"search-two", list(Filter{Text: "heat board007", Limit: 20})},
		{"search-all", list(Filter{Text: "hum", Limit: 20})},
		{"history", func(b *testing.B) int {
			p, err := n.History(ctx, "board007-C1", Choice{})
			if err != nil {
				b.Fatal(err)
			}
			return len(p.Points)
		}},
		{"add", func(b *testing.B) int {
			e := now("new")
			if _, err := n.Add(ctx, e); err != nil {
				b.Fatal(err)
			}
			return 1
		}},
		{"open", func(b *testing.B) int {
			other, err := Open(ctx, n.file)
			if err != nil {
				b.Fatal(err)
			}
			other.Close()
			return 0
		}},
	} {
		b.Run(bm.name, func(b *testing.B) {
			found := 0
			for b.Loop() {
				found = bm.do(b)
			}
			b.ReportMetric(b.Elapsed().Seconds()*1e3/float64(b.N), "ms")
			b.ReportMetric(float64(found), "found")
			b.ReportMetric(0, "ns/op")
		})
	}
}
