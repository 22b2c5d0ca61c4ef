package notebook

import (
	"fmt"
	"strconv"
	"time"
)

// forms of days and times; without a zone they are those of the clock on the wall.
var forms = []string{"2006-01-02", "2006-01-02T15:04", "2006-01-02 15:04", "2006-01-02T15:04:05", time.RFC3339Nano}

// ParseMoment reads a day, a time, or how long ago, such as 2026-03-31,
// 2026-03-31T12:00 or 30d. What it returns gives the time meant, now being now.
func ParseMoment(text string) (func(now time.Time) time.Time, error) {
	for _, form := range forms {
		if at, err := time.ParseInLocation(form, text, time.Local); err == nil {
			return func(time.Time) time.Time { return at }, nil
		}
	}
	ago, err := ParseAge(text)
	if err != nil {
		return nil, fmt.Errorf("%q is no day, time or age: write it as 2026-03-31, 2026-03-31T12:00 or 30d", text)
	}
	return ago, nil
}

// ParseAge reads an age such as 12h, 30d, 8w, 2y. Days and longer are those of the
// calendar.
func ParseAge(text string) (func(now time.Time) time.Time, error) {
	const most = 100000
	if text == "" {
		return nil, fmt.Errorf("no age")
	}
	n, err := strconv.Atoi(text[:len(text)-1])
	if err != nil || n < 0 || n > most {
		return nil, fmt.Errorf("%q is no age: write it as 12h, 30d, 8w or 2y", text)
	}
	back := map[byte]func(time.Time) time.Time{
		'h': func(t time.Time) time.Time { return t.Add(-time.Duration(n) * time.Hour) },
		'd': func(t time.Time) time.Time { return t.AddDate(0, 0, -n) },
		'w': func(t time.Time) time.Time { return t.AddDate(0, 0, -7*n) },
		'y': func(t time.Time) time.Time { return t.AddDate(-n, 0, 0) },
	}[text[len(text)-1]]
	if back == nil {
		return nil, fmt.Errorf("%q is no age: write it as 12h, 30d, 8w or 2y", text)
	}
	return back, nil
}
