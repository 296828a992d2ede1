package ffmpeg

import "syscall"

// ownGroup puts a tool into a process group of its own, so that it can be
// signalled with all its children and does not hear the terminal's Ctrl-C
// before we do. The kernel kills it when we are killed: an orphan would go on
// writing.
func ownGroup() *syscall.SysProcAttr {
	return &syscall.SysProcAttr{Setpgid: true, Pdeathsig: syscall.SIGKILL}
}
