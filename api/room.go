package api

import (
	"fmt"

	"golang.org/x/sys/unix"

	"netreel/media/fault"
)

// spare is left free on the disk beside an upload: clips and the database need
// room too.
const spare = 512 << 20

// room says no to a file for which the disk has no room, before an hour of
// sending it. A file system that can't be asked says yes.
func room(dir string, size int64) error {
	var fs unix.Statfs_t
	if err := unix.Statfs(dir, &fs); err != nil {
		return nil
	}
	free := int64(fs.Bavail) * int64(fs.Bsize)
	if size <= free-spare {
		return nil
	}
	return fault.New(fault.Unavailable, "api.room", fmt.Sprintf(
		"There is no room for this file: it has %.1f GB, and the server's disk has %.1f GB free. Free some space on the server, then upload it again.",
		float64(size)/1e9, float64(free)/1e9))
}
