package local

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/user"
	"path/filepath"
	"strconv"
	"syscall"

	"netreel/media/fault"
)

// owner is the user that PostgreSQL runs as and that its files belong to.
type owner struct {
	uid, gid uint32
	other    bool // another user than ours, which only root can become
}

// findOwner says who PostgreSQL runs as on the cluster at data, which need not
// exist. Who is not root runs it as himself. Root runs it as the cluster's
// owner, and a new cluster (or one that root copied here) as the user postgres
// that its package makes, else as nobody.
func findOwner(data string) (owner, error) {
	me := owner{uid: uint32(os.Geteuid()), gid: uint32(os.Getegid())}
	var there syscall.Stat_t
	err := syscall.Stat(data, &there)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return owner{}, fault.Wrap(err, fault.Invalid, "", fmt.Sprintf("the folder %q can't be looked at: check its permissions", data))
	}
	exists := err == nil
	if me.uid != 0 {
		if exists && there.Uid != me.uid {
			return owner{}, fault.New(fault.Invalid, "", fmt.Sprintf(
				"the folder %q belongs to another user: run netreel as that user or as root, or use another data folder", data))
		}
		return me, nil
	}
	if exists && there.Uid != 0 {
		return owner{uid: there.Uid, gid: there.Gid, other: true}, nil
	}
	for _, name := range []string{"postgres", "nobody"} {
		if o, err := lookUp(name); err == nil {
			return o, nil
		}
	}
	return owner{}, fault.New(fault.Unavailable, "",
		"PostgreSQL refuses to run as root, and there is no user postgres or nobody to run it as: make one, or run netreel as an ordinary user")
}

func lookUp(name string) (owner, error) {
	u, err := user.Lookup(name)
	if err != nil {
		return owner{}, err
	}
	uid, err := strconv.ParseUint(u.Uid, 10, 32)
	if err != nil {
		return owner{}, err
	}
	gid, err := strconv.ParseUint(u.Gid, 10, 32)
	if err != nil {
		return owner{}, err
	}
	return owner{uid: uint32(uid), gid: uint32(gid), other: true}, nil
}

// makeDir makes the folder at path, if it is not there, and lets the owner
// alone into it.
func (o owner) makeDir(path string) error {
	if err := os.Mkdir(path, 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	return o.claim(path)
}

// claim gives the folder at path, and if it was not his all that is in it, to
// the owner, and closes it to others, without which PostgreSQL won't start.
func (o owner) claim(path string) error {
	var there syscall.Stat_t
	if err := syscall.Stat(path, &there); err != nil {
		return err
	}
	if there.Uid != o.uid {
		err := filepath.WalkDir(path, func(name string, _ fs.DirEntry, err error) error {
			if err != nil {
				return err
			}
			return os.Lchown(name, int(o.uid), int(o.gid))
		})
		if err != nil {
			return err
		}
	}
	return os.Chmod(path, 0o700)
}

// credential is what a child needs to become the owner; nil when we are him.
func (o owner) credential() *syscall.Credential {
	if !o.other {
		return nil
	}
	return &syscall.Credential{Uid: o.uid, Gid: o.gid}
}
