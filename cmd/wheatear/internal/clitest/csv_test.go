package clitest

import (
	"reflect"
	"strings"
	"testing"
)

func TestCSVIsStrict(t *testing.T) {
	rows, err := CSV([]byte("a,b\r\n\"1,\"\"2\"\"\r\n3\",\r\n"))
	if err != nil || !reflect.DeepEqual(rows, [][]string{{"a", "b"}, {"1,\"2\"\r\n3", ""}}) {
		t.Errorf("%q, %v", rows, err)
	}
	for text, want := range map[string]string{
		"a,b\n":              "neither a comma nor CR LF",
		"a,b":                "no end",
		"a,b\r\n1\r\n":       "has 1 fields",
		"a,\"b\r\n":          "not closed",
		"a,b\"c\r\n":         "neither",
		"a,\"b\"c\r\n":       "neither",
		"a,\"b\" \r\n":       "neither",
		"a,b\rc\r\n":         "neither",
		"a\xff,b\r\n":        "UTF-8",
		"a,b\r\n1,2\r\n\r\n": "has 1 fields",
	} {
		if _, err := CSV([]byte(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}

func TestCSVTable(t *testing.T) {
	if err := CSVTable([]byte("name,z_ohm\r\nC1,-1.5\r\n'=1,\r\n")); err != nil {
		t.Error(err)
	}
	for text, want := range map[string]string{
		"":                                    "no header",
		"a,a\r\n":                             "column 2",
		"a,\r\n":                              "column 2",
		"name,z\r\nC1,5\r\n":                  "no unit",
		"name,z_ohm\r\nC1,many\r\n":           "no number",
		"name,z_ohm\r\n\"=SUM(A1)\",1\r\n":    "formula",
		"name,z_ohm\r\n-5V rail,1\r\n":        "formula",
		"name,frequency_hz\r\nC1,\"1,5\"\r\n": "no number",
	} {
		if err := CSVTable([]byte(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}
