package main

import (
	"context"
	"os"
	"path/filepath"
	"testing"
)

// asServer makes the test binary behave as the program, so that a test can
// start it as a process of its own and kill it.
const asServer = "NETREEL_TEST_AS_PROGRAM"

func TestMain(m *testing.M) {
	if os.Getenv(asServer) != "" {
		os.Exit(run(context.Background(), os.Args[1:], os.Getenv, os.Stdout, os.Stderr))
	}
	code := m.Run()
	if short.film.path != "" {
		_ = os.RemoveAll(filepath.Dir(short.film.path))
	}
	os.Exit(code)
}
