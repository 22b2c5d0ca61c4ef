//go:build unix

package portaudio

import (
	"io"
	"os"
	"runtime/debug"
	"sync"
	"syscall"
)

// The libraries below PortAudio print to file descriptor 2, whoever reads there.
// The descriptor belongs to the process, so this state does too.
var hushed struct {
	sync.Mutex
	depth int
	saved *os.File // the descriptor as it was
	pipe  int      // where what goes there meanwhile can be read
	logs  []io.Writer
}

// hush turns the process's standard error output away until the function that it
// returns has been called by all who called hush. What was printed goes to the
// logs then, as far as a pipe has room for it; 64 KiB is usual, and the libraries
// print a tenth of that. If the system does not allow it, nothing is turned away.
func hush(log io.Writer) (restore func()) {
	hushed.Lock()
	defer hushed.Unlock()
	if hushed.depth == 0 && !turnAway() {
		return func() {}
	}
	hushed.depth++
	if log != nil {
		hushed.logs = append(hushed.logs, log)
	}
	return sync.OnceFunc(unhush)
}

// Stderr returns standard error with a descriptor of its own, for programs whose
// cards are opened with Options.Quiet. Where there is no other it is os.Stderr.
func Stderr() *os.File {
	fd, err := syscall.Dup(2)
	if err != nil {
		return os.Stderr
	}
	syscall.CloseOnExec(fd)
	return os.NewFile(uintptr(fd), os.Stderr.Name())
}

// turnAway puts a pipe in the place of descriptor 2. Nobody reads it meanwhile, so
// neither end may block.
func turnAway() bool {
	fd, err := syscall.Dup(2)
	if err != nil {
		return false
	}
	syscall.CloseOnExec(fd)
	saved := os.NewFile(uintptr(fd), "standard error")
	var ends [2]int
	if err := syscall.Pipe(ends[:]); err != nil {
		saved.Close()
		return false
	}
	for _, end := range ends {
		syscall.CloseOnExec(end)
		_ = syscall.SetNonblock(end, true)
	}
	err = replace(ends[1], 2)
	syscall.Close(ends[1])
	if err != nil {
		syscall.Close(ends[0])
		saved.Close()
		return false
	}
	hushed.saved, hushed.pipe = saved, ends[0]
	// A library that brings the program down must not do it without a word.
	_ = debug.SetCrashOutput(saved, debug.CrashOptions{})
	return true
}

// unhush puts descriptor 2 back when the last of those who wanted quiet is done.
func unhush() {
	hushed.Lock()
	defer hushed.Unlock()
	if hushed.depth--; hushed.depth > 0 {
		return
	}
	_ = replace(int(hushed.saved.Fd()), 2)
	_ = debug.SetCrashOutput(nil, debug.CrashOptions{})
	hushed.saved.Close()
	text := drain(hushed.pipe)
	syscall.Close(hushed.pipe)
	for _, log := range hushed.logs {
		_, _ = log.Write(text)
	}
	hushed.saved, hushed.logs = nil, nil
}

// drain reads what is in a pipe that does not block.
func drain(fd int) []byte {
	var text []byte
	room := make([]byte, 4096)
	for {
		n, err := syscall.Read(fd, room)
		if n > 0 {
			text = append(text, room[:n]...)
		}
		if n <= 0 && err != syscall.EINTR {
			return text
		}
	}
}
