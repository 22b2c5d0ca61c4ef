package page

import (
	"bytes"
	"embed"
	"html/template"
	"net/http"
	"slices"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/wiring"
	"example.org/wheatear/lockin/parts"
)

//go:embed pages
var pageFiles embed.FS

// page is one page of the bench.
type page struct {
	Path, Name, Title string
	Script            string // that draws it; empty for that of its name
	Group             string // of the row of pages; empty for none
	Command           string // that it needs; empty for none
}

// Groups of pages: what concerns the part, what concerns the jig, what is kept.
const (
	partPages = "part"
	morePages = "more"
	jigPages  = "jig"
	keptPages = "kept"
)

// pages in the order of their row.
func pages() []page {
	return []page{
		{Path: "/{$}", Name: "measure", Title: "Measure", Group: partPages},
		{Path: "/sweep", Name: "sweep", Title: "Sweep", Group: partPages},
		{Path: "/incircuit", Name: "incircuit", Title: "In circuit", Group: partPages, Command: "incircuit"},
		{Path: "/sort", Name: "sort", Title: "Sort", Group: partPages},
		{Path: "/identify", Name: "identify", Title: "Identify", Script: "telling", Group: morePages, Command: "identify"},
		{Path: "/level", Name: "level", Title: "Level", Script: "telling", Group: morePages, Command: "level"},
		{Path: "/compare", Name: "compare", Title: "Compare", Script: "telling", Group: morePages, Command: "compare"},
		{Path: "/plan", Name: "plan", Title: "Plan", Group: jigPages, Command: "plan"},
		{Path: "/calibrate", Name: "calibrate", Title: "Calibrate", Group: jigPages},
		{Path: "/verify", Name: "verify", Title: "Verify", Group: jigPages, Command: "verify"},
		{Path: "/notebook", Name: "notebook", Title: "Notebook", Group: keptPages},
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
	Cautions wiring.Reminder
	Kinds    []parts.Type // of parts
	Tasks    []task
}

// task is what somebody comes for, and the page that does it.
type task struct{ Link, Ask, Does string }

// tasks are those of the pages that this program can serve.
func tasks(list []page) []task {
	all := []task{
		{"/", "What is this part?", "Its value, losses and interval at one frequency, live."},
		{"/sweep", "How does it behave over frequency?", "A curve, an equivalent circuit, two parts compared."},
		{"/incircuit", "Is a part in a board good?", "What its surroundings let one say of it."},
		{"/identify", "What kind of part is it?", "Kind, value and losses by a short look; circuits by a thorough one."},
		{"/level", "Does it depend on the level?", "How value and loss change from faint to strong, and what does that."},
		{"/compare", "Do two parts differ?", "One after the other with the same jig, so that small differences show."},
		{"/sort", "Are these parts alike?", "Pass or fail from three metres, and the spread of the lot."},
		{"/plan", "What can be measured here?", "Frequency, level and reference for a part, before it is read."},
		{"/verify", "Can the jig be believed?", "Contacts, strays, levels, drift and noise, against limits."},
	}
	return slices.DeleteFunc(all, func(t task) bool {
		return !slices.ContainsFunc(list, func(p page) bool { return p.Link() == t.Link })
	})
}

// addPages adds the pages and what they load.
func (b *Bench) addPages(mux *http.ServeMux) {
	list := b.pages()
	for _, p := range list {
		t := template.Must(template.ParseFS(pageFiles, "pages/base.html", "pages/parts.html", "pages/"+p.Name+"*.html"))
		data := pageData{page: p, Version: b.opts.Version, Web: "/web/" + web().version, Cautions: wiring.First, Kinds: parts.Types(), Tasks: tasks(list)}
		for _, q := range list {
			if q.Group != "" {
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
