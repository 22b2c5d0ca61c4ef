package page

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"net/http"
	"path"
	"strings"
	"sync"
)

//go:embed web
var webFiles embed.FS

// webFile is what pages load: as it is, and compressed.
type webFile struct {
	kind         string
	plain, small []byte
}

// loaded are the files of a program. version changes with any of them and is part of
// their address, so that a browser may keep them for good.
type loaded struct {
	version string
	files   map[string]webFile
}

var kinds = map[string]string{".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8", ".svg": "image/svg+xml"}

var web = sync.OnceValue(func() loaded {
	l := loaded{files: map[string]webFile{}}
	sum := sha256.New()
	list, err := webFiles.ReadDir("web")
	if err != nil {
		panic(err) // embedded: it is there
	}
	for _, f := range list {
		text, err := webFiles.ReadFile("web/" + f.Name())
		kind := kinds[path.Ext(f.Name())]
		if err != nil || kind == "" {
			continue
		}
		sum.Write([]byte(f.Name()))
		sum.Write(text)
		var small bytes.Buffer
		z, _ := gzip.NewWriterLevel(&small, gzip.BestCompression) // fails for other levels only
		z.Write(text)
		z.Close()
		l.files[f.Name()] = webFile{kind, text, small.Bytes()}
	}
	l.version = hex.EncodeToString(sum.Sum(nil)[:6])
	return l
})

// serveWeb is a script, a style sheet or a picture. One of another version of the
// program is refused rather than answered with this one.
func serveWeb(w http.ResponseWriter, r *http.Request) {
	f, ok := web().files[r.PathValue("file")]
	if !ok || r.PathValue("version") != web().version {
		fail(w, notFound("there is no such file"))
		return
	}
	h := w.Header()
	h.Set("Content-Type", f.kind)
	h.Set("Cache-Control", "private, max-age=31536000, immutable")
	h.Set("Vary", "Accept-Encoding")
	if strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
		h.Set("Content-Encoding", "gzip")
		w.Write(f.small)
		return
	}
	w.Write(f.plain)
}
