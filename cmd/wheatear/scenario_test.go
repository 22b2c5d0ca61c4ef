package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// scenario is what is known in public of a folder of recordings: the wiring,
// what was connected, and the right answers.
type scenario struct {
	Dir       string `json:"-"`
	ID        string
	Wiring    string
	Order     []string `json:"channel_order"`
	Reference struct {
		Ohm       float64 `json:"nominal_ohm"`
		Tolerance float64 `json:"tolerance_rel"`
	}
	MainsHz     float64 `json:"mains_hz"`
	Excitation  struct{ Kind string }
	TonesHz     []float64 `json:"tones_hz"`
	Calibration struct {
		Present bool
		Load    struct {
			Ohm       float64 `json:"known_ohm"`
			Tolerance float64 `json:"tolerance_rel"`
		}
	}
	Files []scenarioFile
	Parts []scenarioPart
}

type scenarioFile struct {
	File, Role, Part, Verdict string
	AlsoAcceptable            []string `json:"also_acceptable"`
}

type scenarioPart struct {
	ID    string
	Truth []truth
}

type truth struct {
	Hz       float64  `json:"f_hz"`
	Re       float64  `json:"z_re"`
	Im       float64  `json:"z_im"`
	TolRel   *float64 `json:"tol_rel"`
	TolMilli *float64 `json:"tol_mrad"`
}

// scenarios reads all folders of dir that hold a scenario.
func scenarios(t *testing.T, dir string) []*scenario {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "*", "scenario.json"))
	if err != nil {
		t.Fatal(err)
	}
	var out []*scenario
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		s := &scenario{Dir: filepath.Dir(file)}
		if err := json.Unmarshal(data, s); err != nil {
			t.Fatalf("%s: %v", file, err)
		}
		out = append(out, s)
	}
	return out
}

// jig is the jig file that a person would write. What no field tells is the same
// for all.
func (s *scenario) jig() string {
	carries := map[string][2]string{
		"part-to-ground":      {"total", "part"},
		"reference-to-ground": {"total", "reference"},
		"differential":        {"part", "reference"},
		"virtual-ground":      {"part", "-reference"},
	}[s.Wiring]
	if len(s.Order) > 0 && s.Order[0] == "ch2" {
		carries[0], carries[1] = carries[1], carries[0]
	}
	return fmt.Sprintf(`name = %q
channels = [%q, %q]
reference = %q
reference_tolerance = %q
mains = %g
contact_repeatability = "0.5m"
stray_repeatability = "0.02p"
drift = "10ppm"
channel_match = "1%%"
`, s.ID, carries[0], carries[1], number(s.Reference.Ohm), number(s.Reference.Tolerance), s.MainsHz)
}

// number writes a value in full.
func number(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// at is the --at flag.
func (s *scenario) at() string {
	var list []string
	for _, f := range s.TonesHz {
		list = append(list, number(f))
	}
	return strings.Join(list, ",")
}

// standards are the flags that name the recordings of the standards.
func (s *scenario) standards() []string {
	var args []string
	for _, f := range s.Files {
		name := filepath.Join(s.Dir, f.File)
		switch f.Role {
		case "open", "short":
			args = append(args, "--"+f.Role, name)
		case "load":
			load := number(s.Calibration.Load.Ohm) + "/" + number(s.Calibration.Load.Tolerance)
			args = append(args, "--load", load+"="+name)
		}
	}
	return args
}

// session is one call of measure: files, which of them are expected to be what,
// and the right answers.
type session struct {
	name   string
	files  []scenarioFile
	truths []truth
}

// sessions are the readings of a scenario: a stepped series is read as one, all
// else file by file.
func (s *scenario) sessions() []session {
	var out []session
	for _, f := range s.Files {
		if f.Role != "part" {
			continue
		}
		last := len(out) - 1
		if s.Excitation.Kind == "stepped" && last >= 0 && out[last].files[0].Part == f.Part {
			out[last].files = append(out[last].files, f)
			continue
		}
		name := s.ID + "/" + strings.TrimSuffix(strings.TrimPrefix(f.File, "part-"), ".wav")
		if s.Excitation.Kind == "stepped" {
			name = s.ID + "/" + f.Part
		}
		out = append(out, session{name, []scenarioFile{f}, s.truths(f.Part)})
	}
	return out
}

func (s *scenario) truths(part string) []truth {
	for _, p := range s.Parts {
		if p.ID == part {
			return p.Truth
		}
	}
	return nil
}

// expected is the verdicts that describe the file fairly.
func (f scenarioFile) expected() []string {
	return append([]string{f.Verdict}, f.AlsoAcceptable...)
}
