package bench

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// limits of a bench that is carried in: what a jig and some years of calibrations need.
const (
	mostFiles = 10_000
	mostBytes = 64 << 20 // of one file
)

// Export writes a bench as one archive: the jig file, what lies beside it of its own
// (verification and tray), and all calibrations.
func (b *Bench) Export(w io.Writer) error {
	z := zip.NewWriter(w)
	add := func(name, from string) error {
		text, err := os.ReadFile(from)
		if err != nil {
			return err
		}
		f, err := z.Create(name)
		if err == nil {
			_, err = f.Write(text)
		}
		return err
	}
	if err := add("jig.toml", b.Jig); err != nil {
		return err
	}
	if beside := strings.TrimSuffix(b.Jig, filepath.Ext(b.Jig)) + ".verified.json"; exists(beside) {
		if err := add("jig.verified.json", beside); err != nil {
			return err
		}
	}
	if tray := filepath.Join(filepath.Dir(b.Jig), "tray.toml"); exists(tray) {
		if err := add("tray.toml", tray); err != nil {
			return err
		}
	}
	list, err := b.Calibrations()
	if err != nil {
		return err
	}
	for _, file := range slices.Backward(list) {
		base := "calibrations/" + strings.TrimSuffix(filepath.Base(file), ".json")
		if err := errors.Join(add(base+".json", file), add(base+".toml", strings.TrimSuffix(file, ".json")+".toml")); err != nil {
			return err
		}
	}
	return z.Close()
}

func exists(name string) bool {
	info, err := os.Stat(name)
	return err == nil && info.Mode().IsRegular()
}

// Import adds a bench from an archive that Export wrote, under a name. Its jig file lies
// in the folder of the bench then. Nothing is added where anything is wrong.
func (s *Shelf) Import(archive []byte, name string) (*Bench, error) {
	z, err := zip.NewReader(bytes.NewReader(archive), int64(len(archive)))
	if err != nil {
		return nil, fmt.Errorf("bench: no archive of a bench: %w", err)
	}
	if len(z.File) > mostFiles {
		return nil, fmt.Errorf("bench: the archive holds %d files; a bench has %d at the most", len(z.File), mostFiles)
	}
	files := map[string][]byte{}
	for _, f := range z.File {
		if f.UncompressedSize64 > mostBytes {
			return nil, fmt.Errorf("bench: %s in the archive is larger than anything of a bench", f.Name)
		}
		text, err := content(f)
		if err != nil {
			return nil, fmt.Errorf("bench: %s in the archive: %w", f.Name, err)
		}
		files[f.Name] = text
	}
	if files["jig.toml"] == nil {
		return nil, errors.New("bench: the archive holds no jig.toml: it is not one that wheatear bench export has written")
	}
	b, err := s.add(folderName(name), "jig.toml")
	if err != nil {
		return nil, err
	}
	if err := s.fill(b, files); err != nil {
		os.RemoveAll(b.dir)
		return nil, err
	}
	return b, s.Use(b.Name)
}

func content(f *zip.File) ([]byte, error) {
	r, err := f.Open()
	if err != nil {
		return nil, err
	}
	defer r.Close()
	text, err := io.ReadAll(io.LimitReader(r, mostBytes+1))
	if err == nil && len(text) > mostBytes {
		err = errors.New("larger than anything of a bench")
	}
	return text, err
}

// fill writes the files of an archive into the folder of a bench. Names that are not
// those of a bench are passed over: none leads out of the folder.
func (s *Shelf) fill(b *Bench, files map[string][]byte) error {
	b.Jig = filepath.Join(b.dir, "jig.toml")
	if err := write(filepath.Join(b.dir, "bench.json"), fmt.Appendf(nil, "{\n  \"schema\": %q,\n  \"jig\": %q\n}\n", schema, b.Jig)); err != nil {
		return err
	}
	for _, name := range []string{"jig.toml", "jig.verified.json", "tray.toml"} {
		if text, ok := files[name]; ok {
			if err := write(filepath.Join(b.dir, name), text); err != nil {
				return err
			}
		}
	}
	for name, text := range files {
		base, ok := strings.CutPrefix(strings.TrimSuffix(name, ".json"), "calibrations/")
		if !ok || !strings.HasSuffix(name, ".json") {
			continue
		}
		made, err := time.Parse(moment, base)
		if err != nil {
			continue
		}
		jig, ok := files["calibrations/"+base+".toml"]
		if !ok {
			jig = files["jig.toml"]
		}
		if _, err := b.keep(text, jig, made); err != nil {
			return err
		}
	}
	return nil
}
