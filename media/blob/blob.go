// Package blob keeps the files: originals, clips, posters, exports.
//
// A file is written under a staging name, by whatever tool makes it, and then
// adopted under its key in one step: after a crash at any point a key names
// the whole old file, the whole new one, or nothing.
//
// The package must not know what is in a file, nor SQL or HTTP.
package blob

import (
	"context"
	"io"
	"path"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"netreel/media/fault"
)

// Info describes a stored file.
type Info struct {
	Key     string
	Size    int64     // bytes
	ModTime time.Time // when it was adopted, or written before that
}

// Store keeps files under keys such as "clips/17/3-quick.mp4". It is safe for
// use by several goroutines. Every method but Stage returns fault.Invalid for a
// key that CheckKey refuses. blobtest.Run is the law that every Store obeys.
type Store interface {
	// Stage returns the path of a file that does not exist yet, in a folder
	// that does, unlike any that was returned before. The name is only a hint
	// and gives the path its extension. What is written there never appears in
	// List, and is lost unless it is adopted.
	Stage(name string) (path string, err error)
	// Adopt takes the staged file over under a key and replaces what was there.
	// When it returns nil the file survives a power cut, and the staged path is
	// gone. It returns fault.NotFound when there is no file at the path.
	Adopt(ctx context.Context, key, path string) error
	// Open returns the file for reading, or fault.NotFound. A reader that is
	// open goes on reading the same bytes after the key is replaced or deleted.
	Open(ctx context.Context, key string) (io.ReadSeekCloser, Info, error)
	// Path returns a local path by which a tool can read the file, or
	// fault.NotFound. The file must not be changed through it.
	Path(ctx context.Context, key string) (path string, err error)
	// Stat describes the file, or returns fault.NotFound.
	Stat(ctx context.Context, key string) (Info, error)
	// Delete removes the file. It is no error if there is none.
	Delete(ctx context.Context, key string) error
	// List hands every file whose key begins with the prefix to fn, in the
	// order of the keys' bytes. A file adopted or deleted meanwhile may or may
	// not appear. An error from fn ends the walk and is returned.
	List(ctx context.Context, prefix string, fn func(Info) error) error
	// SweepStaged removes staged files that were last written longer ago than
	// olderThan and tells how many: what crashed work left behind.
	SweepStaged(ctx context.Context, olderThan time.Duration) (int, error)
}

// maxKey and maxPart are the longest key and the longest part of a key in bytes.
const maxKey, maxPart = 1024, 200

// CheckKey returns fault.Invalid unless the key is one that every store can
// keep: parts of printable characters joined by single slashes, none of which
// begins with a dot or is empty.
func CheckKey(key string) error {
	if reason := badKey(key); reason != "" {
		return fault.New(fault.Invalid, "blob.CheckKey", "The file name "+reason+".",
			fault.Field{Name: "key", Reason: reason})
	}
	return nil
}

func badKey(key string) string {
	switch {
	case key == "":
		return "is empty"
	case len(key) > maxKey:
		return "is too long"
	case !utf8.ValidString(key):
		return "is not valid text"
	case strings.ContainsFunc(key, func(r rune) bool { return !unicode.IsPrint(r) || r == '\\' }):
		return "holds a character that is not allowed"
	}
	for part := range strings.SplitSeq(key, "/") {
		switch {
		case part == "":
			return "holds an empty part"
		case part[0] == '.':
			return "holds a part that begins with a dot"
		case len(part) > maxPart:
			return "holds a part that is too long"
		}
	}
	return ""
}

// stagedName turns a hint into the end of a file name: the extension, if it is
// a plain one.
func stagedName(hint string) string {
	ext := path.Ext(hint)
	for _, r := range strings.TrimPrefix(ext, ".") {
		if r > unicode.MaxASCII || !unicode.IsLetter(r) && !unicode.IsDigit(r) {
			return ""
		}
	}
	if len(ext) > 8 {
		return ""
	}
	return ext
}
