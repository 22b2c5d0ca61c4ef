package portaudio

import (
	"bufio"
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os"
	"testing"

	"example.org/wheatear/audio/virtual"
)

// asJig is set where this test program is to be the jig between two sinks.
const asJig = "WHEATEAR_TEST_JIG"

func TestMain(m *testing.M) {
	switch {
	case os.Getenv(asJig) != "":
		runJig(os.Stdin, os.Stdout)
	case os.Getenv(asSimulation) != "":
		os.Exit(runSimulation(os.Stdin, os.Stdout))
	case os.Getenv(asCrash) != "":
		hush(nil)
		panic("brought down while nobody hears")
	case os.Getenv(asLister) != "":
		os.Exit(runLister())
	case os.Getenv(asVictim) != "":
		os.Exit(runVictim())
	default:
		os.Exit(m.Run())
	}
}

// asSimulation is set where this test program is to be a jig that is simulated,
// with a part in it.
const asSimulation = "WHEATEAR_TEST_SIMULATION"

// simulation is a card with an ordinary part in its jig.
func simulation() (*virtual.Card, error) {
	tray, err := virtual.ParseTray("test", []byte("[[part]]\nname = \"film\"\ncircuit = \"C 220n + R 3\"\n"))
	if err != nil {
		return nil, err
	}
	c, err := virtual.New(virtual.Config{Tray: tray})
	if err != nil {
		return nil, err
	}
	return c, c.Insert("film")
}

func runSimulation(r io.Reader, w io.Writer) int {
	c, err := simulation()
	if err == nil {
		err = c.Filter(context.Background(), r, w, 48000)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return 0
}

// asCrash is set where this test program is to be brought down while its standard
// error output is turned away.
const asCrash = "WHEATEAR_TEST_CRASH"

// jigPole gives a corner of 1 kHz at 48 kHz.
const jigPole = 0.12283

// runJig filters raw frames of two float32 channels: out comes the drive, which
// is the first channel, through a low pass of one pole, and half the drive.
func runJig(r io.Reader, w io.Writer) {
	in, y := bufio.NewReaderSize(r, 1<<16), 0.0
	var frame [8]byte
	out := bufio.NewWriterSize(w, 1<<16)
	for {
		if in.Buffered() < len(frame) {
			if out.Flush() != nil {
				return
			}
		}
		if _, err := io.ReadFull(in, frame[:]); err != nil {
			return
		}
		x := float64(math.Float32frombits(binary.LittleEndian.Uint32(frame[:])))
		y += jigPole * (x - y)
		binary.LittleEndian.PutUint32(frame[:], math.Float32bits(float32(y)))
		binary.LittleEndian.PutUint32(frame[4:], math.Float32bits(float32(0.5*x)))
		out.Write(frame[:])
	}
}
