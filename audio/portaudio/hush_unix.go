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
	kept  *os.File // what goes there meanwhile
	logs  []io.Writer
}

// hush turns the process's standard error output into a file until the function
// that it returns has been called by all who called hush. What was printed goes to
// the logs then. If the system does not allow it, nothing is turned away.
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

// turnAway puts a file without a name in the place of descriptor 2.
func turnAway() bool {
	fd, err := syscall.Dup(2)
	if err != nil {
		return false
	}
	syscall.CloseOnExec(fd)
	saved := os.NewFile(uintptr(fd), "standard error")
	file, err := os.CreateTemp("", "hush")
	if err != nil {
		saved.Close()
		return false
	}
	os.Remove(file.Name())
	if err := replace(int(file.Fd()), 2); err != nil {
		file.Close()
		saved.Close()
		return false
	}
	hushed.saved, hushed.kept = saved, file
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
	replace(int(hushed.saved.Fd()), 2)
	_ = debug.SetCrashOutput(nil, debug.CrashOptions{})
	hushed.saved.Close()
	if len(hushed.logs) > 0 {
		hushed.kept.Seek(0, io.SeekStart)
		io.Copy(io.MultiWriter(hushed.logs...), hushed.kept)
	}
	hushed.kept.Close()
	hushed.kept, hushed.logs = nil, nil
}
