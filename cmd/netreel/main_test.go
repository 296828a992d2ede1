package main

import (
	"os"
	"testing"
)

// asProgram makes the test binary behave as the program, so that a test can
// start it as a process of its own and kill it.
const asProgram = "NETREEL_TEST_AS_PROGRAM"

func TestMain(m *testing.M) {
	if os.Getenv(asProgram) != "" {
		os.Exit(program())
	}
	code := m.Run()
	if films.dir != "" {
		_ = os.RemoveAll(films.dir)
	}
	os.Exit(code)
}
