package portaudio

import "syscall"

// replace makes the descriptor to mean what from does.
func replace(from, to int) error { return syscall.Dup3(from, to, 0) }
