// Command netreel is the whole program in one binary: the server with its
// page, and the commands that work beside it.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/signal"
	"syscall"

	"netreel/media/fault"
)

func main() { os.Exit(program()) }

// program is the whole process but its exit: it runs until it is done or told
// to end, and returns the exit code.
func program() int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	return run(ctx, os.Args[1:], os.Getenv, os.Stdout, os.Stderr)
}

// command is one word of the command line.
type command struct {
	name, args, what string
	run              func(ctx context.Context, c call) error
}

// call is what a command gets to work with.
type call struct {
	args           []string
	getenv         func(string) string
	stdout, stderr io.Writer
	log            *slog.Logger
}

func commands() []command {
	return []command{
		{"serve", "", "start the server (what netreel does without a word)", runServe},
		{"demo", "[--once]", "start the server with an invented squad and its footage", runDemo},
		{"import", "--session ID FILE...", "bring in files that lie on this machine", runImport},
		{"split", "FILE", "print the deliveries of a file as JSON lines", func(ctx context.Context, c call) error {
			return runSplit(ctx, c.args, c.stdout, c.stderr, c.log)
		}},
		{"align", "A B", "print how the clock of recording B lies on that of A, by their sound", runAlign},
		{"eval", "[--set tuning|judging]", "measure the split on rendered scenes", func(ctx context.Context, c call) error {
			return runEval(ctx, c.args, c.stdout, c.stderr, c.log)
		}},
		{"link", "EMAIL|ACCOUNT-ID", "print a one-time sign-in link for somebody", runLink},
	}
}

// run is the program without its process: it returns the exit code.
func run(ctx context.Context, args []string, getenv func(string) string, stdout, stderr io.Writer) int {
	name := "serve"
	if len(args) > 0 && len(args[0]) > 0 && args[0][0] != '-' {
		name, args = args[0], args[1:]
	}
	log := slog.New(slog.NewTextHandler(stderr, nil))
	for _, c := range commands() {
		if c.name != name {
			continue
		}
		err := c.run(ctx, call{args, getenv, stdout, stderr, log})
		switch {
		case err == nil:
			return 0
		case errors.Is(err, flag.ErrHelp):
			return 0
		case ctx.Err() != nil && errors.Is(err, context.Canceled):
			return 130
		}
		if msg := fault.Message(err); msg != "" {
			fmt.Fprintln(stderr, "netreel:", msg)
			log.Debug("cause", "err", err)
		} else {
			fmt.Fprintln(stderr, "netreel:", err)
		}
		if fault.KindOf(err) == fault.Invalid {
			return 2
		}
		return 1
	}
	if name != "help" {
		fmt.Fprintf(stderr, "netreel: there is no command %q\n\n", name)
	}
	fmt.Fprintln(stderr, "Use: netreel [command] [flags]")
	for _, c := range commands() {
		fmt.Fprintf(stderr, "  %-8s %-22s %s\n", c.name, c.args, c.what)
	}
	fmt.Fprintln(stderr, "\nnetreel COMMAND --help lists a command's flags.")
	if name == "help" {
		return 0
	}
	return 2
}
