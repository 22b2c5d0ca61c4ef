package portaudio

import (
	"context"
	"errors"
	"fmt"
	"os"
	"time"

	"example.org/wheatear/audio"
	"go.uber.org/goleak"
)

// asVictim is set, to the name of a device, where this test program is to make a
// run whose server will be killed.
const asVictim = "WHEATEAR_TEST_VICTIM"

// runVictim makes a run of ten seconds, tells when it has begun, and how it ended.
// A library that hangs must not keep the process from ending.
func runVictim() int {
	before := goleak.IgnoreCurrent()
	c, err := Open(context.Background(), Options{Input: os.Getenv(asVictim)})
	if err != nil {
		fmt.Println("open:", err)
		return 2
	}
	told := false
	rec, err := c.RunMonitored(context.Background(), audio.Config{Frames: 480000}, nil, func(int64, [][]float64) bool {
		if !told {
			told = true
			fmt.Println("running")
		}
		return true
	})
	if rec == nil || !errors.Is(err, audio.ErrLost) || !errors.Is(err, audio.ErrCutShort) {
		fmt.Println("ended otherwise:", err)
		return 3
	}
	left := goleak.IgnoreAnyFunction("example.org/wheatear/audio/portaudio.(*run).closeStreams")
	if err := goleak.Find(before, left); err != nil {
		fmt.Println(err)
		return 4
	}
	began := time.Now()
	_, err = c.Run(context.Background(), audio.Config{}, nil)
	if err == nil || time.Since(began) > slack*3*time.Second {
		fmt.Println("the run after it, with no server:", err, time.Since(began))
		return 5
	}
	fmt.Println("lost:", err)
	return 0
}

// asLister is set where this test program is to list the devices and open one.
const asLister = "WHEATEAR_TEST_LISTER"

// runLister prints how both ended.
func runLister() int {
	list, err := List(context.Background(), Options{})
	fmt.Println("list:", len(list), errors.Is(err, audio.ErrNoDevice), err)
	_, err = Open(context.Background(), Options{})
	fmt.Println("open:", errors.Is(err, audio.ErrNoDevice), err)
	return 0
}
