package page

import (
	"bytes"
	"errors"
	"net/http"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/cmd/wheatear/internal/render/html"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/run"
	"example.org/wheatear/cmd/wheatear/internal/tell"
)

// LotView is the lot in figures, of the same size however many parts it has.
type LotView struct {
	Schema string `json:"schema"`
	SortView
	*SortSheet
}

// LotPage are some parts of the lot, the newest first.
type LotPage struct {
	Version int          `json:"version"` // of the lot
	Parts   int          `json:"parts"`   // of the lot
	List    []SortedPart `json:"list"`
}

// madeSheet is what is told of a version of the lot, made once and by whoever asks
// first: of ten thousand parts it takes a tenth of a second, which the lock of the bench
// is not held for.
type madeSheet struct {
	version int
	kind    run.Kind
	parts   []run.Part
	once    sync.Once
	sort    func() *result.Sorted
	doc     *result.Sorted
	sheet   *SortSheet
}

// told is the place for what is told of the lot as it is. The lock is held.
func (l *lot) told() *madeSheet {
	if l.made == nil || l.made.version != l.version {
		m, list := *l.m, l.file.Parts() // which only ever grows
		m.Findings = slices.Clone(m.Findings)
		w, file := l.sortWants, filepath.Base(l.name)
		l.made = &madeSheet{version: l.version, kind: run.Kind{Unit: w.expected.Unit, Expected: run.Expectation(w.expected)}, parts: list, sort: func() *result.Sorted {
			return result.NewSorted(m.Document(), w.expected, w.Expect, file, w.bins, list)
		}}
	}
	return l.made
}

// get makes it.
func (m *madeSheet) get() *madeSheet {
	m.once.Do(func() {
		m.doc = m.sort()
		m.sheet = sheetOfLot(m.doc)
	})
	return m
}

// toldLot is what is told of the lot of the page.
func (b *Bench) toldLot() (SortView, *madeSheet, error) {
	b.mu.Lock()
	l, err := b.lot()
	if err != nil {
		b.mu.Unlock()
		return SortView{}, nil, err
	}
	v, m := *l.view(), l.told()
	b.mu.Unlock()
	return v, m.get(), nil
}

// Sorted is the lot; nil where none was begun.
func (b *Bench) Sorted() *LotView {
	v, m, err := b.toldLot()
	if err != nil {
		return nil
	}
	return &LotView{sortSchema, v, m.sheet}
}

// mostListed are told at once.
const mostListed = 500

// SortedParts are some of the parts, the newest first: those whose numbers are less than
// before, or the newest of all where it is 0.
func (b *Bench) SortedParts(before, most int) (*LotPage, error) {
	if most < 1 || most > mostListed {
		return nil, invalid("most: %d is not from 1 to %d", most, mostListed)
	}
	v, m, err := b.toldLot()
	if err != nil {
		return nil, err
	}
	list := m.doc.Parts
	if before <= 0 || before > len(list)+1 {
		before = len(list) + 1
	}
	page := &LotPage{Version: v.Version, Parts: len(list), List: []SortedPart{}}
	for no := before - 1; no >= 1 && len(page.List) < most; no-- {
		page.List = append(page.List, sortedPart(&list[no-1], m.doc.Limits))
	}
	return page, nil
}

// sortedParts answers for some of the parts.
func (b *Bench) sortedParts(r *http.Request) (any, error) {
	numbers := map[string]int{"before": 0, "most": 50}
	for name := range numbers {
		text := r.URL.Query().Get(name)
		if text == "" {
			continue
		}
		n, err := strconv.Atoi(text)
		if err != nil {
			return nil, invalid("%s: %q is no number", name, text)
		}
		numbers[name] = n
	}
	return b.SortedParts(numbers["before"], numbers["most"])
}

// serveSortFile is the lot as a file, as the command writes them.
func (b *Bench) serveSortFile(w http.ResponseWriter, r *http.Request) {
	_, m, err := b.toldLot()
	if err != nil {
		fail(w, err)
		return
	}
	var out bytes.Buffer
	kind, doc, told := "", m.doc, tell.Sorted(m.doc)
	switch format := r.PathValue("format"); format {
	case "csv":
		kind, err = "text/csv; charset=utf-8", run.WriteCSV(&out, m.kind, m.parts)
	case "json":
		kind, err = "application/json", result.Write(&out, doc)
	case "html":
		kind, err = "text/html; charset=utf-8", html.Write(&out, told, b.opts.Now())
	case "svg":
		kind, err = "image/svg+xml", block.ChartOf(told).Draw(&out, plot.SVG)
	case "png":
		kind, err = "image/png", block.ChartOf(told).Draw(&out, plot.PNG)
	default:
		err = notFound("a lot comes as csv, json, html, svg or png, not as %q", format)
	}
	if errors.Is(err, plot.ErrNothing) {
		err = conflict("no part of the lot has a value yet; there is nothing to draw")
	}
	if err != nil {
		fail(w, err)
		return
	}
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", `attachment; filename="`+strings.TrimSuffix(doc.File, ".csv")+"."+r.PathValue("format")+`"`)
	w.Write(out.Bytes())
}
