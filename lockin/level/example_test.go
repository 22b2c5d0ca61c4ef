package level_test

import (
	"errors"
	"fmt"

	"example.org/wheatear/lockin/level"
)

func ExampleOf() {
	_, err := level.Of(nil)
	fmt.Println(errors.Is(err, level.ErrPoints))
	// Output: true
}
