package page

import (
	"compress/gzip"
	"io"
	"net/http"
	"regexp"
	"strings"
	"testing"
)

// Whatever a page loads is compressed, kept for good under an address that changes
// with its content, and less than 100 kB in all.
func TestWebFiles(t *testing.T) {
	s := serve(t, Options{Folder: t.TempDir()})
	ask := func(path, encoding string) (*http.Response, []byte) {
		req, err := http.NewRequest("GET", s.url+path, nil)
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Accept-Encoding", encoding)
		resp, err := http.DefaultTransport.RoundTrip(req)
		if err != nil {
			t.Fatal(err)
		}
		defer resp.Body.Close()
		body, err := io.ReadAll(resp.Body)
		if err != nil {
			t.Fatal(err)
		}
		return resp, body
	}
	for _, p := range s.pages() {
		if p.Name != "start" {
			continue // the others lead to it before the cautions are read
		}
		_, page := ask(p.Link(), "")
		loads := regexp.MustCompile(`(?:href|src)="(/web/[^"]+)"`).FindAllStringSubmatch(string(page), -1)
		if len(loads) < 4 {
			t.Fatalf("the page loads %d files", len(loads))
		}
		for _, l := range loads {
			resp, body := ask(l[1], "gzip")
			if resp.StatusCode != 200 || resp.Header.Get("Content-Encoding") != "gzip" || !strings.Contains(resp.Header.Get("Cache-Control"), "immutable") {
				t.Errorf("%s: %d, %v", l[1], resp.StatusCode, resp.Header)
				continue
			}
			z, err := gzip.NewReader(strings.NewReader(string(body)))
			if err != nil {
				t.Fatal(err)
			}
			open, err := io.ReadAll(z)
			if err != nil {
				t.Fatal(err)
			}
			if _, plain := ask(l[1], "identity"); string(plain) != string(open) {
				t.Errorf("%s differs from itself uncompressed", l[1])
			}
		}
	}
	total := 0
	for _, f := range web().files {
		total += len(f.small)
	}
	if total > 100_000 {
		t.Errorf("all that pages load weighs %d bytes, want at most 100,000", total)
	}
	if resp, _ := ask("/web/000000000000/bench.js", "gzip"); resp.StatusCode != http.StatusNotFound {
		t.Errorf("a file of another version: %d", resp.StatusCode)
	}
}
