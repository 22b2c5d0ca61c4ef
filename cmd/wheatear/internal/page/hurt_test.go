package page

import (
	"database/sql"
	"strings"
	"testing"
	"time"
)

// An entry that is not what was written is named in the list that leaves it out.
func TestHurtEntryIsNamed(t *testing.T) {
	t.Parallel()
	s, file := noted(t)
	measure, _ := sample(t)
	repeated(t, file, measure, "C7", []float64{1e-7, 1.01e-7, 1.02e-7}, time.Hour)
	var list NotebookList
	s.asks("", &list)
	if len(list.Entries) != 3 || list.Hurt != "" {
		t.Fatalf("sound: %d entries, %q", len(list.Entries), list.Hurt)
	}
	db, err := sql.Open("sqlite", file)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.Exec("UPDATE entry SET command = command || ' ' WHERE id = 2"); err != nil {
		t.Fatal(err)
	}
	s.asks("?limit=10", &list)
	if len(list.Entries) != 2 || !strings.Contains(list.Hurt, "number 2") {
		t.Errorf("%d entries, %q", len(list.Entries), list.Hurt)
	}
}
