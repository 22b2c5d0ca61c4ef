package notebook

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"github.com/pelletier/go-toml/v2"
)

// Entry is one result and what it rests on.
type Entry struct {
	ID   int64     // its number in this file; 0 before it is added
	Key  string    // SHA-256 of all that was measured: the same in every file
	Time time.Time // when the result was made, to the microsecond

	Label   string // which part; entries of one label are its history
	Note    string
	Command string // that made the result

	Files []string // recordings that were read, as they were named

	// What lists leave out.
	Documents []Document      // what the result rests on
	Records   []Record        // recordings that are kept beside the notebook
	Result    json.RawMessage // one JSON object with a schema

	Summary // taken out of Result

	seal, recordsSeal string // as in the file; empty in one from before there were seals
	spoilt            bool   // a column holds what cannot be read
}

// Document is a text that entries rest on.
type Document struct {
	Role   string // JigFile, CalibrationFile, or another
	SHA256 string
	Name   string // of the file it came from
	Text   string
}

// Roles of documents.
const (
	JigFile         = "jig"
	VerifiedFile    = "verification" // of the jig
	CalibrationFile = "calibration"
)

// NewDocument is a text with its sum.
func NewDocument(role, name, text string) Document {
	text = strings.ToValidUTF8(text, "\uFFFD")
	return Document{Role: role, SHA256: sum([]byte(text)), Name: name, Text: text}
}

// Record is a recording that is kept.
type Record struct {
	SHA256 string
	Name   string // of the file it came from
}

// sum is the SHA-256 of bytes, in hexadecimal digits.
func sum(data []byte) string {
	s := sha256.Sum256(data)
	return hex.EncodeToString(s[:])
}

// key makes the identity of an entry from what was measured. Label and note are
// for people to change, and have no part in it.
func (e *Entry) key() string {
	parts := []any{e.Time.UnixMicro(), e.Command, e.basis(), string(e.Result)}
	text, err := json.Marshal(parts)
	if err != nil {
		panic("notebook: a list of numbers and texts is always JSON: " + err.Error())
	}
	return sum(text)
}

// clean replaces what is no text, which names of files can be.
func (e *Entry) clean() {
	for _, text := range []*string{&e.Label, &e.Note, &e.Command} {
		*text = strings.ToValidUTF8(*text, "\uFFFD")
	}
	for i := range e.Files {
		e.Files[i] = strings.ToValidUTF8(e.Files[i], "\uFFFD")
	}
}

// basis is the identity of all documents: readings that rest on the same ones share
// what these are wrong by.
func (e *Entry) basis() string {
	if len(e.Documents) == 0 {
		return ""
	}
	var text strings.Builder
	for _, d := range e.Documents {
		fmt.Fprintf(&text, "%q %s\n", d.Role, d.SHA256)
	}
	return sum([]byte(text.String()))
}

// Document returns that of a role, nil where there is none.
func (e *Entry) Document(role string) *Document {
	for i, d := range e.Documents {
		if d.Role == role {
			return &e.Documents[i]
		}
	}
	return nil
}

// jigName is the name that the jig file gives, for results that do not tell it.
func (e *Entry) jigName() string {
	var jig struct {
		Name string `toml:"name"`
	}
	if d := e.Document(JigFile); d == nil || toml.Unmarshal([]byte(d.Text), &jig) != nil {
		return ""
	}
	return jig.Name
}

// complete checks an entry that is to be added and fills in what follows from the
// rest of it.
func (e *Entry) complete() error {
	if y := e.Time.Year(); e.Time.IsZero() || y < 1 || y > 9999 {
		return fmt.Errorf("notebook: an entry of the time %v: set when its result was made", e.Time)
	}
	e.clean()
	e.Time = e.Time.UTC().Truncate(time.Microsecond)
	compact, summary, err := summarise(e.Result)
	if err != nil {
		return err
	}
	for _, d := range e.Documents {
		if d.SHA256 != sum([]byte(d.Text)) {
			return fmt.Errorf("notebook: %s is not the text of its SHA-256 %.12s: it was changed on the way", d.Name, d.SHA256)
		}
	}
	e.Result, e.Summary = compact, summary
	if e.JigName == "" {
		e.JigName = e.jigName()
	}
	e.Key = e.key()
	return nil
}
