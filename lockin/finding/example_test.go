package finding_test

import (
	"fmt"

	"example.org/wheatear/lockin/finding"
)

func ExampleWorst() {
	found := []finding.Finding{
		{Code: finding.NoSignal, Severity: finding.Invalid, Detail: "no tone at 1 kHz in channel 2"},
		{Code: "hum", Severity: finding.Note, Detail: "mains lines removed"},
	}
	fmt.Println(finding.Worst(found))
	fmt.Println(finding.Worst(nil) == "")
	// Output:
	// invalid
	// true
}
