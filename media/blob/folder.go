package blob

import (
	"cmp"
	"context"
	"crypto/rand"
	"errors"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"time"

	"netreel/media/fault"
)

// staging is the folder of files in the making. No key can begin with a dot.
const staging = ".staged"

// Folder is a Store in a folder of the local file system.
type Folder struct {
	dir  string // absolute
	root *os.Root
}

var _ Store = (*Folder)(nil)

// NewFolder opens a folder as a store and makes it if it is missing. Close it
// when done.
func NewFolder(dir string) (*Folder, error) {
	const op = "blob.NewFolder"
	dir, err := filepath.Abs(dir)
	if err != nil {
		return nil, storeFault(op, err)
	}
	if err := os.MkdirAll(filepath.Join(dir, staging), 0o700); err != nil {
		return nil, storeFault(op, err)
	}
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, storeFault(op, err)
	}
	return &Folder{dir: dir, root: root}, nil
}

// Close lets go of the folder. Readers that are open stay usable.
func (f *Folder) Close() error { return f.root.Close() }

// Stage implements Store.
func (f *Folder) Stage(name string) (string, error) {
	return filepath.Join(f.dir, staging, rand.Text()+stagedName(name)), nil
}

// Adopt implements Store: fsync, rename, then fsync of the folders that changed.
func (f *Folder) Adopt(ctx context.Context, key, staged string) error {
	const op = "blob.Adopt"
	if err := f.begin(ctx, key); err != nil {
		return err
	}
	rel, err := f.stagedRel(staged)
	if err != nil {
		return err
	}
	if err := f.sync(rel); err != nil {
		return storeFault(op, err)
	}
	made, err := f.makeParents(key)
	if err != nil {
		return storeFault(op, err)
	}
	if err := f.root.Rename(rel, key); errors.Is(err, syscall.ENOTDIR) {
		return fault.Wrap(err, fault.Conflict, op, "The name lies below that of another file.")
	} else if err != nil {
		return storeFault(op, err)
	}
	// The rename is durable once the folder is, and a folder once its parent is.
	for _, dir := range append(made, path.Dir(key)) {
		if err := f.sync(dir); err != nil {
			return storeFault(op, err)
		}
	}
	return nil
}

// makeParents makes the folders above a key and returns the parents of those
// that it made.
func (f *Folder) makeParents(key string) (changed []string, err error) {
	at := "."
	parts := strings.Split(key, "/")
	for _, part := range parts[:len(parts)-1] {
		err := f.root.Mkdir(path.Join(at, part), 0o700)
		if err == nil {
			changed = append(changed, at)
		} else if !errors.Is(err, fs.ErrExist) {
			return nil, err
		}
		at = path.Join(at, part)
	}
	return changed, nil
}

// stagedRel returns a staged file's name within the root, or a fault if the
// path is not one that Stage gave.
func (f *Folder) stagedRel(staged string) (string, error) {
	dir, name := filepath.Split(staged)
	if filepath.Clean(dir) != filepath.Join(f.dir, staging) || name == "" || name == "." || name == ".." {
		return "", fault.New(fault.Invalid, "blob.Adopt", "The file does not lie among the staged files.")
	}
	rel := path.Join(staging, name)
	info, err := f.root.Lstat(rel)
	if err != nil {
		return "", storeFault("blob.Adopt", err)
	}
	if !info.Mode().IsRegular() {
		return "", fault.New(fault.Invalid, "blob.Adopt", "What is staged is not a file.")
	}
	return rel, nil
}

// sync puts a file's bytes or a folder's names on the disk.
func (f *Folder) sync(name string) error {
	file, err := f.root.Open(name)
	if err != nil {
		return err
	}
	if err := file.Sync(); err != nil {
		_ = file.Close()
		return err
	}
	return file.Close()
}

// Open implements Store.
func (f *Folder) Open(ctx context.Context, key string) (io.ReadSeekCloser, Info, error) {
	const op = "blob.Open"
	if err := f.begin(ctx, key); err != nil {
		return nil, Info{}, err
	}
	file, err := f.root.Open(key)
	if err != nil {
		return nil, Info{}, storeFault(op, err)
	}
	info, err := file.Stat()
	if err == nil && !info.Mode().IsRegular() {
		err = fs.ErrNotExist
	}
	if err != nil {
		_ = file.Close()
		return nil, Info{}, storeFault(op, err)
	}
	return file, Info{Key: key, Size: info.Size(), ModTime: info.ModTime()}, nil
}

// Path implements Store.
func (f *Folder) Path(ctx context.Context, key string) (string, error) {
	if _, err := f.Stat(ctx, key); err != nil {
		return "", err
	}
	return filepath.Join(f.dir, filepath.FromSlash(key)), nil
}

