//go:build unix && !linux

package ffmpeg

import "syscall"

// ownGroup puts a tool into a process group of its own. Only Linux can also
// have it killed when we are killed.
func ownGroup() *syscall.SysProcAttr { return &syscall.SysProcAttr{Setpgid: true} }
