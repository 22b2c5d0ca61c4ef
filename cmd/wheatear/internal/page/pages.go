package page

import (
	"bytes"
	"embed"
	"html/template"
	"net/http"
	"slices"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/report"
	"example.org/wheatear/lockin/parts"
)

//go:embed pages
var pageFiles embed.FS

// page is one page of the bench.
type page struct {
	Path, Name, Title string
	Shown             bool   // in the row of pages
	Command           string // that it needs; empty for none
}

// pages in the order of the work.
func pages() []page {
	return []page{
		{Path: "/plan", Name: "plan", Title: "Plan", Shown: true, Command: "plan"},
		{Path: "/calibrate", Name: "calibrate", Title: "Calibrate", Shown: true},
		{Path: "/{$}", Name: "measure", Title: "Measure", Shown: true},
		{Path: "/sweep", Name: "sweep", Title: "Sweep", Shown: true},
		{Path: "/sort", Name: "sort", Title: "Sort", Shown: true},
		{Path: "/incircuit", Name: "incircuit", Title: "In circuit", Shown: true, Command: "incircuit"},
		{Path: "/verify", Name: "verify", Title: "Verify", Shown: true, Command: "verify"},
		{Path: "/notebook", Name: "notebook", Title: "Notebook", Shown: true},
		{Path: "/start", Name: "start", Title: "Start"},
	}
}

// pages are those that this program can serve.
func (b *Bench) pages() []page {
	return slices.DeleteFunc(pages(), func(p page) bool { return p.Command != "" && !b.has(p.Command) })
}

// Link is where the page is found.
func (p page) Link() string { return strings.TrimSuffix(p.Path, "{$}") }

// pageData is what a page is made of.
type pageData struct {
	page
	Pages    []page
	Version  string
	Web      string // where scripts, style sheets and pictures are
	Cautions cautions
	Kinds    []parts.Type // of parts
}

// cautions are the text of the command line, taken apart for a list.
type cautions struct {
	Head string
	List []string
}

func readCautions() cautions {
	var text bytes.Buffer
	report.Cautions(&text)
	var c cautions
	for _, line := range strings.Split(text.String(), "\n") {
		line = strings.TrimSpace(line)
		switch item, isItem := strings.CutPrefix(line, "- "); {
		case isItem:
			c.List = append(c.List, item)
		case c.Head == "":
			c.Head = line
		}
	}
	return c
}

// addPages adds the pages and what they load.
func (b *Bench) addPages(mux *http.ServeMux) {
	list, told := b.pages(), readCautions()
	for _, p := range list {
		t := template.Must(template.ParseFS(pageFiles, "pages/base.html", "pages/parts.html", "pages/"+p.Name+"*.html"))
		data := pageData{page: p, Version: b.opts.Version, Web: "/web/" + web().version, Cautions: told, Kinds: parts.Types()}
		for _, q := range list {
			if q.Shown {
				data.Pages = append(data.Pages, q)
			}
		}
		var text bytes.Buffer
		err := t.ExecuteTemplate(&text, "base", data)
		mux.HandleFunc("GET "+p.Path, b.servePage(p, text.Bytes(), err))
	}
	mux.Handle("GET /readings", http.RedirectHandler("/notebook", http.StatusSeeOther)) // where it was before
	mux.HandleFunc("GET /web/{version}/{file}", serveWeb)
	mux.HandleFunc("GET /", refuse(http.StatusNotFound, "there is no such page; the first one is at /"))
}

// servePage is a page; who has not read the cautions or has no jig begins at the
// first one.
func (b *Bench) servePage(p page, text []byte, failed error) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if failed != nil {
			fail(w, failed)
			return
		}
		b.mu.Lock()
		ready := b.saved.Cautions != nil && b.desk != nil
		b.mu.Unlock()
		if !ready && p.Name != "start" {
			http.Redirect(w, r, "/start", http.StatusSeeOther)
			return
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		w.Write(text)
	}
}
