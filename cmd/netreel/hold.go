package main

import (
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"syscall"

	"github.com/google/uuid"

	"netreel/media/fault"
)

// hold is the lock on a data folder: one server at a time. Beside it lies a
// note that tells the other commands of the running server.
type hold struct {
	lock *os.File
	note string
	name string // of this folder's server, the same after a restart
}

type holdNote struct {
	Database string `json:"database"` // its address, with the password
	Address  string `json:"address"`  // by which people reach the server
}

var errHeld = fault.New(fault.Conflict, "hold", "Another netreel is running on this data folder. Stop it first, or use another --data.")

// takeFolder makes the folder if need be and locks it. The kernel lets the
// lock go when the process ends, however it ends.
func takeFolder(dir string) (*hold, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, fault.Wrap(err, fault.Unavailable, "hold", "Can't make the data folder "+dir+".")
	}
	f, err := os.OpenFile(filepath.Join(dir, "lock"), os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, fault.Wrap(err, fault.Unavailable, "hold", "Can't write in the data folder "+dir+".")
	}
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		_ = f.Close()
		if errors.Is(err, syscall.EWOULDBLOCK) {
			return nil, errHeld
		}
		return nil, fault.Wrap(err, fault.Unavailable, "hold", "Can't lock the data folder "+dir+".")
	}
	name, err := folderName(filepath.Join(dir, "name"))
	if err != nil {
		_ = f.Close()
		return nil, fault.Wrap(err, fault.Unavailable, "hold", "Can't write in the data folder "+dir+".")
	}
	return &hold{lock: f, note: filepath.Join(dir, "running.json"), name: name}, nil
}

// folderName is made up when the folder is first used: jobs in the database
// bear it, so that a restarted server knows which were its own.
func folderName(path string) (string, error) {
	b, err := os.ReadFile(path)
	if err == nil && len(b) > 0 {
		return string(b), nil
	}
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return "", err
	}
	name := "netreel-" + uuid.NewString()
	return name, os.WriteFile(path, []byte(name), 0o600)
}

// announce writes the note, for this user's eyes only.
func (h *hold) announce(n holdNote) error {
	b, err := json.Marshal(n)
	if err != nil {
		return err
	}
	return os.WriteFile(h.note, b, 0o600)
}

func (h *hold) release() error {
	err := os.Remove(h.note)
	if errors.Is(err, os.ErrNotExist) {
		err = nil
	}
	return errors.Join(err, h.lock.Close())
}

// runningServer is the note of the server that holds a data folder.
func runningServer(dir string) (n holdNote, err error) {
	b, err := os.ReadFile(filepath.Join(dir, "running.json"))
	if err != nil {
		return n, fault.Wrap(err, fault.Unavailable, "hold", "The server on this data folder is still starting. Try again in a moment.")
	}
	return n, fault.Wrap(json.Unmarshal(b, &n), fault.Internal, "hold", "")
}
