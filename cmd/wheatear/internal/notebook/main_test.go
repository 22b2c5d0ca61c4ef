package notebook

import (
	"os"
	"testing"

	"go.uber.org/goleak"
)

// writerEnv makes of the test program a process that writes into the notebook of
// that name until it is killed.
const writerEnv = "NOTEBOOK_TEST_WRITER"

func TestMain(m *testing.M) {
	if file := os.Getenv(writerEnv); file != "" {
		writeUntilKilled(file, os.Getenv(writerEnv+"_MODE"))
	}
	goleak.VerifyTestMain(m)
}
