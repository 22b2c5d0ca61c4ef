package page

import (
	"bytes"
	_ "embed"
	"io"
	"io/fs"
	"net/http"
	"os"
	"strconv"
	"time"

	"example.org/wheatear/cmd/wheatear/internal/export"
	"example.org/wheatear/cmd/wheatear/internal/render/csv"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/plot"
	"example.org/wheatear/cmd/wheatear/internal/render/html"
	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/touchstone"
)

// document describes the interface, for programs.
//
//go:embed openapi.json
var document []byte

func (b *Bench) serveDocument(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", "application/json")
	w.Write(document)
}

// serveLive answers with the next live reading after number n.
func (b *Bench) serveLive(w http.ResponseWriter, r *http.Request) {
	after := int64(0)
	if text := r.URL.Query().Get("after"); text != "" {
		n, err := strconv.ParseInt(text, 10, 64)
		if err != nil {
			fail(w, invalid("after: %q is no number", text))
			return
		}
		after = n
	}
	u, err := b.Latest(r.Context(), after)
	if err != nil {
		fail(w, err)
		return
	}
	answer(w, http.StatusOK, u)
}

// Trend is the trend of the live reading.
func (b *Bench) Trend() []TrendPoint {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.live.trend.list()
}

// serveRead makes a reading and answers when it is kept.
func (b *Bench) serveRead(w http.ResponseWriter, r *http.Request) {
	var in ReadingRequest
	if err := decode(r, &in); err != nil {
		fail(w, err)
		return
	}
	made := make(chan []*Kept, 1)
	if err := b.StartReading(in, tab(r), func(k []*Kept) { made <- k }); err != nil {
		fail(w, err)
		return
	}
	_ = http.NewResponseController(w).SetWriteDeadline(time.Time{}) // it takes as long as was asked for
	select {
	case k := <-made:
		if len(k) == 0 {
			fail(w, conflict("nothing was read; see what the page says"))
			return
		}
		answer(w, http.StatusOK, k)
	case <-r.Context().Done():
	}
}

func (b *Bench) readingByID(r *http.Request) (any, error) {
	id, err := strconv.Atoi(r.PathValue("id"))
	if err != nil {
		return nil, notFound("%q is no number of a reading", r.PathValue("id"))
	}
	return b.Reading(id)
}

// serveCalibration is the file of the calibration in use.
func (b *Bench) serveCalibration(w http.ResponseWriter, r *http.Request) {
	b.serveFrom(w, r, "", calibrationName)
}

// serveRecording is a recording that was kept.
func (b *Bench) serveRecording(w http.ResponseWriter, r *http.Request) {
	b.serveFrom(w, r, recordingsName, r.PathValue("file"))
}

// missing says why a file is not there, as far as that is known.
func missing(dir, name string) error {
	switch dir {
	case recordingsName:
		return notFound("there is no recording %q: it was removed, as the oldest are once they need more room than serve --keep-recordings allows, or there never was one of that name", name)
	case reportsName:
		return notFound("this reading has no report: it was removed with the recordings of the reading, or there never was one")
	}
	return notFound("there is no such file")
}

// serveReport is a reading as a report that stands alone.
func (b *Bench) serveReport(w http.ResponseWriter, r *http.Request) {
	id, err := strconv.Atoi(r.PathValue("id"))
	if err != nil {
		fail(w, notFound("%q is no number of a reading", r.PathValue("id")))
		return
	}
	b.serveFrom(w, r, reportsName, reportFile(id))
}

// serveTaskFile is what a task has drawn or written. A drawing is shown as a picture,
// which runs nothing; a report has no script.
func (b *Bench) serveTaskFile(ending string) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		kind, err := b.task(r.PathValue("name"))
		if err != nil {
			fail(w, err)
			return
		}
		b.serveFrom(w, r, "", "task-"+kind.name+"."+ending)
	}
}

// serveFrom is a file in the folder of the jig, and nothing outside of it.
func (b *Bench) serveFrom(w http.ResponseWriter, r *http.Request, dir, name string) {
	b.mu.Lock()
	d := b.desk
	b.mu.Unlock()
	if d == nil {
		fail(w, ErrNoJig)
		return
	}
	f, err := openIn(d.path(dir), name)
	if err != nil {
		fail(w, missing(dir, name))
		return
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil || !info.Mode().IsRegular() {
		fail(w, notFound("there is no such file"))
		return
	}
	w.Header().Set("Content-Disposition", "attachment")
	http.ServeContent(w, r, name, info.ModTime(), f.(io.ReadSeeker))
}

// openIn opens a file that lies within a directory, whatever its name says.
func openIn(dir, name string) (fs.File, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, err
	}
	defer root.Close()
	return root.Open(name)
}

// serveSweepFile is the sweep as a file of the formats that the command writes.
func (b *Bench) serveSweepFile(w http.ResponseWriter, r *http.Request) {
	s, err := b.sweepCopy()
	if err != nil {
		fail(w, err)
		return
	}
	var out bytes.Buffer
	kind, err := b.writeSweep(&out, s, r)
	if err != nil {
		fail(w, err)
		return
	}
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", `attachment; filename="sweep.`+r.PathValue("format")+`"`)
	w.Write(out.Bytes())
}

// writeSweep writes a sweep in the format that is asked for, and tells its kind.
func (b *Bench) writeSweep(w io.Writer, s *report.Sweep, r *http.Request) (kind string, err error) {
	const text = "text/plain; charset=utf-8"
	switch r.PathValue("format") {
	case "json":
		return "application/json", result.Write(w, s.Document())
	case "csv":
		return "text/csv; charset=utf-8", csv.Write(w, tell.Sweep(s.Document()))
	case "s1p":
		return text, export.Touchstone(w, s.Document(), touchstone.Scattering)
	case "cir":
		return text, b.writeSpice(w, s, r)
	case "html":
		told := tell.Sweep(s.Document())
		if q := r.URL.Query(); q.Has("circuit") { // the fit that the page shows
			f, err := b.fitOf(s, q.Get("circuit"))
			if err != nil {
				return "", err
			}
			told = tell.SweepFitted(s.Document(), f)
		}
		return "text/html; charset=utf-8", html.Write(w, told, b.opts.Now())
	case "svg":
		return "image/svg+xml", block.ChartOf(tell.Sweep(s.Document())).Draw(w, plot.SVG)
	case "png":
		return "image/png", block.ChartOf(tell.Sweep(s.Document())).Draw(w, plot.PNG)
	case "pdf":
		return "application/pdf", block.ChartOf(tell.Sweep(s.Document())).Draw(w, plot.PDF)
	}
	return "", notFound("a sweep comes as json, csv, s1p, cir, html, svg, png or pdf, not as %q", r.PathValue("format"))
}