// Stat implements Store.
func (f *Folder) Stat(ctx context.Context, key string) (Info, error) {
	const op = "blob.Stat"
	if err := f.begin(ctx, key); err != nil {
		return Info{}, err
	}
	info, err := f.root.Stat(key)
	if err == nil && !info.Mode().IsRegular() {
		err = fs.ErrNotExist
	}
	if err != nil {
		return Info{}, storeFault(op, err)
	}
	return Info{Key: key, Size: info.Size(), ModTime: info.ModTime()}, nil
}

// Delete implements Store. Folders stay: removing them would race with Adopt.
func (f *Folder) Delete(ctx context.Context, key string) error {
	if err := f.begin(ctx, key); err != nil {
		return err
	}
	info, err := f.root.Lstat(key)
	if err == nil && info.Mode().IsRegular() {
		err = f.root.Remove(key)
	}
	if err = storeFault("blob.Delete", err); fault.KindOf(err) == fault.NotFound {
		return nil
	}
	return err
}

// List implements Store.
func (f *Folder) List(ctx context.Context, prefix string, fn func(Info) error) error {
	// Only the folder that the prefix names whole has to be walked.
	dir := "."
	if i := strings.LastIndexByte(prefix, '/'); i >= 0 {
		if CheckKey(prefix[:i]) != nil {
			return nil // no key begins so
		}
		dir = prefix[:i]
	}
	return f.walk(ctx, dir, prefix, fn)
}

// walk lists a folder in the order of the keys' bytes: a folder sorts as its
// name with the slash.
func (f *Folder) walk(ctx context.Context, dir, prefix string, fn func(Info) error) error {
	entries, err := fs.ReadDir(f.root.FS(), dir)
	if errors.Is(err, fs.ErrNotExist) || errors.Is(err, syscall.ENOTDIR) {
		return nil
	}
	if err != nil {
		return storeFault("blob.List", err)
	}
	sortName := func(e fs.DirEntry) string {
		if e.IsDir() {
			return e.Name() + "/"
		}
		return e.Name()
	}
	slices.SortFunc(entries, func(a, b fs.DirEntry) int { return cmp.Compare(sortName(a), sortName(b)) })
	for _, e := range entries {
		if ctx.Err() != nil {
			return context.Cause(ctx)
		}
		if err := f.visit(ctx, path.Join(dir, e.Name()), e, prefix, fn); err != nil {
			return err
		}
	}
	return nil
}

func (f *Folder) visit(ctx context.Context, key string, e fs.DirEntry, prefix string, fn func(Info) error) error {
	if CheckKey(key) != nil {
		return nil // the staging folder, and what strangers left here
	}
	if e.IsDir() {
		if below := key + "/"; strings.HasPrefix(below, prefix) || strings.HasPrefix(prefix, below) {
			return f.walk(ctx, key, prefix, fn)
		}
		return nil
	}
	if !strings.HasPrefix(key, prefix) || !e.Type().IsRegular() {
		return nil
	}
	info, err := e.Info()
	if errors.Is(err, fs.ErrNotExist) {
		return nil // deleted since the folder was read
	}
	if err != nil {
		return storeFault("blob.List", err)
	}
	return fn(Info{Key: key, Size: info.Size(), ModTime: info.ModTime()})
}

// SweepStaged implements Store.
func (f *Folder) SweepStaged(ctx context.Context, olderThan time.Duration) (int, error) {
	const op = "blob.SweepStaged"
	entries, err := fs.ReadDir(f.root.FS(), staging)
	if err != nil {
		return 0, storeFault(op, err)
	}
	limit, removed := time.Now().Add(-olderThan), 0
	for _, e := range entries {
		if ctx.Err() != nil {
			return removed, context.Cause(ctx)
		}
		info, err := e.Info()
		if err != nil || info.ModTime().After(limit) {
			continue // gone, or too young
		}
		if err := f.root.RemoveAll(path.Join(staging, e.Name())); err != nil {
			return removed, storeFault(op, err)
		}
		removed++
	}
	return removed, nil
}

// begin is what every method does first.
func (f *Folder) begin(ctx context.Context, key string) error {
	if ctx.Err() != nil {
		return context.Cause(ctx)
	}
	return CheckKey(key)
}

// storeFault gives a file system's error its class and a text for the person;
// nil for nil.
func storeFault(op string, err error) error {
	switch {
	case err == nil:
		return nil
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, syscall.ENOTDIR):
		return fault.Wrap(err, fault.NotFound, op, "There is no such file.")
	case errors.Is(err, syscall.EISDIR), errors.Is(err, fs.ErrExist):
		return fault.Wrap(err, fault.Conflict, op, "The name is taken by a folder.")
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT):
		return fault.Wrap(err, fault.Unavailable, op, "The server's disk is full. Free some space, then try again.")
	case errors.Is(err, fs.ErrPermission):
		return fault.Wrap(err, fault.Unavailable, op, "The server may not use its folder of films. Check the folder's owner.")
	}
	return fault.Wrap(err, fault.Unavailable, op, "The server's folder of films could not be used. Try again in a minute.")
}
