package local

import (
	"io"
	"os"
	"strings"
)

// openLog opens the server's log for adding to. One that has grown large is
// put aside first, in place of the one put aside before.
func openLog(path string) (*os.File, error) {
	if at, err := os.Stat(path); err == nil && at.Size() > largestLog {
		if err := os.Rename(path, path+".1"); err != nil {
			return nil, err
		}
	}
	return os.OpenFile(path, os.O_CREATE|os.O_RDWR|os.O_APPEND, 0o600)
}

// said returns the last lines that PostgreSQL wrote in its present run, for an
// error's text.
func (c *cluster) said() string {
	const most = 1500 // bytes
	end, err := c.logFile.Seek(0, io.SeekEnd)
	from := max(c.logFrom, end-most)
	text := make([]byte, end-from)
	if err == nil {
		_, err = c.logFile.ReadAt(text, from)
	}
	if err != nil {
		return "its log can't be read: " + err.Error()
	}
	if len(text) == 0 {
		return "it said nothing"
	}
	return strings.TrimSpace(strings.ToValidUTF8(string(text), ""))
}

// syncDir makes a rename in the folder outlast a power cut.
func syncDir(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	err = f.Sync()
	if closed := f.Close(); err == nil {
		err = closed
	}
	return err
}
