package virtual

import (
	"bytes"
	"errors"
	"fmt"
	"slices"

	"github.com/pelletier/go-toml/v2"
)

// Tray is the parts that can be put into the simulated jig, and what its file may
// say of the jig itself and of the card's faults.
type Tray struct {
	Parts  []Part
	Jig    *Jig    // nil where the file does not say
	Faults *Faults // likewise
}

// TrayError says where in a tray file something is wrong.
type TrayError struct {
	File string
	Line int    // from 1; 0 where no line is known
	Key  string // such as part.circuit
	Err  error
}

// Error names file, line and key.
func (e *TrayError) Error() string {
	place := e.File
	if e.Line > 0 {
		place = fmt.Sprintf("%s:%d", place, e.Line)
	}
	if e.Key != "" {
		place += ": " + e.Key
	}
	return fmt.Sprintf("virtual: %s: %v", place, e.Err)
}

// Unwrap returns the cause.
func (e *TrayError) Unwrap() error { return e.Err }

// standards are in every tray that does not have its own of that name.
func standards(referenceOhm float64) []Part {
	return []Part{
		{Name: "open", Note: "nothing between the terminals"},
		{Name: "short", Circuit: "R 0.2m + L 2n", Note: "a piece of wire"},
		{Name: "load", Circuit: fmt.Sprintf("R %g // C 0.2p", referenceOhm), Note: "as large as the reference"},
	}
}

// all are the parts of the tray, then the standards of whose name it has none.
func (t *Tray) all(referenceOhm float64) []Part {
	all := slices.Clone(t.Parts)
	for _, s := range standards(referenceOhm) {
		if !slices.ContainsFunc(t.Parts, func(p Part) bool { return p.Name == s.Name }) {
			all = append(all, s)
		}
	}
	return all
}

// find returns a part by its name.
func (t *Tray) find(name string, referenceOhm float64) (*Part, error) {
	all := t.all(referenceOhm)
	for i := range all {
		if all[i].Name != name {
			continue
		}
		if err := all[i].check(); err != nil {
			return nil, fmt.Errorf("virtual: part %q: %w", name, err)
		}
		return &all[i], nil
	}
	if p := drawer(name); p != nil {
		return p, nil
	}
	return nil, fmt.Errorf("virtual: no part %q in the tray; there are: %s", name, names(all))
}

// trayFile is the file as it is written.
type trayFile struct {
	Part   []partTable
	Jig    *jigTable
	Faults *faultsTable
}

// ParseTray reads a tray file (TOML). name is what errors call it. An unknown key,
// a value that is none, a circuit that cannot be read and two parts of one name
// are errors, as *[TrayError].
func ParseTray(name string, data []byte) (*Tray, error) {
	var file trayFile
	if err := toml.NewDecoder(bytes.NewReader(data)).DisallowUnknownFields().Decode(&file); err != nil {
		return nil, trayError(name, err)
	}
	t := &Tray{}
	seen := map[string]bool{}
	for i := range file.Part {
		p := file.Part[i].part()
		if err := judge(&p, seen); err != nil {
			return nil, &TrayError{File: name, Line: partLine(data, i), Key: "part", Err: err}
		}
		t.Parts = append(t.Parts, p)
	}
	return t, file.rest(name, t)
}

// rest takes over the jig and the faults.
func (f *trayFile) rest(name string, t *Tray) error {
	if f.Jig != nil {
		j, err := f.Jig.jig()
		if err == nil {
			j, err = j.withDefaults()
		}
		if err != nil {
			return &TrayError{File: name, Key: "jig", Err: err}
		}
		t.Jig = &j
	}
	if f.Faults != nil {
		faults, err := f.Faults.faults()
		if err == nil {
			err = faults.check()
		}
		if err != nil {
			return &TrayError{File: name, Key: "faults", Err: err}
		}
		t.Faults = &faults
	}
	return nil
}

// judge checks a part and that its name is its own.
func judge(p *Part, seen map[string]bool) error {
	if p.Name == "" {
		return errors.New("a part without a name")
	}
	if seen[p.Name] {
		return fmt.Errorf("two parts are called %q", p.Name)
	}
	seen[p.Name] = true
	if err := p.check(); err != nil {
		return fmt.Errorf("%q: %w", p.Name, err)
	}
	return nil
}

// trayError finds the place of what the decoder complains about.
func trayError(name string, err error) error {
	var strict *toml.StrictMissingError
	if errors.As(err, &strict) && len(strict.Errors) > 0 {
		line, _ := strict.Errors[0].Position()
		return &TrayError{name, line, key(strict.Errors[0].Key()), errors.New("unknown key")}
	}
	var decode *toml.DecodeError
	if errors.As(err, &decode) {
		line, _ := decode.Position()
		return &TrayError{name, line, key(decode.Key()), decode}
	}
	return &TrayError{File: name, Err: err}
}

// key writes a path of keys with points.
func key(parts toml.Key) string {
	out := ""
	for i, p := range parts {
		if i > 0 {
			out += "."
		}
		out += p
	}
	return out
}

// partLine is the line of the i-th [[part]].
func partLine(data []byte, i int) int {
	for n, line := range bytes.Split(data, []byte("\n")) {
		if bytes.HasPrefix(bytes.TrimSpace(line), []byte("[[part]]")) {
			if i == 0 {
				return n + 1
			}
			i--
		}
	}
	return 0
}
