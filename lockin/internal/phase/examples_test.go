package phase

import "fmt"

func ExampleGrid() {
	k, period, ok := Grid(1000, 44100)
	fmt.Println(k, period, ok)
	_, _, ok = Grid(1000.0001, 44100)
	fmt.Println(ok)
	// Output:
	// 10 441 true
	// false
}
