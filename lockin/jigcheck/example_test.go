package jigcheck_test

import (
	"fmt"

	"example.org/wheatear/lockin/jigcheck"
)

func ExampleParseStep() {
	step, ok := jigcheck.ParseStep("idle")
	fmt.Println(step, ok)
	_, ok = jigcheck.ParseStep("dance")
	fmt.Println(ok)
	// Output:
	// idle true
	// false
}
