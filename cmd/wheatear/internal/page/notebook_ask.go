package page

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"example.org/wheatear/cmd/wheatear/internal/notebook"
	"example.org/wheatear/lockin/parts"
)

// What may be asked of the notebook at once.
const (
	usualEntries = 50
	mostEntries  = 200
	mostSkipped  = 100_000_000
	longestText  = 200    // letters of a label or of what is searched for
	longestNote  = 10_000 // letters
)

// asked reads the questions of a request, and keeps the first thing that is wrong.
type asked struct {
	q   url.Values
	now time.Time
	err error
}

func (a *asked) fail(format string, args ...any) {
	if a.err == nil {
		a.err = invalid(format, args...)
	}
}

func (a *asked) text(name string) string {
	text := strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(a.q.Get(name), "\uFFFD"))
	if utf8.RuneCountInString(text) > longestText {
		a.fail("%s: more than %d letters", name, longestText)
		return ""
	}
	return strings.TrimSpace(text)
}

// number is one from least to most, or what is usual where it is not asked for.
func (a *asked) number(name string, usual, least, most int) int {
	text := a.q.Get(name)
	if text == "" {
		return usual
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < least || n > most {
		a.fail("%s: %q: a number from %d to %d is needed", name, text, least, most)
		return usual
	}
	return n
}

func (a *asked) moment(name string) time.Time {
	text := a.text(name)
	if text == "" {
		return time.Time{}
	}
	at, err := notebook.ParseMoment(text)
	if err != nil {
		a.fail("%s: %w", name, err)
		return time.Time{}
	}
	return at(a.now)
}

func (a *asked) frequency(name string) float64 {
	text := a.text(name)
	if text == "" {
		return 0
	}
	f, err := parts.ParsePositive(text, parts.Hertz)
	if err != nil {
		a.fail("%s: %w", name, err)
	}
	return f
}

func (b *Bench) asked(r *http.Request) *asked { return &asked{q: r.URL.Query(), now: b.opts.Now()} }

// filter is which entries a request means.
func (a *asked) filter() notebook.Filter {
	return notebook.Filter{
		Text: a.text("text"), Kind: notebook.Kind(a.text("kind")), Verdict: a.text("verdict"), Label: a.text("label"),
		Since: a.moment("since"), Until: a.moment("until"),
		Limit: a.number("limit", usualEntries, 1, mostEntries), Skip: a.number("skip", 0, 0, mostSkipped),
	}
}

// entryID is the number in the path.
func entryID(r *http.Request) (int64, error) {
	id, err := strconv.ParseInt(r.PathValue("id"), 10, 64)
	if err != nil || id < 1 {
		return 0, notFound("%.40q is no number of an entry", r.PathValue("id"))
	}
	return id, nil
}

// Description is what may be changed of an entry. What is null stays.
type Description struct {
	Label *string `json:"label"`
	Note  *string `json:"note"`
}

// check refuses what no list could show.
func (d *Description) check() error {
	for _, c := range []struct {
		name string
		text *string
		most int
		also string // control characters that are well
	}{{"label", d.Label, longestText, ""}, {"note", d.Note, longestNote, "\n\t"}} {
		if c.text == nil {
			continue
		}
		*c.text = strings.TrimSpace(strings.ReplaceAll(*c.text, "\r\n", "\n"))
		if n := utf8.RuneCountInString(*c.text); n > c.most {
			return invalid("%s: %d letters; %d is the most", c.name, n, c.most)
		}
		if i := strings.IndexFunc(*c.text, func(r rune) bool { return unicode.IsControl(r) && !strings.ContainsRune(c.also, r) }); i >= 0 {
			return invalid("%s: it holds a control character, which nobody could see: leave it out", c.name)
		}
	}
	return nil
}
